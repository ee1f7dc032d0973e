package compare

import (
	"fmt"
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
		p := 100 * d.DragArea / a
		d.Percent = &p
	}
	if area := c.opt.Measure.FrontalArea; area > 0 {
		cd := d.DragArea / area
		n := cd / c.opt.Count
		d.Cd, d.Counts = &cd, &n
	} else {
		d.CountSize = 0
	}
	d.Interval = d.Budget.Interval(d.DragArea)
	return d
}

// doubtStress warns where a plane has the turbulence term in its drag and the baseline has not, or the other way.
func (c *comparing) doubtStress() {
	term := func(s *side) *float64 {
		if m := momentumOf(s.Result); m != nil {
			return m.Terms.Turbulence
		}
		return nil
	}
	base := c.sides[0]
	for _, s := range c.sides[1:] {
		has, lacks := base, s
		if term(base) == nil {
			has, lacks = s, base
		}
		if t := term(has); t != nil && *t != 0 && term(lacks) == nil && momentumOf(lacks.Result) != nil {
			c.out.Warnings = append(c.out.Warnings, wake.Warning{
				Code: "stress-differs", Where: s.own.Plane.Name(),
				Text: fmt.Sprintf("the turbulence term, %.4f m2 in %s, is missing from %s: no difference of drag is judged", *t, has.own.Plane.Name(), lacks.own.Plane.Name()),
				Cure: "export the normal stress <u'u'> in both, or leave it out of both with --turbulence none",
			})
		}
	}
}

// doubtPosition says that moves and regions lack how far an instrument may be out of place, where
// another input of it is stated. A solver's planes, of which steadiness or a band is stated, are in place.
func (c *comparing) doubtPosition() {
	for _, s := range c.sides {
		u := &s.By.Uncertainty
		stated := u.Density > 0 || u.TotalPressure > 0 || u.Scale > 0 || u.Speed > 0 && u.SpeedDOF == 0 || u.Pressure > 0 && u.PressureDOF == 0
		if stated && u.Position == 0 && !u.Steady && u.Solution == nil {
			c.out.Warnings = append(c.out.Warnings, wake.Warning{
				Code: "position-not-stated", Where: s.own.Plane.Name(), Cure: "state --u-position, or position in [uncertainty]: 0.5 mm moves all by as much",
				Text: "inputs are stated, but not how far the survey may be out of place: the ± of moves and of the drag in regions does not include it",
			})
			return
		}
	}
}
