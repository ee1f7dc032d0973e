package poisson_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/poisson"
)

// Differences of fourth order are exact for polynomials of fourth degree, at the border
// too, and converge with that order.
func TestSlopes(t *testing.T) {
	poly := lattice(box(-1, 1, 0, 1), 9, 7, grid.Nodes)
	px, py := poisson.Slopes(poly, sample(poly, func(x, y float64) float64 { return math.Pow(x+2, 4) + 3*math.Pow(y, 4)*x }))
	near(t, "∂/∂x", worst(poly, px, func(x, y float64) float64 { return 4*math.Pow(x+2, 3) + 3*math.Pow(y, 4) }), 0, 1e-12)
	near(t, "∂/∂y", worst(poly, py, func(x, y float64) float64 { return 12 * math.Pow(y, 3) * x }), 0, 1e-12)
	var errs []float64
	for _, n := range []int{32, 64, 128} {
		l := lattice(box(0, 3, 0, 1), n, n, grid.Cells)
		dx, _ := poisson.Slopes(l, sample(l, func(x, y float64) float64 { return math.Sin(x) * math.Exp(y) }))
		errs = append(errs, worst(l, dx, func(x, y float64) float64 { return math.Cos(x) * math.Exp(y) }))
	}
	order(t, "slopes", errs, 3.85, 1e-3)
	l := lattice(box(0, 1, 0, 1), 13, 13, grid.Nodes)
	f := make([]float64, 169)
	f[6*13+6] = math.NaN()
	dx, dy := poisson.Slopes(l, f)
	lost := func(a []float64) (n int) {
		for _, v := range a {
			if math.IsNaN(v) {
				n++
			}
		}
		return n
	}
	// The four differences of its own line that weigh it; its own place does not.
	if lost(dx) != 4 || lost(dy) != 4 {
		t.Errorf("one NaN spoils %d and %d slopes, want 4 and 4", lost(dx), lost(dy))
	}
}

// triangulated is a lattice whose inner points are moved at random and whose
// quadrilaterals are cut in two, but for those in the hole.
func triangulated(n int, in grid.Box, hole grid.Box, seed uint64) *grid.Mesh {
	r := rand.New(rand.NewPCG(seed, 2))
	m := &grid.Mesh{Kind: grid.KindTriangles}
	hx, hy := in.Width()/float64(n-1), in.Height()/float64(n-1)
	for j := range n {
		for i := range n {
			p := grid.Point{X: in.Min.X + hx*float64(i), Y: in.Min.Y + hy*float64(j)}
			if i > 0 && i < n-1 && j > 0 && j < n-1 {
				p.X += hx * 0.3 * (r.Float64() - 0.5)
				p.Y += hy * 0.3 * (r.Float64() - 0.5)
			}
			m.Points = append(m.Points, p)
		}
	}
	for j := range n - 1 {
		for i := range n - 1 {
			a := int32(j*n + i)
			if hole.Contains(m.Points[a]) {
				continue
			}
			m.Triangles = append(m.Triangles, a, a+1, a+int32(n)+1, a, a+int32(n)+1, a+int32(n))
		}
	}
	return m
}

// Resampling gives linear fields back exactly, and a lattice its own values.
func TestResample(t *testing.T) {
	linear := func(x, y float64) float64 { return 2 - 3*x + 0.5*y }
	m := triangulated(12, box(-1, 1, 0, 2), grid.EmptyBox(), 4)
	if err := gridtest.Validate(m); err != nil {
		t.Fatal(err)
	}
	f := make([]float64, len(m.Points))
	for i, p := range m.Points {
		f[i] = linear(p.X, p.Y)
	}
	l := lattice(box(-1, 1, 0, 2), 23, 31, grid.Nodes)
	out := poisson.Resample(m, l, f, f)
	near(t, "linear on triangles", worst(l, out[0], linear), 0, 1e-13)
	if !slices.Equal(out[0], out[1]) {
		t.Error("the same field twice gives two results")
	}

	own := lattice(box(0, 1, 0, 1), 6, 5, grid.Nodes)
	mesh := &grid.Mesh{Lattice: &grid.Lattice{}}
	for i := range own.NX {
		mesh.Lattice.X = append(mesh.Lattice.X, own.Point(i).X)
	}
	for j := range own.NY {
		mesh.Lattice.Y = append(mesh.Lattice.Y, own.Point(j*own.NX).Y)
	}
	r := rand.New(rand.NewPCG(9, 9))
	g := make([]float64, own.Len())
	for k := range g {
		mesh.Points = append(mesh.Points, own.Point(k))
		// Sample k stands in place perm(k): 7 and 30 have no common factor.
		mesh.Lattice.Index = append(mesh.Lattice.Index, int32(k*7%30))
		g[k] = r.NormFloat64()
	}
	for k, s := range mesh.Lattice.Index {
		mesh.Points[s] = own.Point(k)
	}
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		mesh := &grid.Mesh{Lattice: mesh.Lattice, Points: mesh.Points, Support: support}
		got, order, ok := poisson.FromMesh(mesh)
		if !ok || got.NX != own.NX || got.NY != own.NY || got.Support != support {
			t.Fatalf("lattice %+v, %v", got, ok)
		}
		out = poisson.Resample(mesh, got, g)
		for k := range out[0] {
			near(t, "own value", out[0][k], g[order[k]], 1e-14)
		}
	}
}

// Samples of cells reach half a cell beyond the outermost centres, where the value is
// that of the border cell.
func TestResampleCells(t *testing.T) {
	from := lattice(box(0, 1, 0, 1), 5, 4, grid.Cells)
	m := &grid.Mesh{Support: grid.Cells, Lattice: &grid.Lattice{X: []float64{0.1, 0.3, 0.5, 0.7, 0.9}, Y: []float64{0.125, 0.375, 0.625, 0.875}}}
	for k := range from.Len() {
		m.Points = append(m.Points, from.Point(k))
		m.Lattice.Index = append(m.Lattice.Index, int32(k))
	}
	f := sample(from, func(x, y float64) float64 { return x })
	to := lattice(box(0, 1, 0, 1), 40, 40, grid.Cells)
	out := poisson.Resample(m, to, f)
	near(t, "between centres", worst(to, out[0], func(x, y float64) float64 { return math.Min(math.Max(x, 0.1), 0.9) }), 0, 1e-14)
}

// Lattice samples in an opening, or outside the mesh, are NaN, and no others.
func TestResampleHoles(t *testing.T) {
	m := triangulated(21, box(0, 1, 0, 1), box(0.39, 0.56, 0.39, 0.56), 8)
	f := make([]float64, len(m.Points))
	for i := range f {
		f[i] = 1
	}
	missing := func(l poisson.Lattice) (n int) {
		out := poisson.Resample(m, l, f)
		for k, v := range out[0] {
			if math.IsNaN(v) {
				n++
			} else if math.Abs(v-1) > 1e-12 {
				t.Fatalf("sample %d is %g", k, v)
			}
		}
		return n
	}
	// 16 quadrilaterals of 400 are open: 64 of 1600 samples, less or more what the
	// moved points change.
	holes := missing(lattice(box(0, 1, 0, 1), 40, 40, grid.Cells))
	if holes < 50 || holes > 80 {
		t.Errorf("%d samples in the hole, about 64 expected", holes)
	}
	if n := missing(lattice(box(0, 2, 0, 1), 80, 40, grid.Cells)); n != holes+1600 {
		t.Errorf("%d missing with as much again outside, want %d", n, holes+1600)
	}
}
