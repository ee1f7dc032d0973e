package atlas

import (
	"context"
	"fmt"
	"path"
	"path/filepath"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake/measure"
)

// Plane draws the maps of one survey: a file for each quantity that the plane
// has.
func Plane(ctx context.Context, m *measure.Measurement, o Options) ([]File, error) {
	o = o.sharing()
	qs := o.quantities()
	out := make([]*File, len(qs))
	lines, name := outline(m)
	err := all(ctx, len(qs), func(i int) error {
		f, ok, err := nodal(m, qs[i])
		if err != nil || !ok {
			return err
		}
		p, err := o.policy(qs[i])
		if err != nil {
			return err
		}
		s, err := o.scale(qs[i], p, []field{f})
		if err != nil {
			return err
		}
		panel := o.single(m, f, s, o.fullVector([]*measure.Measurement{m}))
		if lines != nil {
			panel.Outlines = append(panel.Outlines, render.Outline{Lines: lines, Name: name})
		}
		out[i], err = o.draw(m, qs[i], p, panel, path.Base(filepath.ToSlash(m.Result.File)))
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

// single is the panel of one survey: regions, centroid and what else it carries.
// full is the cross-flow at full length, 0 for none.
func (o Options) single(m *measure.Measurement, f field, s render.Scale, full float64) render.Panel {
	p := render.Panel{Mesh: f.mesh, Values: f.values, Scale: s, Lines: true, Boxes: boxes(m.Result)}
	if w := m.Result.Wake; w != nil && w.Centroid != nil && !m.Result.Mesh.CutsBody {
		p.Markers = append(p.Markers, render.Marker{At: grid.Point{X: w.Centroid[0], Y: w.Centroid[1]}, Name: "centroid of the wake"})
	}
	for _, g := range m.Result.Regions {
		if g.Centroid != nil {
			p.Markers = append(p.Markers, render.Marker{At: grid.Point{X: g.Centroid[0], Y: g.Centroid[1]}, Name: "centroid of a region", Open: true})
		}
	}
	o.dress(&p, m, full)
	return p
}

// draw makes the file of one map; who names the survey in title and captions.
func (o Options) draw(m *measure.Measurement, quantity string, p render.Policy, panel render.Panel, who string) (*File, error) {
	panel.Samplers = &o.shared.samplers
	r := m.Result
	title := p.Label
	subtitle := fmt.Sprintf("%s, %splane %s", shown(who), o.shared.station, where(r))
	img, err := render.Draw(render.Map{
		Title: title, Subtitle: subtitle, Footer: footer(r), Quantity: p.Quantity,
		View: render.PlaneView(r.Station.Normal), Panel: panel, Theme: o.Theme, Text: o.text(printText),
	}, o.size())
	if err != nil {
		return nil, fmt.Errorf("map of %s of %s: %w", quantity, r.File, err)
	}
	png, err := o.encode(img, title+", "+subtitle, r, footer(r), limitsOf(panel.Scale))
	if err != nil {
		return nil, err
	}
	return &File{Name: slug(quantity), Picture: report.Picture{
		Quantity: p.Label, Kind: report.Map, PNG: png,
		Alt:     fmt.Sprintf("Map of %s on the plane %s of %s", p.Label, where(r), who),
		Caption: subtitle,
	}}, nil
}
