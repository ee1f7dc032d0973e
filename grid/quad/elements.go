package quad

import (
	"math"

	"wakeledger/grid"
)

// elements is a mesh seen as rows of work: a row of a lattice, or a run of
// triangles or given cells. Positions are counted from origin.
type elements struct {
	m      *grid.Mesh
	box    *grid.Box
	origin grid.Point
	// Lattices: the integrals of the shape functions along each axis.
	xl, xh, yl, yh []interval1
}

// run is how many triangles or cells make a row.
const run = 1 << 12

func newElements(m *grid.Mesh, box *grid.Box, origin grid.Point) *elements {
	e := &elements{m: m, origin: origin}
	if box != nil {
		e.box = &grid.Box{Min: e.from(box.Min), Max: e.from(box.Max)}
	}
	if m.Kind != grid.KindLattice {
		return e
	}
	x, y := move(m.Lattice.X, origin.X), move(m.Lattice.Y, origin.Y)
	inX, inY := limits(e.box)
	if m.Support == grid.Cells {
		e.xl, e.yl = cellsAlong(x, inX), cellsAlong(y, inY)
	} else {
		e.xl, e.xh = hatsAlong(x, inX)
		e.yl, e.yh = hatsAlong(y, inY)
	}
	return e
}

func (e *elements) from(p grid.Point) grid.Point {
	return grid.Point{X: p.X - e.origin.X, Y: p.Y - e.origin.Y}
}

func move(a []float64, o float64) []float64 {
	return grid.Fill(len(a), func(i int) float64 { return a[i] - o })
}

// rows is the number of rows.
func (e *elements) rows() int {
	switch e.m.Kind {
	case grid.KindLattice:
		return len(e.yl)
	case grid.KindCells:
		return (len(e.m.Points) + run - 1) / run
	}
	return (len(e.m.Triangles)/3 + run - 1) / run
}

// cells calls add(s, v) for the cells s of row r that have a part inside the box, with v
// that part's integrals of 1, x, y, x², xy, y².
func (e *elements) cells(r int, add func(s int32, v *[6]float64)) {
	if e.m.Kind == grid.KindLattice {
		e.latticeCells(r, add)
	} else {
		e.givenCells(r*run, min(len(e.m.Points), (r+1)*run), add)
	}
}

// momentSums adds up, over the rows on all processors, the moments of f and what a
// tally holds beside them.
func momentSums(m *grid.Mesh, box *grid.Box, origin grid.Point, f []float64) tally {
	if m.SampleArea != nil {
		return areaMoments(m, box, origin, f)
	}
	e := newElements(m, box, origin)
	part := make([]tally, e.rows())
	grid.Parallel(len(part), func(r int) {
		p := new(tally) // apart from the others, for the processors' caches
		switch {
		case m.Kind == grid.KindLattice && m.Support == grid.Nodes:
			e.latticeMoments(r, f, p)
		case m.Kind == grid.KindLattice || m.Kind == grid.KindCells:
			e.cells(r, func(s int32, v *[6]float64) { p.sample(v, f[s]) })
		default:
			e.triangles(r, func(c []int32, q *[3]grid.Point, at *[3][3]float64) { p.triangle(q, at, f[c[0]], f[c[1]], f[c[2]]) })
		}
		part[r] = *p
	})
	var out tally
	for k := range out {
		var s grid.Sum
		for i := range part {
			s.Add(part[i][k])
		}
		out[k] = s.Value()
	}
	return out
}

// areaMoments is momentSums for sample areas: each sample's area is taken as a
// square about its place, so that the second moments do not lack the cells' own.
func areaMoments(m *grid.Mesh, box *grid.Box, origin grid.Point, f []float64) tally {
	w := sampleWeights(m, box)
	return tally(sums(len(w), len(tally{}), func(i int, sum []float64) {
		a := w[i]
		x, y := m.Points[i].X-origin.X, m.Points[i].Y-origin.Y
		own := a / 12 // ∫x² over a square of area a, over a
		(*tally)(sum).sample(&[6]float64{a, a * x, a * y, a * (x*x + own), a * x * y, a * (y*y + own)}, f[i])
	}))
}

// sampleWeights gives the weight of every sample: the integral of its shape
// function, or its area where the mesh has sample areas. Not to be written to.
func sampleWeights(m *grid.Mesh, box *grid.Box) []float64 {
	if m.SampleArea == nil {
		return elementWeights(m, box)
	}
	if box == nil {
		return m.SampleArea
	}
	// The elements say which part of a sample lies in the box, so that boxes which
	// tile the window share the areas out; a sample in no element is in or out.
	w, full := elementWeights(m, box), elementWeights(m, nil)
	for s := range w {
		switch {
		case full[s] > 0:
			w[s] *= m.SampleArea[s] / full[s]
		case box.Contains(m.Points[s]):
			w[s] = m.SampleArea[s]
		}
	}
	return w
}

// elementWeights gives the integrals of the shape function of every sample, not to be
// written to. Rows share samples, so they are worked one after the other.
func elementWeights(m *grid.Mesh, box *grid.Box) []float64 {
	triangles := m.Kind != grid.KindLattice && m.Kind != grid.KindCells
	if box == nil && triangles {
		return m.NodeArea()
	}
	w := make([]float64, len(m.Points))
	e := newElements(m, box, grid.Point{})
	if m.Kind == grid.KindLattice && m.Support == grid.Nodes {
		e.latticeWeights(w)
		return w
	}
	if m.Kind == grid.KindLattice {
		of := cellWeights(m, box)
		for k, s := range of.Index {
			w[s] = of.Weight[k]
		}
		return w
	}
	for r := range e.rows() {
		if triangles {
			e.triangles(r, func(c []int32, q *[3]grid.Point, at *[3][3]float64) {
				for k, s := range shares(q, at) {
					w[c[k]] += s
				}
			})
		} else {
			e.cells(r, func(s int32, v *[6]float64) { w[s] = v[0] })
		}
	}
	return w
}

// interval1 is the integral of 1, x, x² over one clipped interval.
type interval1 [3]float64

func powers(lo, hi float64) interval1 {
	if !(hi > lo) {
		return interval1{}
	}
	d := hi - lo
	return interval1{d, d * (lo + hi) / 2, d * (lo*lo + lo*hi + hi*hi) / 3}
}

// product spreads the product of a function of x and one of y over the moments.
func product(x, y interval1) [6]float64 {
	return [6]float64{x[0] * y[0], x[1] * y[0], x[0] * y[1], x[2] * y[0], x[1] * y[1], x[0] * y[2]}
}

// limits are where a box begins and ends along the two axes; a nil box has no end.
func limits(box *grid.Box) (x, y [2]float64) {
	if box == nil {
		x = [2]float64{math.Inf(-1), math.Inf(1)}
		return x, x
	}
	return [2]float64{box.Min.X, box.Max.X}, [2]float64{box.Min.Y, box.Max.Y}
}

// cellsAlong integrates over the part of each cell's side inside the box.
func cellsAlong(a []float64, in [2]float64) []interval1 {
	e := grid.CellEdges(a)
	return grid.Fill(len(a), func(i int) interval1 { return powers(math.Max(e[i], in[0]), math.Min(e[i+1], in[1])) })
}

// latticeCells: a constant on each cell.
func (e *elements) latticeCells(j int, add func(int32, *[6]float64)) {
	y := e.yl[j]
	if y[0] == 0 {
		return
	}
	var v [6]float64 // one for all: add's pointer takes it to the heap
	for i, x := range e.xl {
		if s := e.m.Lattice.At(i, j); s >= 0 && x[0] != 0 {
			v = product(x, y)
			add(s, &v)
		}
	}
}

// hatsAlong gives the integrals of the hat's falling and rising half over the
// part inside the box of interval i, from line i to line i+1.
func hatsAlong(a []float64, in [2]float64) (low, high []interval1) {
	low, high = make([]interval1, len(a)-1), make([]interval1, len(a)-1)
	for i := range low {
		lo, hi := math.Max(a[i], in[0]), math.Min(a[i+1], in[1])
		low[i] = hat(lo, hi, a[i+1], a[i])
		high[i] = hat(lo, hi, a[i], a[i+1])
	}
	return low, high
}

// hat integrates (x−zero)/(one−zero) times 1, x, x² from lo to hi: exact with
// Simpson's rule for the cubic, which it integrates without error.
func hat(lo, hi, zero, one float64) interval1 {
	if !(hi > lo) {
		return interval1{}
	}
	mid, d := lo+(hi-lo)/2, hi-lo
	f := func(x float64) interval1 {
		h := (x - zero) / (one - zero)
		return interval1{h, h * x, h * x * x}
	}
	a, b, c := f(lo), f(mid), f(hi)
	var out interval1
	for k := range out {
		out[k] = d * (a[k] + 4*b[k] + c[k]) / 6
	}
	return out
}

// givenCells: a constant on each polygon, for cells lo to hi−1.
func (e *elements) givenCells(lo, hi int, add func(int32, *[6]float64)) {
	c := e.m.Cells
	var poly, spare []grid.Point
	for s := lo; s < hi; s++ {
		poly = poly[:0]
		for _, k := range c.Polygon(s) {
			poly = append(poly, e.from(c.Corners[k]))
		}
		if e.box != nil {
			poly, spare = clipPolygon(poly, spare, *e.box)
		}
		if len(poly) < 3 {
			continue
		}
		var v [6]float64
		for k := 2; k < len(poly); k++ {
			addTriangleMoments(poly[0], poly[k-1], poly[k], &v)
		}
		if v[0] != 0 {
			add(int32(s), &v)
		}
	}
}

// addTriangleMoments adds the signed area moments of a triangle.
func addTriangleMoments(a, b, c grid.Point, v *[6]float64) {
	area := grid.TriangleArea(a, b, c)
	sx, sy := a.X+b.X+c.X, a.Y+b.Y+c.Y
	v[0] += area
	v[1] += area * sx / 3
	v[2] += area * sy / 3
	// ∫xy over a triangle is A/12 (Σx Σy + Σ xy).
	v[3] += area / 12 * (sx*sx + a.X*a.X + b.X*b.X + c.X*c.X)
	v[4] += area / 12 * (sx*sy + a.X*a.Y + b.X*b.Y + c.X*c.Y)
	v[5] += area / 12 * (sy*sy + a.Y*a.Y + b.Y*b.Y + c.Y*c.Y)
}
