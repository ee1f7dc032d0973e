package isoline

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"wakeledger/grid"
)

// lattice returns an nx × ny lattice of nodes over the box and f on it.
func lattice(b grid.Box, nx, ny int, f func(x, y float64) float64) (*grid.Mesh, []float64) {
	l := &grid.Lattice{X: make([]float64, nx), Y: make([]float64, ny), Index: make([]int32, nx*ny)}
	for i := range l.X {
		l.X[i] = b.Min.X + b.Width()*float64(i)/float64(nx-1)
	}
	for j := range l.Y {
		l.Y[j] = b.Min.Y + b.Height()*float64(j)/float64(ny-1)
	}
	m := &grid.Mesh{Kind: grid.KindLattice, Lattice: l}
	var v []float64
	for j, y := range l.Y {
		for i, x := range l.X {
			l.Index[j*nx+i] = int32(len(v))
			m.Points = append(m.Points, grid.Point{X: x, Y: y})
			v = append(v, f(x, y))
		}
	}
	return m, v
}

// fourfold splits each quadrilateral about its centre: the triangles that a
// lattice is read as, written out as a triangle mesh.
func fourfold(m *grid.Mesh, f []float64) (*grid.Mesh, []float64) {
	l := m.Lattice
	t := &grid.Mesh{Kind: grid.KindTriangles, Points: append([]grid.Point(nil), m.Points...)}
	v := append([]float64(nil), f...)
	for j := 0; j+1 < len(l.Y); j++ {
		for i := 0; i+1 < len(l.X); i++ {
			if !l.Full(i, j) {
				continue
			}
			q := [4]int32{l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1)}
			c := int32(len(t.Points))
			t.Points = append(t.Points, grid.Point{X: (l.X[i] + l.X[i+1]) / 2, Y: (l.Y[j] + l.Y[j+1]) / 2})
			v = append(v, ((f[q[0]]+f[q[2]])+(f[q[1]]+f[q[3]]))/4)
			for s := range q {
				t.Triangles = append(t.Triangles, c, q[s], q[(s+1)%4])
			}
		}
	}
	return t, v
}

func square(a float64) grid.Box {
	return grid.Box{Min: grid.Point{X: -a, Y: -a}, Max: grid.Point{X: a, Y: a}}
}

func gauss(x, y float64) float64 { return math.Exp(-(x*x + y*y) / 2) }

// The level e^(−r²/2) of a Gaussian is a circle of radius r: length 2πr, area πr².
func TestCircleConverges(t *testing.T) {
	const r = 1.1
	level := math.Exp(-r * r / 2)
	var errL, errA []float64
	for _, n := range []int{41, 81, 161} {
		m, f := lattice(square(3), n, n, gauss)
		lines := Lines(m, f, level)
		if len(lines) != 1 || !lines[0].Closed {
			t.Fatalf("n=%d: %d lines, want one closed line", n, len(lines))
		}
		errL = append(errL, math.Abs(lines[0].Length()-2*math.Pi*r))
		errA = append(errA, math.Abs(lines[0].Area()-math.Pi*r*r))
		if lines[0].Area() <= 0 {
			t.Errorf("n=%d: area %g, a peak must lie to the left of its line", n, lines[0].Area())
		}
	}
	for k := 1; k < len(errL); k++ {
		for name, e := range map[string][]float64{"length": errL, "area": errA} {
			if order := math.Log2(e[k-1] / e[k]); !(order > 1.8 && order < 2.3) {
				t.Errorf("%s: order of convergence %.2f, want 2 (errors %g)", name, order, e)
			}
		}
	}
	if errA[2] > 2e-3 {
		t.Errorf("area is off by %g on the finest lattice", errA[2])
	}
}

func TestTroughHasNegativeArea(t *testing.T) {
	m, f := lattice(square(3), 61, 61, func(x, y float64) float64 { return -gauss(x, y) })
	lines := Lines(m, f, -0.5)
	if len(lines) != 1 || lines[0].Area() >= 0 {
		t.Fatalf("lines %v: want one closed line with negative area", len(lines))
	}
}

// f = x on a square has one open line across it. Left of a line that points to −y
// is +x, so it runs from the top to the bottom.
func TestOpenLineAndOrientation(t *testing.T) {
	m, f := lattice(square(1), 5, 7, func(x, _ float64) float64 { return x })
	for _, level := range []float64{0.3, 0.5, 0} { // 0.5 and 0 are values of nodes
		lines := Lines(m, f, level)
		if len(lines) != 1 || lines[0].Closed {
			t.Fatalf("level %g: %d lines, want one open line", level, len(lines))
		}
		p := lines[0].Points
		if p[0].Y != 1 || p[len(p)-1].Y != -1 {
			t.Errorf("level %g: runs from y=%g to y=%g, want from 1 to −1", level, p[0].Y, p[len(p)-1].Y)
		}
		if d := math.Abs(lines[0].Length() - 2); d > 1e-12 {
			t.Errorf("level %g: length off by %g", level, d)
		}
		for _, q := range p {
			if math.Abs(q.X-level) > 1e-15 {
				t.Errorf("level %g: point %v", level, q)
			}
		}
	}
}

// With f equal to the level on the outer nodes and below it nowhere, nothing is
// below: no line. With one node at the level and the rest below, the line has no
// length. With one node above, there is one closed line.
func TestValuesAtTheLevel(t *testing.T) {
	m, f := lattice(square(1), 5, 5, func(x, y float64) float64 { return 1 })
	if got := Lines(m, f, 1); got != nil {
		t.Errorf("plateau at the level: %v, want none", got)
	}
	for i := range f {
		f[i] = 0
	}
	f[12] = 1
	if got := Lines(m, f, 1); got != nil {
		t.Errorf("single node at the level: %v, want none", got)
	}
	if got := Lines(m, f, 0.5); len(got) != 1 || !got[0].Closed || got[0].Area() <= 0 {
		t.Errorf("single node above: %v, want one closed line", got)
	}
	// A 3 × 3 block at the level: its border is the block's rim, 4 × 1 long.
	for j := 1; j <= 3; j++ {
		for i := 1; i <= 3; i++ {
			f[j*5+i] = 1
		}
	}
	got := Lines(m, f, 1)
	if len(got) != 1 || !got[0].Closed || math.Abs(got[0].Area()-1) > 1e-15 || math.Abs(got[0].Length()-4) > 1e-15 {
		t.Errorf("block at the level: %v, want the unit square", got)
	}
	for _, level := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := Lines(m, f, level); got != nil {
			t.Errorf("level %g: %d lines, want none", level, len(got))
		}
	}
}

// f = xy on one quadrilateral: the mean of the corners is 0. A centre at the level
// counts as above, so it is the low corners that are cut off, through the centre;
// at a level above the mean it is the high corners.
func TestSaddle(t *testing.T) {
	m, f := lattice(square(1), 2, 2, func(x, y float64) float64 { return x * y })
	for _, c := range []struct{ level, sign, length float64 }{{0, -1, 2}, {0.5, 1, 1}} {
		got := Lines(m, f, c.level)
		if len(got) != 2 {
			t.Fatalf("level %g: %d lines, want 2", c.level, len(got))
		}
		for _, l := range got {
			for _, p := range l.Points {
				if p.X*p.Y*c.sign < 0 {
					t.Errorf("level %g: %v lies beside a corner that is not cut off", c.level, p)
				}
			}
			if math.Abs(l.Length()-c.length) > 1e-15 {
				t.Errorf("level %g: length %g, want %g", c.level, l.Length(), c.length)
			}
		}
	}
}

func TestNotFiniteOpensTheElement(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		m, f := lattice(square(3), 31, 31, gauss)
		f[15*31+22] = bad // on y = 0 at x = 1.4
		lines := Lines(m, f, gauss(1.4, 0.01))
		tm, tf := fourfold(m, f)
		tri := Lines(tm, tf, gauss(1.4, 0.01))
		for name, ls := range map[string][]Line{"lattice": lines, "triangles": tri} {
			if len(ls) != 1 || ls[0].Closed {
				t.Errorf("%s with %g: %d lines, want one open line", name, bad, len(ls))
				continue
			}
			for _, p := range ls[0].Points {
				if p.X-p.X != 0 || p.Y-p.Y != 0 {
					t.Errorf("%s with %g: point %v", name, bad, p)
				}
				if math.Abs(p.X-1.4) < 0.19 && math.Abs(p.Y) < 0.19 {
					t.Errorf("%s with %g: %v lies in an element that is open", name, bad, p)
				}
			}
		}
	}
}

// sums returns total length and area, which are independent of the lines' order.
func sums(ls []Line) (length, area float64, n int) {
	for _, l := range ls {
		length += l.Length()
		area += l.Area()
	}
	return length, area, len(ls)
}

func randomField(seed uint64) func(x, y float64) float64 {
	r := rand.New(rand.NewPCG(seed, 7))
	var a [6][4]float64
	for i := range a {
		a[i] = [4]float64{r.NormFloat64(), 4 * r.NormFloat64(), 4 * r.NormFloat64(), 6 * r.Float64()}
	}
	return func(x, y float64) float64 {
		s := 0.0
		for _, c := range a {
			s += c[0] * math.Sin(c[1]*x+c[2]*y+c[3])
		}
		return s
	}
}

func TestLatticeEqualsItsTriangles(t *testing.T) {
	for seed := range uint64(20) {
		m, f := lattice(square(1), 33, 29, randomField(seed))
		tm, tf := fourfold(m, f)
		l1, a1, n1 := sums(Lines(m, f, 0.2))
		l2, a2, n2 := sums(Lines(tm, tf, 0.2))
		if n1 != n2 || math.Abs(l1-l2) > 1e-12*l1 || math.Abs(a1-a2) > 1e-12 {
			t.Errorf("seed %d: lattice %d lines %g long, area %g; triangles %d, %g, %g", seed, n1, l1, a1, n2, l2, a2)
		}
	}
}

// The mirrored field has the mirrored points, bit for bit.
// TestAllLevels: the lines of many levels, in any order, are those of each, values that are
// missing or at a level or not.
func TestAllLevels(t *testing.T) {
	m, f := lattice(square(2), 41, 37, randomField(3))
	levels := []float64{0.3, f[700], -0.2, math.NaN(), 0, math.Inf(1), 0.31, -5, f[40], math.Inf(-1)}
	f[300], f[901], f[902] = math.NaN(), math.Inf(1), math.Inf(-1)
	tri, g := fourfold(m, f)
	for _, c := range []struct {
		m *grid.Mesh
		f []float64
	}{{m, f}, {tri, g}} {
		for k, got := range All(c.m, c.f, levels) {
			if d := cmp.Diff(got, Lines(c.m, c.f, levels[k])); d != "" {
				t.Errorf("%v, level %g: %s", c.m.Kind, levels[k], d)
			}
			// Each element with corners on both sides has a part of a line.
			crossed := 0
			for i := 0; i < len(tri.Triangles); i += 3 {
				a, b, o := g[tri.Triangles[i]], g[tri.Triangles[i+1]], g[tri.Triangles[i+2]]
				if lo, hi := min(a, b, o), max(a, b, o); hi-lo < math.Inf(1) && lo < levels[k] && hi >= levels[k] {
					crossed++
				}
			}
			n := 0
			for _, l := range got {
				n += len(l.Points)
			}
			if math.Abs(float64(n-crossed)) > 0.1*float64(crossed) {
				t.Errorf("%v, level %g: %d points on the lines of %d elements", c.m.Kind, levels[k], n, crossed)
			}
		}
	}
}

func TestMirrored(t *testing.T) {
	for seed := range uint64(20) {
		fn := randomField(seed)
		m, f := lattice(square(1), 33, 33, fn)
		_, g := lattice(square(1), 33, 33, func(x, y float64) float64 { return fn(-x, y) })
		set := map[grid.Point]bool{}
		for _, l := range Lines(m, f, -0.1) {
			for _, p := range l.Points {
				set[grid.Point{X: -p.X, Y: p.Y}] = true
			}
		}
		n := 0
		for _, l := range Lines(m, g, -0.1) {
			for _, p := range l.Points {
				n++
				if !set[p] {
					t.Fatalf("seed %d: %v has no mirror image", seed, p)
				}
			}
		}
		if n == 0 {
			t.Fatalf("seed %d: no points", seed)
		}
	}
}

// Every line point carries the level: f is linear between the two nodes of the
// edge it lies on, and a line of f over a linear field is straight.
func TestLinearFieldIsExact(t *testing.T) {
	lin := func(x, y float64) float64 { return 1 + 2*x + 3*y }
	m, f := lattice(square(2), 17, 23, lin)
	n := 0
	for _, l := range Lines(m, f, 1.7) {
		for _, p := range l.Points {
			n++
			if e := math.Abs(lin(p.X, p.Y) - 1.7); e > 1e-14 {
				t.Errorf("f = level + %g at %v", e, p)
			}
		}
	}
	if n == 0 {
		t.Fatal("no points")
	}
}

// Samples that represent cells reach to the cells' borders.
func TestCellsReachTheBorder(t *testing.T) {
	m, f := lattice(square(1), 5, 5, func(x, _ float64) float64 { return x })
	m.Support = grid.Cells
	lines := Lines(m, f, 0.1)
	if len(lines) != 1 || math.Abs(lines[0].Length()-2.5) > 1e-12 {
		t.Fatalf("%d lines, want one of length 2.5 over cells that reach ±1.25", len(lines))
	}
}

func TestDeterministic(t *testing.T) {
	m, f := lattice(square(1), 65, 65, randomField(3))
	want := Lines(m, f, 0)
	for range 5 {
		if d := cmp.Diff(want, Lines(m, f, 0)); d != "" {
			t.Fatal(d)
		}
	}
}

func TestEmpty(t *testing.T) {
	if got := Lines(&grid.Mesh{Kind: grid.KindTriangles}, nil, 0); got != nil {
		t.Errorf("empty mesh: %v", got)
	}
	var l Line
	if l.Length() != 0 || l.Area() != 0 {
		t.Error("the zero Line has length or area")
	}
}
