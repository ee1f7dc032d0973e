package grid_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// points lists the crossings of lines, row by row, without those that drop takes.
func points(xs, ys []float64, drop func(x, y float64) bool) []grid.Point {
	var p []grid.Point
	for _, y := range ys {
		for _, x := range xs {
			if drop == nil || !drop(x, y) {
				p = append(p, grid.Point{X: x, Y: y})
			}
		}
	}
	return p
}

// graded gives n lines whose distance grows by ratio.
func graded(n int, h, ratio float64) []float64 {
	a := make([]float64, n)
	for i := 1; i < n; i++ {
		a[i] = a[i-1] + h
		h *= ratio
	}
	return a
}

// TestDetectLattice: what is and what is not a lattice, in any order of samples.
func TestDetectLattice(t *testing.T) {
	even := func(n int, h float64) []float64 { return graded(n, h, 1) }
	r := rand.New(rand.NewPCG(3, 4))
	shuffle := func(p []grid.Point) []grid.Point {
		r.Shuffle(len(p), func(i, j int) { p[i], p[j] = p[j], p[i] })
		return p
	}
	disc := func(x, y float64) bool { return math.Hypot(x-1, y-1) < 0.4 }
	cases := []struct {
		name   string
		p      []grid.Point
		nx, ny int // 0: no lattice
	}{
		{"even", points(even(30, 0.1), even(20, 0.1), nil), 30, 20},
		{"shuffled", shuffle(points(even(30, 0.1), even(20, 0.1), nil)), 30, 20},
		{"graded", shuffle(points(graded(30, 0.01, 1.1), graded(20, 0.05, 0.9), nil)), 30, 20},
		{"with a body", shuffle(points(even(30, 0.1), even(20, 0.1), disc)), 30, 20},
		{"with a body on the floor", points(even(40, 0.1), even(20, 0.1), func(x, y float64) bool { return math.Abs(x-2) < 0.5 && y < 1 }), 40, 20},
		{"two lines", points(even(50, 0.1), even(2, 0.1), nil), 50, 2},
		{"one line", points(even(50, 0.1), []float64{1}, nil), 0, 0},
		{"scattered", gridtest.JitteredPoints(50, 40, gridtest.PlaneBox, 0.3, 1), 0, 0},
	}
	for _, c := range cases {
		l, first := grid.DetectLattice(c.p)
		if c.nx == 0 {
			if l != nil {
				t.Errorf("%s: taken for a lattice of %d × %d", c.name, len(l.X), len(l.Y))
			}
			continue
		}
		if l == nil || len(l.X) != c.nx || len(l.Y) != c.ny || first != nil {
			t.Errorf("%s: %v with repeats %v, want %d × %d", c.name, l != nil, first, c.nx, c.ny)
			continue
		}
		for k, s := range l.Index {
			if s >= 0 && (c.p[s] != grid.Point{X: l.X[k%c.nx], Y: l.Y[k/c.nx]}) {
				t.Fatalf("%s: sample %d at %v stands at (%g, %g)", c.name, s, c.p[s], l.X[k%c.nx], l.Y[k/c.nx])
			}
		}
		m := &grid.Mesh{Kind: grid.KindLattice, Points: c.p, Lattice: l}
		if err := gridtest.Validate(m); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// TestHangingNodesAreNoLattice: the corners and the centres of a refined mesh lie on
// common lines, but the coarse ones have no neighbour on the next.
func TestHangingNodesAreNoLattice(t *testing.T) {
	for _, n := range []int{500, 5000} {
		for name, p := range map[string][]grid.Point{
			"corners": gridtest.SurveyPoints("hanging", n, 1),
			"centres": gridtest.SurveyPoints("octree", n, 1),
		} {
			if l, _ := grid.DetectLattice(p); l != nil {
				t.Errorf("%d %s: taken for a lattice of %d × %d", len(p), name, len(l.X), len(l.Y))
			}
		}
	}
}

// TestNoisyLines: coordinates that went through float32 still lie on lines.
func TestNoisyLines(t *testing.T) {
	p := points(graded(40, 0.0375, 1), graded(30, 0.0375, 1), nil)
	for i := range p {
		// A far offset, an odd unit: rounding differs from sample to sample.
		p[i].X = float64(float32(p[i].X+2.9)) / 0.3048 * (1 + 1e-8*float64(i%3-1))
	}
	l, _ := grid.DetectLattice(p)
	if l == nil || len(l.X) != 40 || len(l.Y) != 30 {
		t.Fatal("lines with the noise of a float32 are not found")
	}
}

// TestDuplicates: a repeated place is reported with its first sample.
func TestDuplicates(t *testing.T) {
	p := points(graded(6, 1, 1), graded(5, 1, 1), nil)
	p = append(p, p[7], p[7], p[29])
	l, first := grid.DetectLattice(p)
	if l == nil || first[29] != 29 || !slices.Equal(first[30:], []int32{7, 7, 29}) {
		t.Errorf("the first at each place %v", first)
	}
}

// TestGaps: areas and borders of missing parts.
func TestGaps(t *testing.T) {
	drop := func(x, y float64) bool {
		return x > 2.5 && x < 5.5 && y > 2.5 && y < 4.5 || // inside, 3 × 2
			x > 8.5 && y < 0.5 || // right bottom corner
			x > 5.5 && x < 7.5 && y < 1.5 // on the floor, 2 × 2
	}
	l, _ := grid.DetectLattice(points(graded(10, 1, 1), graded(8, 1, 1), drop))
	m := &grid.Mesh{Kind: grid.KindLattice, Lattice: l, Gaps: l.Gaps()}
	if len(m.Gaps) != 3 || m.Holes() != 2 {
		t.Fatalf("gaps %+v", m.Gaps)
	}
	floor, corner, inside := m.Gaps[0], m.Gaps[1], m.Gaps[2]
	if !floor.Bottom || floor.Left || floor.Right || floor.Area != 4 {
		t.Errorf("on the floor: %+v", floor)
	}
	if !corner.Bottom || !corner.Right || corner.Area != 1 {
		t.Errorf("in the corner: %+v", corner)
	}
	want := grid.Box{Min: grid.Point{X: 2.5, Y: 2.5}, Max: grid.Point{X: 5.5, Y: 4.5}}
	if !inside.Inside() || inside.Area != 6 || inside.Box != want {
		t.Errorf("inside: %+v", inside)
	}
	if m.CutsBody() {
		t.Error("gaps of 6 places and fewer are no body")
	}
	l, _ = grid.DetectLattice(points(graded(10, 1, 1), graded(8, 1, 1), func(x, y float64) bool { return x > 2.5 && x < 6.5 && y > 2.5 && y < 6.5 }))
	m = &grid.Mesh{Kind: grid.KindLattice, Lattice: l, Gaps: l.Gaps()}
	if !m.CutsBody() {
		t.Error("a gap of 16 places is a body")
	}
}

// TestGradient: exact for a linear field on every kind of mesh, of second order on
// a lattice with uneven lines for a parabola; the curl is made of two of them.
func TestGradient(t *testing.T) {
	lin := func(p grid.Point) float64 { return 3 - 2*p.X + 5*p.Y }
	lat, _ := grid.DetectLattice(points(graded(9, 0.1, 1.3), graded(7, 0.2, 0.8), nil))
	lp := points(graded(9, 0.1, 1.3), graded(7, 0.2, 0.8), nil)
	m := &grid.Mesh{Kind: grid.KindLattice, Points: lp, Lattice: lat}
	f := make([]float64, len(lp))
	q := make([]float64, len(lp))
	for i, p := range lp {
		f[i], q[i] = lin(p), p.X*p.X-3*p.Y*p.Y
	}
	dx, dy := m.Gradient(f)
	gx, gy := m.Gradient(q)
	for i, p := range lp {
		if math.Abs(dx[i]+2) > 1e-12 || math.Abs(dy[i]-5) > 1e-12 {
			t.Fatalf("linear at %v: (%g, %g)", p, dx[i], dy[i])
		}
		inner := p.X > 0 && p.X < lat.X[8] && p.Y > 0 && p.Y < lat.Y[6]
		if inner && (math.Abs(gx[i]-2*p.X) > 1e-12 || math.Abs(gy[i]+6*p.Y) > 1e-12) {
			t.Fatalf("parabola at %v: (%g, %g)", p, gx[i], gy[i])
		}
	}
	var tri []int32
	for j := range 6 {
		for i := range 8 {
			a := int32(j*9 + i)
			tri = append(tri, a, a+1, a+10, a, a+10, a+9)
		}
	}
	curl := m.Curl(f, q)
	for i, p := range lp {
		if curl[i] != gx[i]-dy[i] {
			t.Fatalf("curl at %v: %g", p, curl[i])
		}
	}
	m = &grid.Mesh{Kind: grid.KindTriangles, Points: lp, Triangles: tri}
	dx, dy = m.Gradient(f)
	gx, _ = m.Gradient(q)
	curl = m.Curl(f, q)
	for i := range lp {
		if math.Abs(dx[i]+2) > 1e-11 || math.Abs(dy[i]-5) > 1e-11 {
			t.Fatalf("linear on triangles at %v: (%g, %g)", lp[i], dx[i], dy[i])
		}
		if curl[i] != gx[i]-dy[i] {
			t.Fatalf("curl on triangles at %v: %g", lp[i], curl[i])
		}
	}
}

// TestLocator: a linear field is recovered anywhere in the mesh, nothing outside it
// or in a hole, and points on common borders are found.
func TestLocator(t *testing.T) {
	lin := func(p grid.Point) float64 { return 3 - 2*p.X + 5*p.Y }
	hole := func(x, y float64) bool { return math.Hypot(x-1, y-1) < 0.35 }
	lp := points(graded(21, 0.1, 1), graded(21, 0.1, 1), hole)
	lat, _ := grid.DetectLattice(lp)
	tri := &grid.Mesh{Kind: grid.KindTriangles, Points: []grid.Point{{X: 0, Y: 0}, {X: 2, Y: 0}, {X: 2, Y: 2}, {X: 0, Y: 2}, {X: 1, Y: 1}}, Triangles: []int32{0, 1, 4, 1, 2, 4, 2, 3, 4, 3, 0, 4}}
	for _, m := range []*grid.Mesh{{Kind: grid.KindLattice, Points: lp, Lattice: lat}, tri} {
		l := grid.NewLocator(m)
		r := rand.New(rand.NewPCG(5, 6))
		for k := range 2000 {
			p := grid.Point{X: 2 * r.Float64(), Y: 2 * r.Float64()}
			switch k % 4 {
			case 0: // on a line
				p.X = m.Points[r.IntN(len(m.Points))].X
			case 1: // on a sample
				p = m.Points[r.IntN(len(m.Points))]
			}
			shares, n, ok := l.At(p)
			deep := math.Hypot(p.X-1, p.Y-1) < 0.2
			if m.Lattice != nil && deep {
				if ok {
					t.Fatalf("%s: %v lies in the hole but is found", m.Kind, p)
				}
				continue
			}
			if !ok {
				if m.Lattice == nil || math.Hypot(p.X-1, p.Y-1) > 0.35+0.15 {
					t.Fatalf("%s: %v is not found", m.Kind, p)
				}
				continue
			}
			v, sum := 0.0, 0.0
			for _, s := range shares[:n] {
				v += s.Weight * lin(m.Points[s.Sample])
				sum += s.Weight
			}
			if math.Abs(v-lin(p)) > 1e-9 || math.Abs(sum-1) > 1e-12 {
				t.Fatalf("%s: at %v the field is %g, want %g; the shares sum to %g", m.Kind, p, v, lin(p), sum)
			}
		}
		for _, p := range []grid.Point{{X: -0.1, Y: 1}, {X: 1, Y: 2.1}, {X: math.NaN(), Y: 1}, {X: math.Inf(1), Y: 1}} {
			if _, _, ok := l.At(p); ok {
				t.Errorf("%s: %v is found", m.Kind, p)
			}
		}
	}
}

// TestNodeArea: a sample of a triangle mesh represents a third of what is round it,
// so that the shares add up to the area of the mesh.
func TestNodeArea(t *testing.T) {
	m := &grid.Mesh{Kind: grid.KindTriangles,
		Points:    []grid.Point{{}, {X: 3}, {X: 3, Y: 2}, {Y: 2}, {X: 9, Y: 9}},
		Triangles: []int32{0, 1, 2, 0, 2, 3}}
	if got, want := m.NodeArea(), []float64{2, 1, 2, 1, 0}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// Median is what sorting gives, for random, sorted and constant values, with ties and
// infinities; none gives NaN, and NaN among the values does not hang it.
func TestMedian(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := 1; n < 400; n++ {
		for _, of := range []func(i int) float64{
			func(int) float64 { return rng.NormFloat64() },
			func(i int) float64 { return float64(i) },
			func(i int) float64 { return float64(-i) },
			func(int) float64 { return float64(rng.IntN(3)) },
			func(int) float64 { return 7 },
			func(i int) float64 { return []float64{math.Inf(1), -1, math.Inf(-1)}[i%3] },
		} {
			a := make([]float64, n)
			for i := range a {
				a[i] = of(i)
			}
			b := slices.Clone(a)
			slices.Sort(b)
			if got := grid.Median(a); got != b[n/2] {
				t.Fatalf("%d values: %g, sorting gives %g", n, got, b[n/2])
			}
		}
		a := make([]float64, n)
		for i := range a {
			a[i] = float64(i)
			if rng.IntN(3) == 0 {
				a[i] = math.NaN()
			}
		}
		grid.Median(a)
	}
	if !math.IsNaN(grid.Median(nil)) {
		t.Error("no values have a median")
	}
}
