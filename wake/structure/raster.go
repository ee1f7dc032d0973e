package structure

import (
	"math"

	"wakeledger/grid"
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

// evenStep is how far the steps of a lattice may differ, as a part of their mean,
// for its own samples to be used as they are: coordinates of four digits on lines
// 40 mm apart are within 0.3 %.
const evenStep = 0.01

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

// sample gives a field's values on the raster, NaN where no element covers the
// place: the samples themselves where the mesh is the raster's lattice, else linear
// between the samples. shares says which samples a place's value is made of; nil
// where places are samples, and for given cells, whose corners are means already.
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
	loc := grid.NewLocator(n)
	all := make([][4]grid.Share, r.len())
	for k := range out {
		list, c, ok := loc.At(r.at(k))
		if !ok {
			out[k] = math.NaN()
			continue
		}
		for _, s := range list[:c] {
			out[k] += s.Weight * g[s.Sample]
		}
		copy(all[k][:c], list[:c])
	}
	if n == m {
		shares = all
	}
	return out, shares
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

// jaccard gives, for labels a of n structures and b of m, the area that a pair has
// in common over the area of either.
func jaccard(a, b []int32, n, m int) [][]float64 {
	both := make([][]float64, n)
	for i := range both {
		both[i] = make([]float64, m)
	}
	na, nb := make([]float64, n), make([]float64, m)
	for k := range a {
		if a[k] >= 0 {
			na[a[k]]++
		}
		if b[k] >= 0 {
			nb[b[k]]++
		}
		if a[k] >= 0 && b[k] >= 0 {
			both[a[k]][b[k]]++
		}
	}
	for i := range both {
		for j, c := range both[i] {
			if c > 0 {
				both[i][j] = c / (na[i] + nb[j] - c)
			}
		}
	}
	return both
}
