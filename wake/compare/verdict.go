package compare

import (
	"fmt"
	"math"

	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
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
// the sign of d, for Student's distribution with dof degrees of freedom (nil: a
// normal one); 100 without uncertainty, 50 for no difference.
func signProbability(d, standard float64, dof *float64) float64 {
	if standard == 0 {
		if d == 0 {
			return 50
		}
		return 100
	}
	nu := math.Inf(1)
	if dof != nil {
		nu = *dof
	}
	return 100 * uncertainty.StudentCDF(math.Abs(d)/standard, nu)
}

// delta builds the difference b − a of the drag area at an index of the headline
// numbers, with its budget and verdict.
func (c *comparing) delta(k int, m *measure.Measurement, index int, method string, a, b float64, items []uncertainty.Item) *Delta {
	solution := measure.SolutionItems(index, c.base, m)
	if index == c.base.Layout.Drag(measure.Whole) || index == c.base.Layout.Method("wake_only") || index == c.base.Layout.Method("jones") {
		items = append(items, measure.RepeatItems(c.base, m)...)
	}
	bud, decided := c.budget(k, m, index, b-a, append(items, solution...))
	d := &Delta{
		Method: method, DragArea: b - a, CountSize: c.opt.Count, Verdict: decided,
		Standard: bud.Standard, Expanded: bud.Expanded, Coverage: bud.Coverage, DOF: bud.DOF, Items: bud.Items, MonteCarlo: bud.MonteCarlo,
		SignProbability: signProbability(b-a, bud.Standard, bud.DOF),
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
	d.Interval = interval(d.DragArea, &bud)
	d.Text = d.sentence(&bud) + c.bandSentence(d, solution)
	return d
}

// sentence is the verdict with the rule that gave it.
func (d *Delta) sentence(b *uncertainty.Budget) string {
	s := fmt.Sprintf("drag area %+.4f m2", d.DragArea)
	if d.Cd != nil {
		s += fmt.Sprintf(" (C_D %+.4f = %+.1f counts of %g)", *d.Cd, *d.Counts, d.CountSize)
	}
	if d.Percent != nil {
		s += fmt.Sprintf(", %+.1f %%", *d.Percent)
	}
	s += fmt.Sprintf("; u = %.2g m2, U = %.3g u = %.2g m2", d.Standard, d.Coverage, d.Expanded)
	if b.DOF != nil {
		s += fmt.Sprintf(", %.3g degrees of freedom", *b.DOF)
		if d.Coverage != 2 {
			s += fmt.Sprintf(" (t of Student; k = 2 would give %.2g)", 2*d.Standard)
		}
	}
	rule := "|difference| > U, "
	if d.Verdict == NotResolved {
		rule = "|difference| <= U, "
	}
	if mc := d.MonteCarlo; mc != nil {
		s += "; " + mc.Text
		if !mc.Agrees {
			rule = "nought lies outside that interval, "
			if d.Verdict == NotResolved {
				rule = "nought lies in that interval, "
			}
		}
	}
	if d.Verdict == Resolved {
		return s + ": " + rule + "resolved; P(sign) " + percent(d.SignProbability)
	}
	return s + fmt.Sprintf(": %sNOT resolved; the change lies in [%+.4f, %+.4f] m2 with about 95 %% coverage as far as this budget goes, P(sign) %s; this is not evidence of no change",
		rule, d.Interval[0], d.Interval[1], percent(d.SignProbability))
}

// bandSentence says in plain words what the analyst's band does to the verdict.
func (c *comparing) bandSentence(d *Delta, solution []uncertainty.Item) string {
	if len(solution) == 0 {
		return ""
	}
	band := 100 * c.opt.Measure.Uncertainty.Solution
	var rest []uncertainty.Item
	for _, it := range d.Items {
		if it.Name != solution[0].Name {
			rest = append(rest, it)
		}
	}
	without := uncertainty.NewBudget(rest...)
	switch {
	case d.Verdict == NotResolved && d.Percent != nil && math.Abs(*d.Percent) < band:
		return fmt.Sprintf(". The difference of %.2g %% is smaller than the band of %.3g %% that is stated for each solution: these two solutions cannot tell its sign", math.Abs(*d.Percent), band)
	case d.Verdict == NotResolved && verdict(d.DragArea, without.Expanded) == Resolved:
		return fmt.Sprintf(". The band of %.3g %% that is stated for each solution decides: without it, U would be %.2g m2 and the difference resolved", band, without.Expanded)
	}
	return fmt.Sprintf(". Of u, the band of %.3g %% that is stated for each solution makes %.2g m2", band, solution[0].Standard)
}

// coverage names the factor of a budget: k, or t with its degrees of freedom.
func coverage(b *uncertainty.Budget) string {
	if b.Coverage == 2 || b.DOF == nil {
		return fmt.Sprintf("k = %g", b.Coverage)
	}
	return fmt.Sprintf("t = %.3g with %.2g degrees of freedom", b.Coverage, *b.DOF)
}

// percent keeps a probability from reading as certain.
func percent(p float64) string {
	if p > 99.9 {
		return "> 99.9 %"
	}
	return fmt.Sprintf("= %.1f %%", p)
}
