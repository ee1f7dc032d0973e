package compare

import (
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// delta builds the difference b − a of the drag area at an index of the headline
// numbers, with its budget and verdict.
func (c *comparing) delta(sa, sb *side, index int, method string, a, b float64, items []uncertainty.Item) *Delta {
	d := &Delta{Method: method, DragArea: b - a, CountSize: c.opt.Count}
	d.Budget, d.Judgement = c.budget(sa, sb, index, b-a, slices.Concat(items, measure.SolutionItems(index, sa.Measurement, sb.Measurement), measure.StressItems(index, math.Abs(b-a), sa.Measurement, sb.Measurement)))
	if a > 0 {
		d.Percent = new(100 * d.DragArea / a)
	}
	if area := c.opt.Measure.FrontalArea; area > 0 {
		cd := d.DragArea / area
		d.Cd, d.Counts = &cd, new(cd/c.opt.Count)
	} else {
		d.CountSize = 0
	}
	d.Interval = d.Budget.Interval(d.DragArea)
	return d
}

// doubtPosition says that moves and regions lack how far an instrument may be out of place, where
// another input of it is stated. A solver's planes, of which steadiness or a band is stated, are in place.
func (c *comparing) doubtPosition() {
	for _, s := range c.sides {
		u := &s.By.Uncertainty
		stated := u.Density > 0 || u.TotalPressure > 0 || u.Scale > 0 || u.Speed > 0 && u.SpeedDOF == 0 || u.Pressure > 0 && u.PressureDOF == 0
		if stated && u.Position == 0 && !u.Steady && u.Solution == nil {
			c.out.Warnings = append(c.out.Warnings, wake.Doubt("position-not-stated", s.own.Plane.Name(), "state --u-position, or position in [uncertainty]: 0.5 mm moves all by as much",
				"inputs are stated, but not how far the survey may be out of place: the ± of moves and of the drag in regions does not include it"))
			return
		}
	}
}
