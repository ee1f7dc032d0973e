package study

import (
	"fmt"
	"math"

	"wakeledger/wake/measure"
)

// headline picks the station whose drag is quoted first: the first one at which
// the baseline's window closes on a momentum drag, else the first with any.
func (r *runner) headline() {
	fallback := ""
	for _, st := range r.out.Stations {
		for _, s := range st.Surveys {
			if s.Configuration != r.c.Baseline || !hasDrag(s.Result) {
				continue
			}
			if s.Result.Edge.Closes {
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
			u := s.Result.Uncertainty.DragArea.Standard
			if f.Standard != nil {
				u = math.Hypot(u, *f.Standard)
			}
			fc := ForceCheck{
				Station: st.Name, Configuration: s.Configuration, Wake: wake, Force: f.DragArea,
				Difference: wake - f.DragArea, Standard: u, Expanded: measure.Coverage * u, Coverage: measure.Coverage,
			}
			fc.Verdict = agree(fc.Difference, fc.Expanded)
			fc.Text = fmt.Sprintf("wake %.4f m2, force %.4f m2: %+.4f m2 (%+.1f %%, %.1f u), U = %.2g m2: they %s",
				fc.Wake, fc.Force, fc.Difference, 100*fc.Difference/fc.Force, math.Abs(fc.Difference)/u, fc.Expanded, fc.Verdict)
			fc.Delta = r.forceDelta(st, s.Configuration, stated)
			r.out.Forces = append(r.out.Forces, fc)
		}
	}
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
		u := d.Standard
		for _, s := range []*float64{base.Standard, f.Standard} {
			if s != nil {
				u = math.Hypot(u, *s)
			}
		}
		out := &ForceDelta{
			Wake: d.DragArea, Force: f.DragArea - base.DragArea, Standard: u,
			Expanded: measure.Coverage * u, Coverage: measure.Coverage,
		}
		out.Difference = out.Wake - out.Force
		out.Verdict = agree(out.Difference, out.Expanded)
		out.Text = fmt.Sprintf("change of the wake %+.4f m2, of the force %+.4f m2: %+.4f m2 apart, U = %.2g m2: they %s",
			out.Wake, out.Force, out.Difference, out.Expanded, out.Verdict)
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
