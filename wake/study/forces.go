package study

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// headline picks the station whose drag is quoted first: the first one at which
// the baseline's window closes on a momentum drag, else the first with any, or with a
// pitot survey whose drag means something.
func (r *runner) headline() {
	fallback := ""
	for _, st := range r.out.Stations {
		for _, s := range st.Surveys {
			if s.Configuration != r.c.Baseline || !hasDrag(s.Result) && !hasPitotDrag(s.Result) {
				continue
			}
			if hasDrag(s.Result) && s.Result.Edge.Closes {
				r.out.Headline = st.Name
				return
			}
			if fallback == "" {
				fallback = st.Name
			}
		}
	}
	r.out.Headline = fallback
}

func hasDrag(r *measure.Result) bool { return r.Drag != nil && r.Drag.Momentum != nil }

func hasPitotDrag(r *measure.Result) bool {
	return r.Drag != nil && r.Drag.Headline == "jones"
}

// forces sets the wake drag of every plane whose window closes beside the stated
// force of its configuration, and the differences beside each other.
func (r *runner) forces() {
	r.out.Forces = []ForceCheck{}
	stated := map[string]*ForceValue{}
	for _, c := range r.out.Configurations {
		stated[c.Name] = c.Force
	}
	for _, st := range r.out.Stations {
		for _, s := range st.Surveys {
			f := stated[s.Configuration]
			if f == nil || !hasDrag(s.Result) || !s.Result.Edge.Closes {
				continue
			}
			wake := s.Result.Drag.Momentum.DragArea
			own := f.items("force")
			if t := s.Result.Tare; t != nil {
				wake = t.DragArea
				own = append(own, uncertainty.Item{Name: "tare, at which speed the displaced mass leaves", Kind: uncertainty.Independent, Standard: math.Abs(t.Gap) / 2 / math.Sqrt(3), Distribution: uncertainty.Rectangular})
			}
			fc := ForceCheck{Station: st.Name, Configuration: s.Configuration, Wake: wake, Force: f.DragArea, Difference: wake - f.DragArea}
			u := s.Result.Uncertainty.DragArea
			c := closes(fc.Difference, f.DragArea, append(own, uncertainty.Item{Standard: u.Standard, DOF: u.DOF})...)
			fc.Standard, fc.Expanded, fc.Coverage, fc.DOF, fc.Percent, fc.Ratio, fc.Verdict = c.Standard, c.Expanded, c.Coverage, c.DOF, c.percent, c.ratio, c.verdict
			fc.Text = fmt.Sprintf("wake %.4f m2, force %.4f m2: %+.4f m2 (%s), U = %.2g m2: they %s", fc.Wake, fc.Force, fc.Difference, c.words(), fc.Expanded, fc.Verdict)
			fc.Delta = r.forceDelta(st, s.Configuration, stated)
			r.out.Forces = append(r.out.Forces, fc)
		}
	}
}

// items are those of a force in a budget.
func (f *ForceValue) items(name string) []uncertainty.Item {
	if f.Standard == nil {
		return nil
	}
	it := uncertainty.Item{Name: name, Kind: uncertainty.Independent, Standard: *f.Standard}
	if f.Record != nil && f.Record.DOF > 0 {
		dof := f.Record.DOF
		it.DOF = &dof
	}
	return []uncertainty.Item{it}
}

// closure is how a wake and a force stand to each other.
type closure struct {
	uncertainty.Budget
	percent, ratio *float64
	verdict        string
}

// closes sets a difference against the uncertainty of both and against the force.
func closes(difference, force float64, items ...uncertainty.Item) closure {
	c := closure{Budget: uncertainty.NewBudget(items...)}
	if force != 0 {
		p := 100 * difference / math.Abs(force)
		c.percent = &p
	}
	if c.Standard > 0 {
		r := math.Abs(difference) / c.Standard
		c.ratio = &r
	}
	c.verdict = agree(difference, c.Expanded)
	return c
}

// words gives the difference in per cent and in standard uncertainties.
func (c *closure) words() string {
	var s []string
	if c.percent != nil {
		s = append(s, fmt.Sprintf("%+.1f %%", *c.percent))
	}
	if c.ratio != nil {
		s = append(s, fmt.Sprintf("%.1f u", *c.ratio))
	}
	return strings.Join(s, ", ")
}

// forceDelta compares the change against the baseline in wake and in force.
func (r *runner) forceDelta(st StationOutcome, name string, stated map[string]*ForceValue) *ForceDelta {
	base, f := stated[r.c.Baseline], stated[name]
	if name == r.c.Baseline || base == nil || st.Comparison == nil {
		return nil
	}
	for k, v := range st.Variants {
		d := st.Comparison.Variants[k].Delta
		if v != name || d == nil {
			continue
		}
		out := &ForceDelta{Wake: d.DragArea, Force: f.DragArea - base.DragArea}
		out.Difference = out.Wake - out.Force
		items := append(base.items("force of "+r.c.Baseline), f.items("force of "+name)...)
		c := closes(out.Difference, out.Force, append(items, uncertainty.Item{Standard: d.Standard, DOF: d.DOF})...)
		out.Standard, out.Expanded, out.Coverage, out.DOF, out.Percent, out.Ratio, out.Verdict = c.Standard, c.Expanded, c.Coverage, c.DOF, c.percent, c.ratio, c.verdict
		out.Text = fmt.Sprintf("change of the wake %+.4f m2 (%s), of the force %+.4f m2: %+.4f m2 apart (%s), U = %.2g m2: they %s",
			out.Wake, d.Verdict, out.Force, out.Difference, c.words(), out.Expanded, out.Verdict)
		return out
	}
	return nil
}

func agree(difference, expanded float64) string {
	if math.Abs(difference) <= expanded {
		return "agree"
	}
	return "differ"
}
