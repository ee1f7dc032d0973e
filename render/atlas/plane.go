package atlas

import (
	"context"
	"fmt"
	"slices"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// Plane draws the maps of one survey: a file for each quantity that the plane
// has. name is what to call it.
func Plane(ctx context.Context, m *measure.Measurement, name string, o Options) (_ []File, err error) {
	if o.shared, err = o.sharing([]*measure.Measurement{m}); err != nil {
		return nil, err
	}
	o.samplers = &render.Samplers{}
	return o.maps(ctx, m, name, nil)
}

// Study draws a study on one scale a quantity: for each quantity a sheet a station, which
// compares all configurations, and a sheet a variant from station to station, of no
// station; and a map of each survey where no sheet shows it, or with o.Single in any
// case. Names begin with the number of the station. step, if not nil, is called o.Steps
// times at most, maybe by several goroutines. When ctx ends, no further picture is begun and
// its error is returned.
func Study(ctx context.Context, out *study.Outcome, fields []study.Fields, o Options, step func()) ([]File, error) {
	if step == nil {
		step = func() {}
	}
	o, err := o.For(ctx, out, fields)
	if err != nil {
		return nil, err
	}
	o.samplers = &render.Samplers{}
	qs := o.quantities()
	sheets := make([][]File, len(qs))
	if err := grid.Each(ctx, len(qs), func(i int) (err error) {
		if o.shared.scales[qs[i]] != nil {
			sheets[i], err = o.sheets(ctx, out, fields, qs[i], step)
		}
		return err
	}); err != nil {
		return nil, err
	}
	// What the sheets show of a configuration at a station.
	sheeted := map[[2]string][]string{}
	for i := range sheets {
		for k := range sheets[i] {
			f := &sheets[i][k]
			for _, name := range f.shows {
				at := [2]string{f.Station, name}
				sheeted[at] = append(sheeted[at], qs[i])
			}
		}
	}
	if o.Single {
		clear(sheeted)
	}
	words := configurationWords(out)
	var files []File
	for s, st := range out.Stations {
		// Maps of one station share samplers; those of the next are other meshes.
		o := o.at(st)
		o.samplers = &render.Samplers{}
		for k, m := range fields[s].Single {
			name := st.Surveys[k].Configuration
			made, err := o.maps(ctx, m, name, sheeted[[2]string{st.Name, name}])
			if err != nil {
				return nil, err
			}
			for _, f := range made {
				f.Name = fmt.Sprintf("%02d_%s_%s", s+1, words[name], f.Name)
				f.Station, f.Configuration = st.Name, name
				files = append(files, f)
			}
		}
	}
	return append(files, slices.Concat(sheets...)...), nil
}

// Steps is how often Study calls step for so many stations.
func (o Options) Steps(stations int) int { return stations * len(o.quantities()) }

// at are the options for pictures of a station.
func (o Options) at(st study.StationOutcome) Options {
	o.station, o.place = shown(st.Name)+", ", report.Place(st.Normal, st.Position)
	return o
}

// maps draws the quantities of one survey but those without; who names it.
func (o Options) maps(ctx context.Context, m *measure.Measurement, who string, without []string) ([]File, error) {
	lines, name := o.outline(m)
	return o.each(ctx, func(q string) (*File, error) {
		if slices.Contains(without, q) {
			return nil, nil
		}
		f, err := fieldOf(m, q)
		if err != nil || f.values == nil {
			return nil, err
		}
		s, err := o.scalesOf(q, []field{f}, nil)
		if err != nil {
			return nil, err
		}
		panel := o.panel(m, f, s.policy.Label, s.plain)
		panel.Lines = true
		if lines != nil {
			panel.Outlines = append(panel.Outlines, render.Outline{Lines: lines, Name: name})
		}
		marks, whole := viewMarks(m.Result)
		for i, k := range marks {
			mark := render.Marker{At: point(k.At), Name: "centroid of a region", Open: true}
			if whole && i == 0 {
				mark.Name, mark.Open = "centroid of the wake", false
			}
			panel.Markers = append(panel.Markers, mark)
			if s := k.Spread; s != nil {
				panel.Outlines = append(panel.Outlines, render.Ellipse(mark.At, [2]float64{s[0], s[1]}, s[2], "spread, one standard deviation"))
			}
		}
		o.crossflow(panel, m)
		return o.draw(m, q, s.policy, panel, who)
	})
}

// each makes the files of all quantities, in their order.
func (o Options) each(ctx context.Context, f func(quantity string) (*File, error)) ([]File, error) {
	qs := o.quantities()
	out := make([]*File, len(qs))
	err := grid.Each(ctx, len(qs), func(i int) (err error) {
		out[i], err = f(qs[i])
		return err
	})
	return present(out), err
}

func present(files []*File) []File {
	var out []File
	for _, f := range files {
		if f != nil {
			out = append(out, *f)
		}
	}
	return out
}

// panel is a field with what every picture of a survey carries.
func (o Options) panel(m *measure.Measurement, f field, label string, s render.Scale) *render.Panel {
	p := &render.Panel{Quantity: label, Mesh: f.mesh, Values: f.values, Scale: s, Boxes: boxes(m.Result), Samplers: o.samplers}
	if m.Plane.Normal == wake.AxisX && len(o.Silhouette) > 0 {
		p.Outlines = append(p.Outlines, render.Outline{Lines: o.Silhouette, Name: "silhouette of the vehicle", Style: render.Silhouette})
	}
	return p
}

func point(p [2]float64) grid.Point { return grid.Point{X: p[0], Y: p[1]} }

// draw makes the file of one map; who names the survey in title and captions.
func (o Options) draw(m *measure.Measurement, quantity string, p render.Policy, panel *render.Panel, who string) (*File, error) {
	r := m.Result
	page := render.Page{Title: p.Label, Subtitle: fmt.Sprintf("%s, %splane %s", shown(who), o.station, o.where(r)), Panels: []*render.Panel{panel}, Text: o.text(printText)}
	var part string
	page.View, part = o.view(m.Plane.Normal, m.Plane.Mesh.Window())
	page.Footer = footer(r) + formula(p) + part
	return o.finish(page, o.size(), r, limitsOf(panel.Scale), File{Name: slug(quantity), Picture: report.Picture{
		Quantity: p.Label,
		Alt:      fmt.Sprintf("Map of %s on the plane %s of %s", p.Label, o.where(r), who),
		Caption:  page.Subtitle,
	}})
}
