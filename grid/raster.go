package grid

import "math"

// EvenStep is how far the steps of a lattice may differ, as a part of their mean,
// for its own samples to be used as they are: coordinates of four digits on lines
// 40 mm apart are within 0.3 %.
const EvenStep = 0.01

// Raster is a lattice of equal steps on which two fields are set side by side.
type Raster struct {
	X0, Y0, DX, DY float64
	NX, NY         int
}

// NewRaster covers a box with steps of about h, or wider ones where they would be more
// than MostPlaces.
func NewRaster(box Box, h float64) *Raster {
	h = RasterStep(box, h)
	steps := func(d float64) (int, float64) {
		n := max(1, int(math.Round(d/h)))
		return n + 1, d / float64(n)
	}
	r := &Raster{X0: box.Min.X, Y0: box.Min.Y}
	r.NX, r.DX = steps(box.Width())
	r.NY, r.DY = steps(box.Height())
	return r
}

// nativeRaster is the raster of a lattice with equal steps, or nil.
func nativeRaster(m *Mesh) *Raster {
	if m.Kind != KindLattice {
		return nil
	}
	even := func(a []float64) (float64, bool) {
		n := len(a) - 1
		d := (a[n] - a[0]) / float64(n)
		for i, v := range a {
			if math.Abs(v-(a[0]+d*float64(i))) > EvenStep*d {
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
	return &Raster{X0: m.Lattice.X[0], Y0: m.Lattice.Y[0], DX: dx, DY: dy, NX: len(m.Lattice.X), NY: len(m.Lattice.Y)}
}

// RasterFor is the raster on which fields on a and b are compared: a's own lattice
// where it has one with equal steps, else one over the common window with the
// finer of the two sample distances.
func RasterFor(a, b *Mesh) *Raster {
	if r := nativeRaster(a); r != nil {
		return r
	}
	h := math.Min(a.Spacing(), b.Spacing())
	w := a.Window().Intersect(b.Window())
	if !(w.Width() > h && w.Height() > h) {
		return nil
	}
	return NewRaster(w, h)
}

func (r *Raster) Len() int        { return r.NX * r.NY }
func (r *Raster) X(i int) float64 { return r.X0 + r.DX*float64(i) }
func (r *Raster) Y(j int) float64 { return r.Y0 + r.DY*float64(j) }
func (r *Raster) Cell() float64   { return r.DX * r.DY }
func (r *Raster) At(k int) Point {
	return Point{X: r.X(k % r.NX), Y: r.Y(k / r.NX)}
}

// span is the first and last of n places from origin on that lie between lo and hi;
// the last is before the first where there is none.
func span(lo, hi, origin, step float64, n int) (first, last int) {
	const slack = 1e-9
	return max(0, int(math.Ceil((lo-origin)/step-slack))), min(n-1, int(math.Floor((hi-origin)/step+slack)))
}

// Rows are the first and the last row between two heights, or those on both sides of a layer
// that holds none.
func (r *Raster) Rows(lo, hi float64) (first, last int) {
	if first, last = r.RowsIn(lo, hi); last < first {
		first, last = max(0, last), min(r.NY-1, first)
	}
	return first, last
}

// RowsIn are the first and the last row between two heights; the last is before the first
// where there is none.
func (r *Raster) RowsIn(lo, hi float64) (first, last int) { return span(lo, hi, r.Y0, r.DY, r.NY) }

// Same reports whether the mesh is the lattice of the raster, place by place.
func (r *Raster) Same(m *Mesh) bool {
	q := nativeRaster(m)
	if q == nil || q.NX != r.NX || q.NY != r.NY {
		return false
	}
	near := func(a, b, d float64) bool { return math.Abs(a-b) <= EvenStep*d }
	return near(q.X0, r.X0, r.DX) && near(q.Y0, r.Y0, r.DY) &&
		near(q.X(q.NX-1), r.X(r.NX-1), r.DX) && near(q.Y(q.NY-1), r.Y(r.NY-1), r.DY)
}

// Shares says which samples of a mesh the values at the raster's places are made of:
// bilinear on a lattice (cells count as point values at their centres), linear in
// triangles, the cell's own in given cells. Places that no element covers have none;
// where several touch a place the first wins.
//
// Elements are gone through rather than places: most hold no place, and no index has
// to be made.
func (r *Raster) Shares(m *Mesh) [][4]Share {
	out := make([][4]Share, r.Len())
	if m.Kind == KindLattice {
		loc := NewLocator(&Mesh{Kind: KindLattice, Support: Nodes, Lattice: m.Lattice})
		for k := range out {
			out[k], _, _ = loc.At(r.At(k))
		}
		return out
	}
	each := func(box Box, at func(p Point) ([4]Share, bool)) {
		i0, i1 := span(box.Min.X, box.Max.X, r.X0, r.DX, r.NX)
		j0, j1 := span(box.Min.Y, box.Max.Y, r.Y0, r.DY, r.NY)
		for j := j0; j <= j1; j++ {
			for i := i0; i <= i1; i++ {
				if k := j*r.NX + i; out[k] == ([4]Share{}) {
					if s, ok := at(r.At(k)); ok {
						out[k] = s
					}
				}
			}
		}
	}
	if m.Kind == KindCells {
		for e := range m.Cells.Len() {
			each(m.Cells.Bounds(e), func(p Point) ([4]Share, bool) {
				return [4]Share{{Sample: int32(e), Weight: 1}}, m.Cells.Holds(e, p)
			})
		}
		return out
	}
	for t := 0; t+2 < len(m.Triangles); t += 3 {
		each(m.triangleBox(int32(t)), func(p Point) ([4]Share, bool) { return m.inTriangle(int32(t), p) })
	}
	return out
}

// Mix is the value that the shares give; NaN without any.
func Mix(shares [4]Share, f []float64) float64 {
	if shares == ([4]Share{}) {
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

// Sample gives a field's values on the raster, NaN where no element covers the
// place: the samples themselves where the mesh is the raster's lattice, else linear
// between the samples. shares says which samples a place's value is made of; nil
// where places are samples, and for cells, whose corners are means already.
func (r *Raster) Sample(m *Mesh, f []float64) (out []float64, shares [][4]Share) {
	out = make([]float64, r.Len())
	if r.Same(m) {
		for k, s := range m.Lattice.Index {
			out[k] = math.NaN()
			if s >= 0 {
				out[k] = f[s]
			}
		}
		return out, nil
	}
	n, g := m.Nodal(f)
	shares = r.Shares(n)
	for k, s := range shares {
		out[k] = Mix(s, g)
	}
	if n != m {
		shares = nil
	}
	return out, shares
}

// Bend is by how much a field with the curvature that its gradients tell lies above the one
// of Sample at the raster's places,
//
//	½ Σ λᵢ ∇fᵢ·(p − pᵢ)
//
// with λᵢ the shares of the samples about p. Of a quadratic with exact gradients that is all
// that a linear interpolation is off by. 0 where a place is a sample, or has no gradient; nil
// where all are samples.
func (r *Raster) Bend(m *Mesh, f []float64) []float64 {
	if r.Same(m) {
		return nil
	}
	n, g := m.Nodal(f)
	gx, gy := n.Gradient(g)
	out := make([]float64, r.Len())
	for k, shares := range r.Shares(n) {
		p := r.At(k)
		for _, s := range shares {
			if s.Weight == 0 {
				continue
			}
			q := n.Points[s.Sample]
			if d := gx[s.Sample]*(p.X-q.X) + gy[s.Sample]*(p.Y-q.Y); !math.IsNaN(d) {
				out[k] += s.Weight * d / 2
			}
		}
	}
	return out
}
