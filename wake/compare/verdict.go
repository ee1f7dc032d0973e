package compare

import (
	"fmt"
	"math"
	"strings"

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
	d.Text = d.sentence(a)
	return d
}

// areas are how drag areas are written.
var areas = uncertainty.Format{Scale: 1, Decimals: 5, Unit: "m²"}

// sentence is the difference with its verdict; base is the baseline's drag area.
func (d *Delta) sentence(base float64) string {
	s := d.Number(d.DragArea, &d.Budget, areas)
	var also []string
	if d.Counts != nil {
		also = append(also, uncertainty.Format{Scale: 1, Decimals: 1}.Signed(*d.Counts, math.Max(d.Expanded/math.Abs(d.DragArea)*math.Abs(*d.Counts), 0.5))+fmt.Sprintf(" counts of %g", d.CountSize))
	}
	if d.Percent != nil {
		also = append(also, uncertainty.Format{Scale: 1, Decimals: 1}.Signed(*d.Percent, 0)+" %")
	}
	if len(also) > 0 {
		s += " (" + strings.Join(also, ", ") + ")"
	}
	s += ": " + d.Judgement.Sentence(d.DragArea, &d.Budget, areas, base)
	if d.MonteCarlo != nil {
		s += "; " + d.MonteCarlo.Text
	}
	return s
}
