package atlas

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/render"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// The part of a plane that pictures open on: the wake without the outermost
// windowTail of its area on each side, which specks of noise reach, and the body, with a
// margin of windowMargin of the larger side. A side that would lose less than
// windowSpare of the window stays whole.
const (
	windowTail   = 0.002
	windowMargin = 0.1
	windowSpare  = 0.1
)

// windows gives for each normal the part that all planes with it are shown in: what the
// user asked for along an axis, else the wakes and bodies of all of them.
func (o Options) windows(ms []*measure.Measurement) (map[wake.Axis]grid.Box, error) {
	all, part := map[wake.Axis]grid.Box{}, map[wake.Axis]grid.Box{}
	for _, m := range ms {
		n, w := m.Plane.Normal, m.Plane.Mesh.Window()
		if _, ok := all[n]; !ok {
			all[n], part[n] = grid.EmptyBox(), grid.EmptyBox()
		}
		all[n], part[n] = union(all[n], w), union(part[n], o.bounds(m).Intersect(w))
	}
	for _, n := range slices.Sorted(maps.Keys(all)) {
		w, p := all[n], part[n]
		if p.Empty() || o.WholeWindow {
			p = w
		}
		pad := windowMargin * max(p.Width(), p.Height())
		p = grid.Box{Min: grid.Point{X: p.Min.X - pad, Y: p.Min.Y - pad}, Max: grid.Point{X: p.Max.X + pad, Y: p.Max.Y + pad}}.Intersect(w)
		a, b := n.InPlane()
		if err := cmp.Or(o.side(a, &p.Min.X, &p.Max.X, w.Min.X, w.Max.X), o.side(b, &p.Min.Y, &p.Max.Y, w.Min.Y, w.Max.Y)); err != nil {
			return nil, err
		}
		part[n] = p
	}
	return part, nil
}

// side sets what is shown along an axis, of what would be shown and what is there.
func (o Options) side(a wake.Axis, lo, hi *float64, least, most float64) error {
	if asked, ok := o.Window[a.String()]; ok {
		if *lo, *hi = max(asked[0], least), min(asked[1], most); !(*lo < *hi) {
			return &wake.InputError{Text: fmt.Sprintf("the window of the maps, %s from %g to %g m, is beside the planes, which reach from %.4g to %.4g m", a, asked[0], asked[1], least, most), Cure: "give a part of the planes"}
		}
	} else if *hi-*lo > (1-windowSpare)*(most-least) {
		*lo, *hi = least, most
	}
	return nil
}

// bounds holds the wake, the body, the regions and, on planes normal to x, the
// silhouette.
func (o Options) bounds(m *measure.Measurement) grid.Box {
	b := wakeBounds(m)
	for _, g := range m.Plane.Mesh.Bodies() {
		b = union(b, g.Box)
	}
	for _, r := range boxes(m.Result) {
		b = union(b, r.Box)
	}
	if m.Plane.Normal == wake.AxisX {
		for _, l := range o.Silhouette {
			b = union(b, grid.Bounds(l.Points))
		}
	}
	return b
}

// wakeBounds are those of the area inside the wake's outline without its tails on each
// side; empty where there is no outline.
func wakeBounds(m *measure.Measurement) grid.Box {
	t, ok := outlineAt(m.Result)
	if !ok || m.Weight == nil {
		return grid.EmptyBox()
	}
	mesh := m.Plane.Mesh
	area := quad.NewWeights(mesh, nil).Weight
	var x, y render.Weighted
	for i, p := range mesh.Points {
		if m.Weight[i] >= t {
			x.Values, x.Weights = append(x.Values, p.X), append(x.Weights, area[i])
			y.Values = append(y.Values, p.Y)
		}
	}
	y.Weights = x.Weights
	b := grid.EmptyBox()
	if ex, ok := render.Quantiles([]render.Weighted{x}, false, windowTail, 1-windowTail); ok {
		ey, _ := render.Quantiles([]render.Weighted{y}, false, windowTail, 1-windowTail)
		b = b.Extend(grid.Point{X: ex[0], Y: ey[0]}).Extend(grid.Point{X: ex[1], Y: ey[1]})
	}
	return b
}

func union(a, b grid.Box) grid.Box {
	if b.Empty() {
		return a
	}
	return a.Extend(b.Min).Extend(b.Max)
}

// view is how a plane whose samples fill a window is looked at, and the words for the
// footer that say which part of it is shown.
func (o Options) view(normal wake.Axis, window grid.Box) (render.View, string) {
	v := render.PlaneView(normal.String())
	part := o.shared.windows[normal].Intersect(window)
	if _, ok := o.shared.windows[normal]; !ok || part.Empty() || part == window {
		v.Box = window
		return v, ""
	}
	v.Box = part
	a, b := normal.InPlane()
	mm := func(x float64) string { return fmt.Sprintf("%.4g", math.Round(1000*x)/1000+0) }
	return v, fmt.Sprintf(" · shown: %s %s to %s m, %s %s to %s m",
		a, mm(part.Min.X), mm(part.Max.X), b, mm(part.Min.Y), mm(part.Max.Y))
}
