package report

import (
	"fmt"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// runTables lists what is known of repeats, refinements and tares at a station: the runs
// in the order in which they were made, so that drift can be seen, and the meshes
// from fine to coarse.
func runTables(st study.StationOutcome) []*Table {
	var out []*Table
	for _, r := range st.Repeats {
		g := NewTable("run", "file", ">drag area", ">from the mean")
		dec := decimalsFor(r.Expanded, areaDecimals)
		for i, run := range r.Runs {
			g.Add(fmt.Sprint(i+1), clean(run.File), fixed(run.DragArea, dec), signed(run.DragArea-r.Mean, dec))
		}
		g.Add("", "mean", fixed(r.Mean, dec), "± "+fixed(r.Expanded, dec))
		if a := r.Against; a != nil {
			dec := decimalsFor(a.Expanded, areaDecimals)
			g.Add("", "mean less the baseline's: "+clean(a.Verdict), signed(a.Difference, dec), "± "+fixed(a.Expanded, dec))
		}
		out = append(out, g.titled("Repeats, "+clean(r.Configuration)+", m² of drag area", ""))
	}
	for _, r := range st.Refinements {
		g := NewTable("mesh", "file", ">spacing mm", ">drag area")
		for i, m := range r.Meshes {
			g.Add(fmt.Sprint(i+1), clean(m.File), fixed(1000*m.Spacing, 2), fixed(m.DragArea, areaDecimals))
		}
		for i, c := range []*uncertainty.GridConvergence{r.Convergence, r.Delta} {
			if c != nil {
				of := [2]string{"extrapolated to zero spacing", "extrapolated to zero spacing, the change"}[i]
				words := "order " + fixed(c.Used, 2)
				if c.Index != nil {
					words += ", GCI " + fixed(*c.Index, 2) + " %"
				}
				g.Add("", fmt.Sprintf("%s (%s)", of, words), "", fixed(c.Extrapolated, areaDecimals)+" ± "+fixed(2*c.Standard, areaDecimals))
				for _, words := range []string{c.Fallback, c.Doubt} {
					if words != "" {
						g.Add("", "  "+words)
					}
				}
			}
		}
		out = append(out, g.titled("Refinement, "+clean(r.Configuration)+", m² of drag area", ""))
	}
	for _, sv := range st.Surveys {
		if sv.Result.Tare != nil {
			out = append(out, tareTable(sv.Result).titled("Tare, "+clean(sv.Configuration)+", m²", ""))
		}
	}
	return out
}
