package structure

import (
	"math"

	"wakeledger/grid"
)

const (
	// evenStep is how far the steps of a lattice may differ, as a part of their mean,
	// for its own samples to be used as they are: coordinates of four digits on lines
	// 40 mm apart are within 0.3 %.
	evenStep = 0.01
	// mostSamples is how many samples are used as they are, and rasterPlaces about how
	// many points a larger survey is put on.
	mostSamples  = 60_000
	rasterPlaces = 20_000
	// onSide is how far outside a triangle, as a part of its size, a place still counts
	// as inside, so that none on a common side is lost to rounding.
	onSide = 1e-9
)

// raster is a lattice of equal steps on which two fields are set side by side.
type raster struct {
	x0, y0, dx, dy float64
	nx, ny         int
}

// newRaster covers a box with steps of about h, or wider ones where they would be more
// than grid.MostPlaces.
func newRaster(box grid.Box, h float64) *raster {
	h = grid.RasterStep(box, h)
	steps := func(d float64) (int, float64) {
		n := max(1, int(math.Round(d/h)))
		return n + 1, d / float64(n)
	}
	r := &raster{x0: box.Min.X, y0: box.Min.Y}
	r.nx, r.dx = steps(box.Width())
	r.ny, r.dy = steps(box.Height())
	return r
}

// nativeRaster is the raster of a lattice with equal steps, or nil.
func nativeRaster(m *grid.Mesh) *raster {
	if m.Kind != grid.KindLattice {
		return nil
	}
	even := func(a []float64) (float64, bool) {
		n := len(a) - 1
		d := (a[n] - a[0]) / float64(n)
		for i, v := range a {
			if math.Abs(v-(a[0]+d*float64(i))) > evenStep*d {
				return 0, false
			}
		}
		return d, true
	}
	dx, okx := even(m.Lattice.X)
	dy, oky := even(m.Lattice.Y)
	if !okx || !oky {
		return nil
	}
	return &raster{x0: m.Lattice.X[0], y0: m.Lattice.Y[0], dx: dx, dy: dy, nx: len(m.Lattice.X), ny: len(m.Lattice.Y)}
}

// rasterFor is the raster on which fields on a and b are compared: a's own lattice
// where it has one with equal steps, else one over the common window with the
// finer of the two sample distances.
func rasterFor(a, b *grid.Mesh) *raster {
	if r := nativeRaster(a); r != nil {
		return r
	}
	h := math.Min(a.Spacing(), b.Spacing())
	w := a.Window().Intersect(b.Window())
	if !(w.Width() > h && w.Height() > h) {
		return nil
	}
	return newRaster(w, h)
}

func (r *raster) len() int        { return r.nx * r.ny }
func (r *raster) x(i int) float64 { return r.x0 + r.dx*float64(i) }
func (r *raster) y(j int) float64 { return r.y0 + r.dy*float64(j) }
func (r *raster) cell() float64   { return r.dx * r.dy }
func (r *raster) at(k int) grid.Point {
	return grid.Point{X: r.x(k % r.nx), Y: r.y(k / r.nx)}
}

// span is the first and last of n places from origin on that lie between lo and hi;
// the last is before the first where there is none.
func span(lo, hi, origin, step float64, n int) (first, last int) {
	const slack = 1e-9
	return max(0, int(math.Ceil((lo-origin)/step-slack))), min(n-1, int(math.Floor((hi-origin)/step+slack)))
}

// same reports whether the mesh is the lattice of the raster, place by place.
func (r *raster) same(m *grid.Mesh) bool {
	q := nativeRaster(m)
	if q == nil || q.nx != r.nx || q.ny != r.ny {
		return false
	}
	near := func(a, b, d float64) bool { return math.Abs(a-b) <= evenStep*d }
	return near(q.x0, r.x0, r.dx) && near(q.y0, r.y0, r.dy) &&
		near(q.x(q.nx-1), r.x(r.nx-1), r.dx) && near(q.y(q.ny-1), r.y(r.ny-1), r.dy)
}

// shares says which samples of a mesh the values at the raster's places are made of:
// bilinear on a lattice (cells count as point values at their centres), linear in
// triangles, the cell's own in given cells. Places that no element covers have none;
// where several touch a place the first wins.
//
// Elements are gone through rather than places: most hold no place, and no index has
// to be made.
func (r *raster) shares(m *grid.Mesh) [][4]grid.Share {
	out := make([][4]grid.Share, r.len())
	if m.Kind == grid.KindLattice {
		loc := grid.NewLocator(&grid.Mesh{Kind: grid.KindLattice, Support: grid.Nodes, Lattice: m.Lattice})
		for k := range out {
			out[k], _, _ = loc.At(r.at(k))
		}
		return out
	}
	each := func(box grid.Box, at func(p grid.Point) ([4]grid.Share, bool)) {
		i0, i1 := span(box.Min.X, box.Max.X, r.x0, r.dx, r.nx)
		j0, j1 := span(box.Min.Y, box.Max.Y, r.y0, r.dy, r.ny)
		for j := j0; j <= j1; j++ {
			for i := i0; i <= i1; i++ {
				k := j*r.nx + i
				if out[k] != ([4]grid.Share{}) {
					continue
				}
				if s, ok := at(r.at(k)); ok {
					out[k] = s
				}
			}
		}
	}
	if m.Kind == grid.KindCells {
		for e := range m.Cells.Len() {
			each(m.Cells.Bounds(e), func(p grid.Point) ([4]grid.Share, bool) {
				return [4]grid.Share{{Sample: int32(e), Weight: 1}}, m.Cells.Holds(e, p)
			})
		}
		return out
	}
	for t := 0; t+2 < len(m.Triangles); t += 3 {
		ids := m.Triangles[t : t+3]
		a, b, c := m.Points[ids[0]], m.Points[ids[1]], m.Points[ids[2]]
		box := grid.Box{
			Min: grid.Point{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y)},
			Max: grid.Point{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y)},
		}
		each(box, func(p grid.Point) ([4]grid.Share, bool) {
			whole := grid.TriangleArea(a, b, c)
			w1, w2 := grid.TriangleArea(a, p, c)/whole, grid.TriangleArea(a, b, p)/whole
			w0 := 1 - w1 - w2
			ok := w0 >= -onSide && w1 >= -onSide && w2 >= -onSide
			return [4]grid.Share{{Sample: ids[0], Weight: w0}, {Sample: ids[1], Weight: w1}, {Sample: ids[2], Weight: w2}}, ok
		})
	}
	return out
}

// mix is the value that the shares give; NaN without any.
func mix(shares [4]grid.Share, f []float64) float64 {
	if shares == ([4]grid.Share{}) {
		return math.NaN()
	}
	v := 0.0
	for _, s := range shares {
		if s.Weight != 0 {
			v += s.Weight * f[s.Sample]
		}
	}
	return v
}

// sample gives a field's values on the raster, NaN where no element covers the
// place: the samples themselves where the mesh is the raster's lattice, else linear
// between the samples. shares says which samples a place's value is made of; nil
// where places are samples, and for cells, whose corners are means already.
func (r *raster) sample(m *grid.Mesh, f []float64) (out []float64, shares [][4]grid.Share) {
	out = make([]float64, r.len())
	if r.same(m) {
		for k, s := range m.Lattice.Index {
			out[k] = math.NaN()
			if s >= 0 {
				out[k] = f[s]
			}
		}
		return out, nil
	}
	n, g := m.Nodal(f)
	shares = r.shares(n)
	for k, s := range shares {
		out[k] = mix(s, g)
	}
	if n != m {
		shares = nil
	}
	return out, shares
}

// thin makes a lattice of nodes with equal steps over the window of a mesh: about
// rasterPlaces points, of which those are left out that no element covers. put puts
// a field on it (nil stays nil). The lattice depends on the mesh alone, so that fields
// of two configurations on common samples stay so.
func thin(m *grid.Mesh) (out *grid.Mesh, put func(f []float64) []float64) {
	window := m.Window()
	if m.Kind == grid.KindLattice {
		// To the outermost samples: a half-cell beyond is next to nothing here.
		window = grid.Bounds(m.Points)
	}
	r := newRaster(window, math.Sqrt(window.Area()/rasterPlaces))
	l := &grid.Lattice{Index: make([]int32, r.len())}
	for i := range r.nx {
		l.X = append(l.X, r.x(i))
	}
	for j := range r.ny {
		l.Y = append(l.Y, r.y(j))
	}
	out = &grid.Mesh{Kind: grid.KindLattice, Support: grid.Nodes, Gaps: m.Gaps, Lattice: l}
	var shares [][4]grid.Share
	for k, s := range r.shares(m) {
		l.Index[k] = -1
		if s != ([4]grid.Share{}) {
			l.Index[k] = int32(len(out.Points))
			out.Points, shares = append(out.Points, r.at(k)), append(shares, s)
		}
	}
	return out, func(f []float64) []float64 {
		if f == nil {
			return nil
		}
		values := make([]float64, len(shares))
		for i, s := range shares {
			values[i] = mix(s, f)
		}
		return values
	}
}

// labels gives the structure at each place of the raster, or −1: that of the sample
// with the largest share in the place, where the samples' mean is not outside. move,
// if not nil, says where to look instead.
func (out *Set) labels(r *raster, move func(grid.Point) grid.Point) []int32 {
	lab := make([]int32, r.len())
	for k := range lab {
		lab[k] = -1
	}
	if out.mesh == nil {
		return lab
	}
	loc := grid.NewLocator(out.mesh)
	for k := range lab {
		p := r.at(k)
		if move != nil {
			p = move(p)
		}
		shares, c, ok := loc.At(p)
		if !ok {
			continue
		}
		most := 0.0
		for _, s := range shares[:c] {
			if s.Weight > most {
				lab[k], most = out.label[s.Sample], s.Weight
			}
		}
	}
	return lab
}

// inCommon counts the places that structures of two sets cover.
type inCommon struct {
	a, b []float64
	both [][]float64
}

// common counts labels a of n structures and b of m.
func common(a, b []int32, n, m int) inCommon {
	c := inCommon{a: make([]float64, n), b: make([]float64, m), both: make([][]float64, n)}
	for i := range c.both {
		c.both[i] = make([]float64, m)
	}
	for k := range a {
		if a[k] >= 0 {
			c.a[a[k]]++
		}
		if b[k] >= 0 {
			c.b[b[k]]++
		}
		if a[k] >= 0 && b[k] >= 0 {
			c.both[a[k]][b[k]]++
		}
	}
	return c
}

// share is the area that structure i of a and j of b have in common over that of
// either (Jaccard).
func (c *inCommon) share(i, j int) float64 {
	if c.both[i][j] == 0 {
		return 0
	}
	return c.both[i][j] / (c.a[i] + c.b[j] - c.both[i][j])
}

// within finds the structure of b that holds most of structure i of a, and its part of i;
// holder the same of a for structure j of b.
func (c *inCommon) within(i int) (at int, part float64) {
	for j := range c.b {
		if p := c.both[i][j] / c.a[i]; p > part {
			at, part = j, p
		}
	}
	return at, part
}

func (c *inCommon) holder(j int) (at int, part float64) {
	for i := range c.a {
		if p := c.both[i][j] / c.b[j]; p > part {
			at, part = i, p
		}
	}
	return at, part
}
