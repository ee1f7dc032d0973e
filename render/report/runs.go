package report

import (
	"fmt"

	"wakeledger/wake/study"
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
		out = append(out, g.titled("Repeats, "+clean(r.Configuration)+", m² of drag area", clean(r.Text)))
	}
	for _, r := range st.Refinements {
		g := NewTable("mesh", "file", ">spacing mm", ">drag area")
		for i, m := range r.Meshes {
			g.Add(fmt.Sprint(i+1), clean(m.File), fixed(1000*m.Spacing, 2), fixed(m.DragArea, areaDecimals))
		}
		out = append(out, g.titled("Refinement, "+clean(r.Configuration)+", m² of drag area", clean(r.Text)))
	}
	for _, sv := range st.Surveys {
		if sv.Result != nil && sv.Result.Tare != nil {
			out = append(out, tareTable(sv.Result).titled("Tare, "+clean(sv.Configuration)+", m²", ""))
		}
	}
	return out
}
