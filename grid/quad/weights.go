package quad

import (
	"wakeledger/grid"
)

// Weights are the integrals of the samples' shape functions over a part of a
// mesh: ∫f dS = Σ Weight·f. Sample Index[k] has weight Weight[k]; a nil Index
// means that every sample of the mesh has one, in order. They may be shared with the
// mesh: read-only.
type Weights struct {
	Index  []int32
	Weight []float64
}

// NewWeights gives the weights over the part of the mesh inside the box, with
// elements that the box cuts clipped exactly. A nil box means the whole mesh.
func NewWeights(m *grid.Mesh, box *grid.Box) Weights {
	if m.Kind == grid.KindLattice && m.Support == grid.Cells && m.SampleArea == nil && box != nil {
		return cellWeights(m, box)
	}
	full := sampleWeights(m, box)
	if box == nil {
		return Weights{Weight: full}
	}
	w := Weights{Index: []int32{}}
	for s, v := range full {
		if v != 0 {
			w.Index, w.Weight = append(w.Index, int32(s)), append(w.Weight, v)
		}
	}
	return w
}

// cellWeights are those of a lattice of cells, of the rows and columns that the box reaches.
func cellWeights(m *grid.Mesh, box *grid.Box) Weights {
	e := newElements(m, box, grid.Point{})
	first, end := 0, len(e.xl)
	for first < end && e.xl[first][0] == 0 {
		first++
	}
	for end > first && e.xl[end-1][0] == 0 {
		end--
	}
	rows := 0
	for _, y := range e.yl {
		if y[0] != 0 {
			rows++
		}
	}
	w := Weights{Index: make([]int32, 0, rows*(end-first)), Weight: make([]float64, 0, rows*(end-first))}
	for j, y := range e.yl {
		if y[0] == 0 {
			continue
		}
		for i := first; i < end; i++ {
			if s := m.Lattice.At(i, j); s >= 0 {
				w.Index, w.Weight = append(w.Index, s), append(w.Weight, e.xl[i][0]*y[0])
			}
		}
	}
	return w
}

// Sample is the sample that Weight[k] belongs to.
func (w Weights) Sample(k int) int {
	if w.Index == nil {
		return k
	}
	return int(w.Index[k])
}

// Integrate returns Σ Weight·f, in the unit of f times m². f has one value a
// sample of the mesh. A NaN or infinite value that has weight makes the result
// not finite; no samples give 0.
func (w Weights) Integrate(f []float64) float64 {
	if w.Index == nil && len(f) != len(w.Weight) {
		panic("quad: field and weights differ in number")
	}
	return w.IntegrateFunc(func(i int) float64 { return f[i] })
}

// IntegrateFunc is Integrate for a field that is worked out as it is read: f(i)
// is its value at sample i.
func (w Weights) IntegrateFunc(f func(i int) float64) float64 {
	return w.IntegrateAll(1, func(i int, weight float64, v []float64) { v[0] += weight * f(i) })[0]
}

// IntegrateAll integrates n fields in one pass: add(i, weight, v) adds to v the
// weight times their values at sample i.
func (w Weights) IntegrateAll(n int, add func(i int, weight float64, v []float64)) []float64 {
	if w.Index == nil {
		return sums(len(w.Weight), n, func(k int, v []float64) { add(k, w.Weight[k], v) })
	}
	return sums(len(w.Weight), n, func(k int, v []float64) { add(int(w.Index[k]), w.Weight[k], v) })
}

// Area is the area of the part, m².
func (w Weights) Area() float64 {
	return sums(len(w.Weight), 1, func(k int, v []float64) { v[0] += w.Weight[k] })[0]
}

// Moments are area moments of a field about an origin: ∫f, ∫xf, ∫yf, ∫x²f, ∫xyf
// and ∫y²f with x and y counted from Origin.
type Moments struct {
	Origin           grid.Point
	M0, X, Y         float64
	XX, XY, YY       float64
	Square, Absolute float64
}

// NewMoments gives the moments of f over the part of the mesh inside the box; a
// nil box means the whole mesh. The origin is the middle of the part's bounds,
// which keeps the digits of second moments far from the origin. Square is ∫f²
// with f² taken at the samples, and Absolute ∫|f| likewise.
func NewMoments(m *grid.Mesh, box *grid.Box, f []float64) Moments {
	b := grid.Bounds(m.Points)
	if box != nil {
		if c := b.Intersect(*box); !c.Empty() {
			b = c
		}
	}
	s := momentSums(m, box, b.Centre(), f)
	return Moments{Origin: b.Centre(), M0: s[0], X: s[1], Y: s[2], XX: s[3], XY: s[4], YY: s[5], Square: s[6], Absolute: s[7]}
}

// Centroid is the first moment over the integral. It has no meaning (NaN or a
// far point) where M0 is zero or made of cancelling parts; see Absolute.
func (m Moments) Centroid() grid.Point {
	return grid.Point{X: m.Origin.X + m.X/m.M0, Y: m.Origin.Y + m.Y/m.M0}
}

// Central returns the second moments about the centroid over M0: the variances
// along X and Y and the covariance.
func (m Moments) Central() (xx, xy, yy float64) {
	x, y := m.X/m.M0, m.Y/m.M0
	return m.XX/m.M0 - x*x, m.XY/m.M0 - x*y, m.YY/m.M0 - y*y
}
