package compare

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wakeledger/wake/measure"
)

// The words of a verdict.
const (
	Resolved    = "resolved"
	NotResolved = "not resolved"
)

// verdict compares a difference with its expanded uncertainty. A difference equal
// to it, or NaN, is not resolved.
func verdict(d, expanded float64) string {
	if math.Abs(d) > expanded {
		return Resolved
	}
	return NotResolved
}

// signProbability is the probability, in per cent, that the true difference has
// the sign of d, for a normal distribution; 100 without uncertainty, 50 for no
// difference.
func signProbability(d, standard float64) float64 {
	if standard == 0 {
		if d == 0 {
			return 50
		}
		return 100
	}
	return 100 * distuv.UnitNormal.CDF(math.Abs(d)/standard)
}

// delta builds the difference b − a with its budget and verdict.
func (c *comparing) delta(method string, a, b float64, items []measure.Item) *Delta {
	bud := measure.NewBudget(items...)
	d := &Delta{
		Method: method, DragArea: b - a, CountSize: c.opt.Count,
		Standard: bud.Standard, Expanded: bud.Expanded, Coverage: bud.Coverage, Items: bud.Items,
	}
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
	d.Verdict = verdict(d.DragArea, d.Expanded)
	d.Interval = [2]float64{d.DragArea - d.Expanded, d.DragArea + d.Expanded}
	d.Text = d.sentence()
	return d
}

// sentence is the verdict with the rule that gave it.
func (d *Delta) sentence() string {
	s := fmt.Sprintf("drag area %+.4f m2", d.DragArea)
	if d.Cd != nil {
		s += fmt.Sprintf(" (C_D %+.4f = %+.1f counts of %g)", *d.Cd, *d.Counts, d.CountSize)
	}
	if d.Percent != nil {
		s += fmt.Sprintf(", %+.1f %%", *d.Percent)
	}
	s += fmt.Sprintf("; u = %.2g m2, U = %g u = %.2g m2: ", d.Standard, d.Coverage, d.Expanded)
	if d.Verdict == Resolved {
		return s + fmt.Sprintf("|difference| > U, resolved; P(sign) %s", percent(signProbability(d.DragArea, d.Standard)))
	}
	return s + fmt.Sprintf("|difference| <= U, NOT resolved: the change lies in [%+.4f, %+.4f] m2 as far as this budget goes, which is not evidence of no change", d.Interval[0], d.Interval[1])
}

// percent keeps a probability from reading as certain.
func percent(p float64) string {
	if p > 99.9 {
		return "> 99.9 %"
	}
	return fmt.Sprintf("= %.1f %%", p)
}
