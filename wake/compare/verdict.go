package compare

import (
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// delta builds the difference b − a of the drag area at an index of the headline
// numbers, with its budget and verdict.
func (c *comparing) delta(sa, sb *side, index int, method string, a, b float64, items []uncertainty.Item) *Delta {
	d := &Delta{Method: method, DragArea: b - a, CountSize: c.opt.Count}
	d.Budget, d.Judgement = c.budget(sa, sb, index, b-a, append(items, measure.SolutionItems(index, sa.Measurement, sb.Measurement)...))
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
