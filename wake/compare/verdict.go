package compare

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

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
func (c *comparing) delta(sa, sb *side, index int, method string, a, b float64, items []uncertainty.Item) *Delta {
	solution := measure.SolutionItems(index, sa.Measurement, sb.Measurement)
	d := &Delta{Method: method, DragArea: b - a, CountSize: c.opt.Count}
	d.Budget, d.Judgement = c.budget(sa, sb, index, b-a, append(items, solution...))
	if len(d.Missing) == 0 {
		d.SignProbability = signProbability(b-a, d.Standard, d.DOF)
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
	d.Interval = d.Budget.Interval(d.DragArea)
	d.Text = d.sentence(a) + c.bandSentence(d, solution)
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
	s += ": " + d.Judgement.Sentence(d.DragArea, &d.Budget, areas, base, "drag")
	if d.MonteCarlo != nil {
		s += "; " + d.MonteCarlo.Text
	}
	return s
}

// bandSentence says in plain words what the analyst's band does to the verdict.
func (c *comparing) bandSentence(d *Delta, solution []uncertainty.Item) string {
	if len(solution) == 0 || solution[0].Standard == 0 || d.Verdict != uncertainty.NotResolved || len(d.Missing) > 0 {
		return ""
	}
	band := 100 * *c.opt.Measure.Uncertainty.Solution
	if d.Percent != nil && math.Abs(*d.Percent) < band {
		return fmt.Sprintf(". The difference of %.2g %% is smaller than the band of %.3g %% that is stated for each solution: these two solutions do not tell its sign", math.Abs(*d.Percent), band)
	}
	var rest []uncertainty.Item
	for _, it := range d.Items {
		if it.Name != solution[0].Name {
			rest = append(rest, it)
		}
	}
	without := uncertainty.NewBudget(append(rest, uncertainty.Declared(uncertainty.RunToRun, uncertainty.Absent, "left out"))...)
	if uncertainty.Judge(d.DragArea, &without).Verdict != uncertainty.Resolved {
		return ""
	}
	return fmt.Sprintf(". The band of %.3g %% that is stated for each solution decides: without it, U would be %.2g m² and the difference resolved", band, without.Expanded)
}
