package report

import (
	"fmt"
	"io"
	"strings"

	"wakeledger/wake/average"
)

// AverageText writes the mean of snapshots for people.
func AverageText(w io.Writer, r *average.Result) error {
	var s sheet
	title := r.What()
	s.section(strings.ToUpper(title[:1])+title[1:], "=")
	text := fmt.Sprintf("%s samples. Means of %s", thousands(r.Samples), strings.Join(r.Quantities, " "))
	if len(r.Stresses) > 0 {
		text += "; resolved stresses " + strings.Join(r.Stresses, " ")
	}
	s.para(text+".", 0)
	if r.Blocks > 0 {
		s.para(fmt.Sprintf("Measure the state file (mean.state): what comes of it includes time averaging, by leaving out each of %d blocks of the record.", r.Blocks), 0)
	}
	if ref := r.Reference; ref != nil {
		t := NewTable("part", ">mean", ">± 95 %", ">standard", ">k", ">ν", ">per snapshot", ">time scale", ">drift")
		for _, v := range r.Series {
			t.Add(clean(v.Name), fixed(v.Mean, 4), optional(v.Expanded, 4), optional(v.Standard, 4), optional(v.Coverage, 2), optional(v.DOF, 0), fixed(v.Deviation, 4), r.Time(v.Scale, v.ScaleSeconds), signed(v.Drift, 4))
		}
		s.table(fmt.Sprintf("Momentum integral of each snapshot, drag area in m² (U = %g m/s, density %g kg/m³, p = %g Pa, %s plane, samples as %s)", ref.Speed, ref.Density, ref.Pressure, ref.Symmetry, ref.Support), t)
	}
	s.notes.numbers(r.Warnings)
	s.putNotes(true)
	return s.print(w)
}
