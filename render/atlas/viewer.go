package atlas

import (
	"context"
	"fmt"
	"image/color"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/render"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

const (
	// viewSamples bounds the samples that the page holds of one field; planes with
	// more are sampled anew on an even grid of about so many.
	viewSamples = 100_000
	// viewSameLine is how far two lattices' lines may lie apart, as a part of the
	// spacing, and still be one: printed coordinates differ by less.
	viewSameLine = 0.01
	// viewArrows is about how many vectors stand side by side.
	viewArrows = 48
)

// Viewer gathers what the page's viewer shows: the fields of every survey as
// samples, with the scales that Study draws its maps with.
//
// Where all configurations of a station have their samples on the same lines, the
// samples are handed over as they are. Else, and where there are more than 100 000,
// all are sampled on one even grid by linear interpolation, and the station says
// so.
//
// When ctx ends, no further station is begun and its error is returned.
func Viewer(ctx context.Context, out *study.Outcome, fields []study.Fields, o Options) (*report.Viewer, error) {
	o, err := o.For(ctx, out, fields)
	if err != nil {
		return nil, err
	}
	v := &report.Viewer{Vectors: o.Vectors, Magnify: o.magnify}
	var qs []string
	for _, q := range o.quantities() {
		if s := o.shared.scales[q]; s != nil {
			qs = append(qs, q)
			v.Quantities = append(v.Quantities, report.ViewQuantity{Label: s.policy.Label, Scale: viewScale(s.plain), Change: viewScale(s.change)})
		}
	}
	stations := make([]*report.ViewStation, len(out.Stations))
	err = grid.Each(ctx, len(out.Stations), func(s int) error {
		if len(fields[s].Single) == 0 {
			return nil
		}
		st, err := o.viewStation(out.Stations[s], fields[s].Single, qs)
		if err != nil {
			return err
		}
		for _, q := range qs {
			if drawn, ok := o.shared.changes.Load([2]any{out.Stations[s].Comparison, q}); ok {
				st.Changes = append(st.Changes, viewScale(drawn.(render.Scale)))
				continue
			}
			change := o.shared.scales[q].change
			_, diffs, err := changes(fields[s].Compared, q)
			if err == nil && slices.ContainsFunc(diffs, func(f field) bool { return f.values != nil }) {
				change, err = o.changeScale(q, o.shared.scales[q].policy, diffs)
			}
			if err != nil {
				return err
			}
			st.Changes = append(st.Changes, viewScale(change))
		}
		stations[s] = st
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, st := range stations {
		if st != nil {
			v.Stations = append(v.Stations, *st)
		}
	}
	return v, nil
}

func viewScale(s render.Scale) report.ViewScale {
	hex := func(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
	v := report.ViewScale{Levels: s.Levels, Under: hex(s.Map.Under), Over: hex(s.Map.Over)}
	for k, l := range s.Levels[1:] {
		v.Colors = append(v.Colors, hex(s.Band((s.Levels[k]+l)/2)))
	}
	return v
}

func (o Options) viewStation(so study.StationOutcome, ms []*measure.Measurement, qs []string) (*report.ViewStation, error) {
	view, opens := render.PlaneView(so.Normal), o.shared.windows[ms[0].Plane.Normal]
	st := &report.ViewStation{Name: so.Name, Open: [4]float64{opens.Min.X, opens.Max.X, opens.Min.Y, opens.Max.Y}, XLabel: view.X, YLabel: view.Y, From: view.From, Ground: view.Ground}
	sample := ownSamples
	if own := ownLines(ms); own != nil {
		st.X, st.Y, st.Cells = own.X, own.Y, ms[0].Plane.Mesh.Support == grid.Cells
	} else {
		e := evenOver(ms)
		sample, st.X, st.Y, st.Cells = e.sample, middles(e.box.Min.X, e.box.Max.X, e.nx), middles(e.box.Min.Y, e.box.Max.Y, e.ny), true
		st.Resampled = fmt.Sprintf("sampled anew every %.3g mm", 1000*(st.X[1]-st.X[0]))
	}
	if ms[0].Plane.Normal == wake.AxisX {
		for _, l := range o.Silhouette {
			st.Silhouette = append(st.Silhouette, polyline(l))
		}
	}
	for k, m := range ms {
		c := report.ViewConfiguration{Name: so.Surveys[k].Configuration, Vectors: viewVectors(m)}
		c.Marks, _ = viewMarks(m.Result)
		for _, q := range qs {
			f, err := fieldOf(m, q)
			if err != nil {
				return nil, err
			}
			var values, doubt []float32
			if f.values != nil {
				values = sample(f.mesh, f.values)
				if u := expanded(m, q); u != nil {
					doubt = sample(f.mesh, u)
				}
			}
			c.Fields, c.Doubt = append(c.Fields, values), append(c.Doubt, doubt)
		}
		lines, name := o.outline(m)
		c.OutlineName, c.Outlines = name, simplified(lines, m.Plane.Mesh.Spacing())
		st.Configurations = append(st.Configurations, c)
	}
	return st, nil
}

// polyline is a line for the page, its end at its beginning where it is closed.
func polyline(l isoline.Line) [][2]float64 {
	p := l.Points
	if l.Closed {
		p = append(p[:len(p):len(p)], p[0])
	}
	return grid.Fill(len(p), func(i int) [2]float64 { return [2]float64{p[i].X, p[i].Y} })
}

// ownLines gives the lattice whose lines all planes share, or nil.
func ownLines(ms []*measure.Measurement) *grid.Lattice {
	first := ms[0].Plane.Mesh
	if first.Kind != grid.KindLattice || len(first.Lattice.Index) > viewSamples {
		return nil
	}
	for _, m := range ms[1:] {
		g := m.Plane.Mesh
		if g.Kind != grid.KindLattice || g.Support != first.Support || !sameLines(g.Lattice.X, first.Lattice.X) || !sameLines(g.Lattice.Y, first.Lattice.Y) {
			return nil
		}
	}
	return first.Lattice
}

func sameLines(a, b []float64) bool {
	tol := viewSameLine * (b[len(b)-1] - b[0]) / float64(len(b)-1)
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Abs(x-y) <= tol })
}

// even is an even grid: the middles of nx × ny parts of a box.
type even struct {
	box    grid.Box
	nx, ny int
}

// evenOver covers all planes: somewhat finer than the samples, but with no more than viewSamples
// places.
func evenOver(ms []*measure.Measurement) even {
	box := grid.EmptyBox()
	pitch := math.Inf(1)
	for _, m := range ms {
		box = union(box, m.Plane.Mesh.Window())
		if h := m.Plane.Mesh.Spacing(); h > 0 {
			pitch = min(pitch, 0.7*h)
		}
	}
	pitch = max(pitch, math.Sqrt(box.Area()/viewSamples))
	// A hair-thin plane still has a few lines.
	pitch = min(pitch, min(box.Width(), box.Height())/4)
	n := func(d float64) int { return min(max(int(d/pitch), 2), viewSamples/4) }
	return even{box, n(box.Width()), n(box.Height())}
}

// middles are those of n even parts from lo to hi.
func middles(lo, hi float64, n int) []float64 {
	return grid.Fill(n, func(i int) float64 { return lo + (float64(i)+0.5)*(hi-lo)/float64(n) })
}

// ownSamples are those of a lattice, NaN where there is none.
func ownSamples(m *grid.Mesh, f []float64) []float32 {
	out := make([]float32, len(m.Lattice.Index))
	for k, s := range m.Lattice.Index {
		out[k] = float32(math.NaN())
		if s >= 0 && f[s]-f[s] == 0 {
			out[k] = float32(f[s])
		}
	}
	return out
}

// sample is a field on the grid, row by row from below, by linear interpolation.
func (e even) sample(m *grid.Mesh, f []float64) []float32 {
	raster := render.Raster(m, f, e.box, e.nx, e.ny)
	out := make([]float32, 0, len(raster))
	for j := e.ny - 1; j >= 0; j-- {
		out = append(out, raster[j*e.nx:(j+1)*e.nx]...)
	}
	return out
}

// viewMarks are the centroids, the first of the whole wake where the plane does not cut the body.
func viewMarks(r *measure.Result) (out []report.ViewMark, whole bool) {
	if w := r.Wake; w != nil && w.Centroid != nil && !r.Mesh.CutsBody {
		out, whole = append(out, report.ViewMark{At: *w.Centroid}), true
		if len(r.Regions) == 0 {
			out[0].Spread = spreadOf(w)
		}
	}
	for _, g := range r.Regions {
		if g.Centroid != nil {
			out = append(out, report.ViewMark{At: *g.Centroid, Spread: spreadOf(g.Wake)})
		}
	}
	return out, whole
}

// spreadOf gives the half axes of a spread and its tilt, nil where there is none.
func spreadOf(w *measure.Wake) *[3]float64 {
	if w == nil || w.Axes == nil {
		return nil
	}
	return &[3]float64{w.Axes[0], w.Axes[1], *w.Tilt}
}

// simplified drops specks and the points of lines that lie within a tenth of the
// sample spacing of the chord that represents them.
func simplified(lines []isoline.Line, spacing float64) [][][2]float64 {
	var out [][][2]float64
	for _, l := range lines {
		if l.Length() < 4*spacing || len(l.Points) < 3 {
			continue
		}
		p := polyline(l)
		thin, last := p[:1:1], 0
		for i := 2; i < len(p); i++ {
			for k := last + 1; k < i; k++ {
				if fromChord(p[k], p[last], p[i]) > spacing/10 {
					thin, last = append(thin, p[i-1]), i-1
					break
				}
			}
		}
		out = append(out, append(thin, p[len(p)-1]))
	}
	return out
}

// fromChord is the distance of p from the segment ab.
func fromChord(p, a, b [2]float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if n := dx*dx + dy*dy; n > 0 {
		t = min(max(((p[0]-a[0])*dx+(p[1]-a[1])*dy)/n, 0), 1)
	}
	return math.Hypot(p[0]-a[0]-t*dx, p[1]-a[1]-t*dy)
}

// viewVectors samples the in-plane velocity over U on a thin even grid; nil where
// the plane lacks it.
func viewVectors(m *measure.Measurement) *report.ViewVectors {
	a, b := inPlane(m)
	if a == nil {
		return nil
	}
	box := m.Plane.Mesh.Window()
	pitch := max(box.Width(), box.Height()) / viewArrows
	e := even{box, max(int(box.Width()/pitch), 1), max(int(box.Height()/pitch), 1)}
	return &report.ViewVectors{
		X: middles(box.Min.X, box.Max.X, e.nx), Y: middles(box.Min.Y, box.Max.Y, e.ny),
		Dx: e.sample(m.Plane.Mesh, a), Dy: e.sample(m.Plane.Mesh, b),
	}
}
