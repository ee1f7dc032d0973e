package atlas

import (
	"context"
	"fmt"

	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// Study draws a study: the maps of every survey on one scale a quantity, and a
// sheet for each comparison and quantity. Names begin with the number of the
// station. step, if not nil, is called for each survey and each comparison.
// When ctx ends, no further picture is begun and its error is returned.
func Study(ctx context.Context, out *study.Outcome, fields []study.Fields, o Options, step func()) ([]File, error) {
	if step == nil {
		step = func() {}
	}
	o = o.sharing()
	qs := o.quantities()
	found, err := o.studyScales(ctx, fields)
	if err != nil {
		return nil, err
	}
	var everything []*measure.Measurement
	for _, st := range fields {
		everything = append(everything, st.Single...)
	}
	full := o.fullVector(everything)
	words := configurationWords(out)
	var files []File
	for s, st := range out.Stations {
		// Planes of one station share; those of the next are other meshes.
		o := o
		o.shared = nil
		o = o.sharing()
		o.shared.scales, o.shared.full, o.shared.station = found, full, shown(st.Name)+", "
		prefix := fmt.Sprintf("%02d_", s+1)
		for k, m := range fields[s].Single {
			name := st.Surveys[k].Configuration
			made := make([]*File, len(qs))
			lines, label := outline(m)
			err := all(ctx, len(qs), func(i int) error {
				f, ok, err := nodal(m, qs[i])
				if err != nil || !ok {
					return err
				}
				panel := o.single(m, f, found[qs[i]].plain, full)
				if lines != nil {
					panel.Outlines = append(panel.Outlines, render.Outline{Lines: lines, Name: label})
				}
				made[i], err = o.draw(m, qs[i], found[qs[i]].policy, panel, name)
				if err == nil {
					made[i].Order = i
				}
				return err
			})
			if err != nil {
				return nil, err
			}
			for _, f := range present(made) {
				f.Name = prefix + words[name] + "_" + f.Name
				f.Station, f.Configuration = st.Name, name
				files = append(files, f)
			}
			step()
		}
		if st.Comparison != nil {
			names := append([]string{out.Baseline}, st.Variants...)
			sheets, err := Comparison(ctx, st.Comparison, fields[s].Compared, names, o)
			if err != nil {
				return nil, err
			}
			for i, f := range sheets {
				f.Name = prefix + f.Name
				f.Station, f.Kind, f.Order = st.Name, report.Sheet, i
				files = append(files, f)
			}
		}
		step()
	}
	return files, nil
}
