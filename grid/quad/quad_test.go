package quad_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
)

// lattice makes a mesh of nx × ny samples, with uneven lines unless the seed is
// 0; drop leaves places out.
func lattice(nx, ny int, support grid.Support, seed uint64, drop func(x, y float64) bool) *grid.Mesh {
	r := rand.New(rand.NewPCG(seed, 7))
	line := func(n int) []float64 {
		a := make([]float64, n)
		for i := 1; i < n; i++ {
			a[i] = a[i-1] + 1
			if seed > 0 {
				a[i] += r.Float64() - 0.5
			}
		}
		for i := range a {
			a[i] = a[i]/a[n-1]*2 - 0.7
		}
		return a
	}
	m := &grid.Mesh{Kind: grid.KindLattice, Support: support, Lattice: &grid.Lattice{X: line(nx), Y: line(ny)}}
	for _, y := range m.Lattice.Y {
		for _, x := range m.Lattice.X {
			if drop != nil && drop(x, y) {
				m.Lattice.Index = append(m.Lattice.Index, -1)
				continue
			}
			m.Lattice.Index = append(m.Lattice.Index, int32(len(m.Points)))
			m.Points = append(m.Points, grid.Point{X: x, Y: y})
		}
	}
	return m
}

// triangles splits the complete quadrilaterals of a lattice, with alternating
// diagonals.
func triangles(m *grid.Mesh) *grid.Mesh {
	out := &grid.Mesh{Kind: grid.KindTriangles, Points: m.Points}
	l := m.Lattice
	for j := 0; j+1 < len(l.Y); j++ {
		for i := 0; i+1 < len(l.X); i++ {
			if !l.Full(i, j) {
				continue
			}
			a, b, c, d := l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1)
			if (i+j)%2 == 0 {
				out.Triangles = append(out.Triangles, a, b, c, a, c, d)
			} else {
				out.Triangles = append(out.Triangles, a, b, d, b, c, d)
			}
		}
	}
	return out
}

func sample(m *grid.Mesh, f func(x, y float64) float64) []float64 {
	out := make([]float64, len(m.Points))
	for i, p := range m.Points {
		out[i] = f(p.X, p.Y)
	}
	return out
}

var near = gridtest.Near

// TestLinearFieldIsExact: a linear field's integral and moments over a box that
// cuts elements are polynomials in the box's limits.
func TestLinearFieldIsExact(t *testing.T) {
	lin := func(x, y float64) float64 { return 1 + 2*x - 3*y }
	box := grid.Box{Min: grid.Point{X: -0.31, Y: -0.22}, Max: grid.Point{X: 0.83, Y: 0.97}}
	base := lattice(9, 8, grid.Nodes, 1, nil)
	for _, m := range []*grid.Mesh{base, triangles(base)} {
		t.Run(m.Kind.String(), func(t *testing.T) {
			f := sample(m, lin)
			// ∫∫ x^a y^b over the box.
			mono := func(a, b int) float64 {
				p := func(lo, hi float64, n int) float64 {
					return (math.Pow(hi, float64(n+1)) - math.Pow(lo, float64(n+1))) / float64(n+1)
				}
				return p(box.Min.X, box.Max.X, a) * p(box.Min.Y, box.Max.Y, b)
			}
			times := func(a, b int) float64 { return mono(a, b) + 2*mono(a+1, b) - 3*mono(a, b+1) }
			w := quad.NewWeights(m, &box)
			near(t, "area", w.Area(), box.Area(), 1e-14)
			near(t, "integral", w.Integrate(f), times(0, 0), 1e-14)
			mo := quad.NewMoments(m, &box, f)
			o := mo.Origin
			near(t, "∫f", mo.M0, times(0, 0), 1e-14)
			near(t, "∫xf", mo.X+o.X*mo.M0, times(1, 0), 1e-14)
			near(t, "∫yf", mo.Y+o.Y*mo.M0, times(0, 1), 1e-14)
			near(t, "∫x²f", mo.XX+2*o.X*mo.X+o.X*o.X*mo.M0, times(2, 0), 1e-13)
			near(t, "∫xyf", mo.XY+o.X*mo.Y+o.Y*mo.X+o.X*o.Y*mo.M0, times(1, 1), 1e-13)
			near(t, "∫y²f", mo.YY+2*o.Y*mo.Y+o.Y*o.Y*mo.M0, times(0, 2), 1e-13)
		})
	}
}

// TestRegionsAddUp: boxes that tile the window share every integral out among
// them, with holes in the mesh too.
func TestRegionsAddUp(t *testing.T) {
	hole := func(x, y float64) bool { return math.Hypot(x, y-0.1) < 0.3 }
	nodes := lattice(31, 27, grid.Nodes, 2, hole)
	cells := lattice(31, 27, grid.Cells, 2, hole)
	for _, m := range []*grid.Mesh{nodes, cells, triangles(nodes)} {
		t.Run(fmt.Sprint(m.Kind, m.Support), func(t *testing.T) {
			f := sample(m, func(x, y float64) float64 { return math.Sin(3*x) + y*y })
			whole := m.Window()
			var sum, area, above float64
			cx, cy := 0.1234, 0.4321
			for _, b := range []grid.Box{
				{Min: whole.Min, Max: grid.Point{X: cx, Y: cy}},
				{Min: grid.Point{X: cx, Y: whole.Min.Y}, Max: grid.Point{X: whole.Max.X, Y: cy}},
				{Min: grid.Point{X: whole.Min.X, Y: cy}, Max: whole.Max},
			} {
				w := quad.NewWeights(m, &b)
				sum += w.Integrate(f)
				area += w.Area()
				above += areaAbove(m, &b, f, []float64{0.2})[0]
			}
			w := quad.NewWeights(m, nil)
			near(t, "integral", sum, w.Integrate(f), 1e-13)
			near(t, "area", area, w.Area(), 1e-13)
			near(t, "area above", above, areaAbove(m, nil, f, []float64{0.2})[0], 1e-12)
		})
	}
}

// TestCellsKeepTheirIntegral: the continuous field that level areas and pictures
// use holds what the cells hold, next to missing cells too.
func TestCellsKeepTheirIntegral(t *testing.T) {
	m := lattice(17, 19, grid.Cells, 3, func(x, y float64) bool { return math.Hypot(x-0.2, y) < 0.35 })
	f := sample(m, func(x, y float64) float64 { return math.Exp(x) * math.Cos(2*y) })
	want := quad.NewWeights(m, nil).Integrate(f)
	n, g := m.Nodal(f)
	if err := gridtest.Validate(n); err != nil {
		t.Fatal(err)
	}
	near(t, "nodal form of a lattice of cells", quad.NewWeights(n, nil).Integrate(g), want, 1e-13)
	near(t, "its area", quad.NewWeights(n, nil).Area(), quad.NewWeights(m, nil).Area(), 1e-13)

	// The same cells handed over as polygons.
	c := &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Points: m.Points, Cells: &grid.CellSet{Start: []int32{0}}}
	ex, ey := grid.CellEdges(m.Lattice.X), grid.CellEdges(m.Lattice.Y)
	id := map[[2]int]int32{}
	corner := func(i, j int) int32 {
		k, ok := id[[2]int{i, j}]
		if !ok {
			k = int32(len(c.Cells.Corners))
			id[[2]int{i, j}] = k
			c.Cells.Corners = append(c.Cells.Corners, grid.Point{X: ex[i], Y: ey[j]})
		}
		return k
	}
	for j := range m.Lattice.Y {
		for i := range m.Lattice.X {
			if m.Lattice.At(i, j) >= 0 {
				c.Cells.Index = append(c.Cells.Index, corner(i, j), corner(i+1, j), corner(i+1, j+1), corner(i, j+1))
				c.Cells.Start = append(c.Cells.Start, int32(len(c.Cells.Index)))
			}
		}
	}
	near(t, "given cells", quad.NewWeights(c, nil).Integrate(f), want, 1e-13)
	n, g = c.Nodal(f)
	if err := gridtest.Validate(n); err != nil {
		t.Fatal(err)
	}
	near(t, "nodal form of given cells", quad.NewWeights(n, nil).Integrate(g), want, 1e-13)
	box := grid.Box{Min: grid.Point{X: -0.4, Y: -0.3}, Max: grid.Point{X: 0.55, Y: 0.61}}
	near(t, "given cells in a box", quad.NewWeights(c, &box).Integrate(f), quad.NewWeights(m, &box).Integrate(f), 1e-13)
}

// TestAreaAbove: a plane over a square is above a level on a strip or a corner
// triangle, and the area inside a circle converges with order 2.
func TestAreaAbove(t *testing.T) {
	base := lattice(11, 13, grid.Nodes, 4, nil)
	for _, m := range []*grid.Mesh{base, triangles(base)} {
		x := sample(m, func(x, y float64) float64 { return x })
		near(t, "strip", areaAbove(m, nil, x, []float64{0.3})[0], 1.0*2, 1e-13)
		d := sample(m, func(x, y float64) float64 { return x + y })
		// Corner (1.3, 1.3): x+y ≥ 2.1 cuts off a right triangle with sides 0.5.
		near(t, "corner", areaAbove(m, nil, d, []float64{2.1})[0], 0.125, 1e-13)
		box := grid.Box{Min: grid.Point{X: -0.5, Y: -0.5}, Max: grid.Point{X: 1.2, Y: 1.2}}
		near(t, "corner in a box", areaAbove(m, &box, d, []float64{2.1})[0], 0.3*0.3/2, 1e-13)
		got := areaAbove(m, nil, x, []float64{-9, math.NaN(), 9, 1.3})
		if got[1] != 0 || got[2] != 0 || got[3] != 0 {
			t.Errorf("areas at NaN, above all and at the maximum = %v, want 0", got[1:])
		}
		near(t, "all", got[0], 4, 1e-13)
	}
	// Where the circle meets the lines makes single errors scatter about C h²; over
	// three halvings the order shows.
	errAt := func(n int) float64 {
		m := lattice(n, n, grid.Nodes, 0, nil)
		g := sample(m, func(x, y float64) float64 { return math.Exp(-(x*x + y*y) / 0.08) })
		return math.Abs(areaAbove(m, nil, g, []float64{0.3})[0] - math.Pi*0.08*math.Log(1/0.3))
	}
	coarse, fine := errAt(41), errAt(321)
	if order := math.Log2(coarse/fine) / 3; !(order > 1.7) {
		t.Errorf("circle: error %.3g with 41 lines, %.3g with 321: order %.2f, 2 is expected", coarse, fine, order)
	}
}

// TestSameOnAnyNumberOfThreads: the very same bits.
func TestSameOnAnyNumberOfThreads(t *testing.T) {
	m := lattice(400, 300, grid.Nodes, 6, nil)
	f := sample(m, func(x, y float64) float64 { return math.Sin(40 * x * y) })
	run := func(n int) [2]float64 {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
		return [2]float64{quad.NewWeights(m, nil).Integrate(f), areaAbove(m, nil, f, []float64{0.1})[0]}
	}
	one := run(1)
	for _, n := range []int{2, 3, 8} {
		if got := run(n); got != one {
			t.Errorf("%d threads give %v, one gives %v", n, got, one)
		}
	}
}

// TestSumIsCompensated: terms that cancel leave the small one.
func TestSumIsCompensated(t *testing.T) {
	var s grid.Sum
	for _, v := range []float64{1, 1e100, 1, -1e100} {
		s.Add(v)
	}
	if s.Value() != 2 {
		t.Errorf("1 + 1e100 + 1 − 1e100 = %g, want 2", s.Value())
	}
}

// Sample areas go before elements: the whole is Σ f·area, boxes that tile share it
// out, and on a uniform lattice of cells nothing differs from the cells themselves.
func TestSampleAreas(t *testing.T) {
	cells := lattice(20, 20, grid.Cells, 0, nil)
	m := triangles(lattice(20, 20, grid.Nodes, 0, nil))
	m.Support = grid.Cells
	for range m.Points {
		m.SampleArea = append(m.SampleArea, 2./19*2/19)
	}
	if err := gridtest.Validate(m); err != nil {
		t.Fatal(err)
	}
	f := sample(m, func(x, y float64) float64 { return math.Exp(x) - y })
	near(t, "integral", quad.NewWeights(m, nil).Integrate(f), quad.NewWeights(cells, nil).Integrate(f), 1e-13)
	a, b := quad.NewMoments(m, nil, f), quad.NewMoments(cells, nil, f)
	near(t, "∫xf", a.X+a.Origin.X*a.M0, b.X+b.Origin.X*b.M0, 1e-13)
	near(t, "∫y²f", a.YY+2*a.Origin.Y*a.Y+a.Origin.Y*a.Origin.Y*a.M0, b.YY+2*b.Origin.Y*b.Y+b.Origin.Y*b.Origin.Y*b.M0, 1e-13)
	left, right := m.Window(), m.Window()
	left.Max.X, right.Min.X = 0.1234, 0.1234
	near(t, "two boxes", quad.NewWeights(m, &left).Integrate(f)+quad.NewWeights(m, &right).Integrate(f), quad.NewWeights(m, nil).Integrate(f), 1e-13)
	n := 0.0
	for _, v := range f {
		if v >= 1 {
			n++
		}
	}
	near(t, "area above", areaAbove(m, nil, f, []float64{1})[0], n*m.SampleArea[0], 1e-13)
}

// areaAbove is AreaAbove in one box.
func areaAbove(m *grid.Mesh, box *grid.Box, f, thresholds []float64) []float64 {
	return quad.AreaAbove(m, []*grid.Box{box}, f, thresholds)[0]
}
