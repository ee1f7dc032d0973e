package delaunay

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

func pt(x, y float64) grid.Point { return grid.Point{X: x, Y: y} }

// noisy returns the points with coordinates moved by up to amplitude.
func noisy(points []grid.Point, amplitude float64, seed uint64) []grid.Point {
	rng := rand.New(rand.NewPCG(seed, 0x6e))
	off := func() float64 { return amplitude * (2*rng.Float64() - 1) }
	p := slices.Clone(points)
	for i, q := range p {
		p[i] = pt(q.X+off(), q.Y+off())
	}
	return p
}

// rounded returns the points as they come back from a file with the given number of
// significant decimal digits, at least one.
func rounded(points []grid.Point, digits int) []grid.Point {
	round := func(x float64) float64 {
		y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', digits-1, 64), 64)
		if err != nil {
			panic(err)
		}
		return y
	}
	p := slices.Clone(points)
	for i, q := range p {
		p[i] = pt(round(q.X), round(q.Y))
	}
	return p
}

// asGiven triangulates with the indices of the given points.
func asGiven(points []grid.Point) (*Triangulation, error) {
	tr, err := Triangulate(points)
	if err != nil {
		return nil, err
	}
	for _, list := range [][]int32{tr.Triangles, tr.Hull} {
		for k, v := range list {
			list[k] = tr.Order[v]
		}
	}
	tr.Points = points
	return tr, nil
}

// must is asGiven, validated.
func must(t *testing.T, points []grid.Point) *Triangulation {
	t.Helper()
	tr, err := asGiven(points)
	if err != nil {
		t.Fatal(err)
	}
	if err := Validate(points, tr); err != nil {
		t.Fatal(err)
	}
	return tr
}

// TestSweep triangulates every kind of plane at many sizes, straight and rotated,
// with seven digits, and holds each against the definition.
func TestSweep(t *testing.T) {
	sizes := []int{100, 200, 400, 800, 1500, 2500, 4000, 6000}
	if gridtest.Large() {
		sizes = []int{20_000, 50_000, 100_000, 200_000, 300_000, 400_000, 600_000, 800_000}
	}
	for i, n := range sizes {
		for _, kind := range gridtest.SurveyKinds {
			for _, turn := range []float64{0, 12.5} {
				p := rounded(gridtest.Rotated(gridtest.SurveyPoints(kind, n, uint64(i)), turn), 7)
				tr, err := asGiven(p)
				if err == nil {
					err = Validate(p, tr)
				}
				if err != nil {
					t.Errorf("%s, n=%d, seed %d, turned %g°: %v", kind, n, i, turn, err)
				}
			}
		}
	}
}

// nasty has sets that break triangulators which decide in floating point.
func nasty() map[string][]grid.Point {
	box := grid.Box{Max: pt(1, 1)}
	lattice := gridtest.LatticePoints(23, 17, grid.Box{Max: pt(22, 16)})
	level := func(p grid.Point) int {
		if math.Hypot(p.X-0.4, p.Y-0.3) < 0.2 {
			return 4
		}
		return 0
	}
	octree := gridtest.OctreeCentres(10, 10, box, 4, level)
	nodes := gridtest.OctreeNodes(10, 10, box, 4, level)
	circle := gridtest.Disc(pt(0, 0), 1).Ring(360)
	var integers, parabola, cross, fan []grid.Point
	for x := -65; x <= 65; x++ {
		for y := -65; y <= 65; y++ {
			if x*x+y*y == 65*65 {
				integers = append(integers, pt(float64(x), float64(y)))
			}
		}
	}
	for i := range 200 {
		x := float64(i)
		parabola = append(parabola, pt(x, x*x))
		cross = append(cross, pt(0.1*x, 0.3*x), pt(20-0.1*x, 0.3*x))
		fan = append(fan, pt(0.1*x, 0.3*x))
	}
	fan = append(fan, pt(7, 3))
	wide := []grid.Point{}
	rng := rand.New(rand.NewPCG(3, 3))
	for range 300 {
		wide = append(wide, pt(rng.NormFloat64()*math.Pow(10, float64(rng.IntN(20)-10)), rng.NormFloat64()*math.Pow(10, float64(rng.IntN(20)-10))))
	}
	return map[string][]grid.Point{
		"triangle":          {pt(0, 0), pt(1, 0), pt(0, 1)},
		"clockwise":         {pt(0, 0), pt(0, 1), pt(1, 0)},
		"square":            {pt(0, 0), pt(1, 0), pt(1, 1), pt(0, 1)},
		"centre":            {pt(0, 0), pt(3, 0), pt(0, 3), pt(1, 1)},
		"lattice":           lattice,
		"lattice 0.1":       gridtest.LatticePoints(31, 31, grid.Box{Max: pt(3, 3)}),
		"lattice noise":     noisy(lattice, 1e-12, 1),
		"lattice far":       gridtest.Moved(gridtest.LatticePoints(21, 21, grid.Box{Max: pt(0.02, 0.02)}), 1e6, -1e6),
		"lattice noise far": noisy(gridtest.Moved(lattice, 1e6, 1e6), 1e-9, 1),
		"lattice turned":    gridtest.Rotated(lattice, 30),
		"octree":            octree,
		"octree turned 7":   rounded(gridtest.Rotated(octree, 12.5), 7),
		"hanging":           nodes,
		"hanging turned 7":  rounded(gridtest.Rotated(nodes, 33), 7),
		"circle":            circle,
		"circle centre":     append(slices.Clone(circle), pt(0, 0)),
		"circle integers":   integers,
		"parabola":          parabola,
		"cross":             cross,
		"fan":               fan,
		"clustered":         gridtest.ClusteredPoints(2000, box, 1),
		"graded":            gridtest.GradedPoints(40, 40, box, 1e6, 0, 1),
		"scales":            wide,
		"tiny":              gridtest.LatticePoints(9, 9, grid.Box{Max: pt(1e-200, 1e-200)}),
		"huge":              gridtest.LatticePoints(9, 9, grid.Box{Max: pt(1e200, 1e200)}),
		"subnormal":         gridtest.LatticePoints(9, 9, grid.Box{Max: pt(0x1p-1060, 0x1p-1060)}),
		"repeated":          append(slices.Clone(lattice), lattice...),
		"column":            gridtest.LatticePoints(2, 300, grid.Box{Max: pt(1, 1e-3)}),
	}
}

// TestSorted: the sets that break others are triangulated, the given points are left alone,
// and the sorted samples are the given ones in an order that, like the mesh, depends on the
// positions alone.
func TestSorted(t *testing.T) {
	sets := nasty()
	for _, kind := range gridtest.SurveyKinds {
		sets[kind] = gridtest.SurveyPoints(kind, 2000, 5)
	}
	for name, p := range sets {
		t.Run(name, func(t *testing.T) {
			var first *Triangulation
			for seed := range uint64(4) {
				q := p
				if seed > 0 {
					q = gridtest.Shuffled(p, seed)
				}
				was := slices.Clone(q)
				must(t, q)
				tr, err := Triangulate(q)
				if err != nil || !slices.Equal(q, was) {
					t.Fatalf("the points were changed, or %v", err)
				}
				if len(tr.Points) != len(tr.Order) || tr.First == nil && len(tr.Points) != len(q) {
					t.Fatalf("%d points and %d places in order of %d", len(tr.Points), len(tr.Order), len(q))
				}
				for i, k := range tr.Order {
					if tr.Points[i] != q[k] {
						t.Fatalf("point %d is %v, its sample %d is at %v", i, tr.Points[i], k, q[k])
					}
				}
				if first == nil {
					first = tr
				}
				if !slices.Equal(tr.Points, first.Points) || !slices.Equal(tr.Triangles, first.Triangles) {
					t.Error("another order of the samples gives another mesh")
				}
			}
		})
	}
}

// TestSortedNear: on a scattered plane the corners of a triangle stand near each
// other in the list, which is what sorting is for. In a list in no order two samples
// are a third of its length apart on average.
func TestSortedNear(t *testing.T) {
	tr, err := Triangulate(gridtest.JitteredPoints(100, 100, unitBox, 0.4, 2))
	if err != nil {
		t.Fatal(err)
	}
	near := 0
	for k := range tr.Triangles {
		if d := int(tr.Triangles[k]) - int(tr.Triangles[following(k)]); -64 < d && d < 64 {
			near++
		}
	}
	if part := float64(near) / float64(len(tr.Triangles)); part < 0.8 {
		t.Errorf("%.2f of the edges join samples within 64 places of the list, want 0.8", part)
	}
}

// TestBruteForce compares with the definition itself: on points in general position
// a triangle is in the list if and only if its circle is empty.
func TestBruteForce(t *testing.T) {
	for seed := range uint64(20) {
		p := gridtest.JitteredPoints(5, 4, grid.Box{Max: pt(1, 1)}, 0.7, seed)
		tr := must(t, p)
		got := map[[3]int32]bool{}
		for k := 0; k < len(tr.Triangles); k += 3 {
			c := [3]int32(tr.Triangles[k : k+3])
			slices.Sort(c[:])
			got[c] = true
		}
		count := 0
		n := int32(len(p))
		for a := range n {
			for b := a + 1; b < n; b++ {
				for c := b + 1; c < n; c++ {
					if empty(p, a, b, c) {
						count++
						if !got[[3]int32{a, b, c}] {
							t.Fatalf("seed %d: triangle %d %d %d has an empty circle and is not in the list", seed, a, b, c)
						}
					}
				}
			}
		}
		if count != len(got) {
			t.Fatalf("seed %d: %d triangles, %d empty circles", seed, len(got), count)
		}
	}
}

// empty reports whether the circle through a, b, c, found by Cramer's rule, is empty.
func empty(p []grid.Point, a, b, c int32) bool {
	bx, by, cx, cy := p[b].X-p[a].X, p[b].Y-p[a].Y, p[c].X-p[a].X, p[c].Y-p[a].Y
	d := 2 * (bx*cy - by*cx)
	ux := (cy*(bx*bx+by*by) - by*(cx*cx+cy*cy)) / d
	uy := (bx*(cx*cx+cy*cy) - cx*(bx*bx+by*by)) / d
	for i, q := range p {
		if i := int32(i); i != a && i != b && i != c && math.Hypot(q.X-p[a].X-ux, q.Y-p[a].Y-uy) < math.Hypot(ux, uy) {
			return false
		}
	}
	return true
}

// TestWorkers: the result is the same, order included, for any number of processors.
func TestWorkers(t *testing.T) {
	for _, kind := range gridtest.SurveyKinds {
		p := gridtest.SurveyPoints(kind, 20000, 5)
		p = append(p, p[:100]...)
		want := must(t, p)
		for _, w := range []int{1, 2, 3, 8} {
			was := runtime.GOMAXPROCS(w)
			got, err := asGiven(p)
			runtime.GOMAXPROCS(was)
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("%s: %d processors give another result", kind, w)
			}
		}
	}
}

func TestDuplicates(t *testing.T) {
	p := gridtest.JitteredPoints(30, 30, grid.Box{Max: pt(1, 1)}, 0.4, 2)
	n := len(p)
	p = append(p, p[10], p[20], p[10], pt(0.5, 0))
	p = append(p, pt(0.5, math.Copysign(0, -1)))
	tr := must(t, p)
	for i, want := range map[int]int{10: 10, n: 10, n + 1: 20, n + 2: 10, n + 3: n + 3, n + 4: n + 3} {
		if tr.First[i] != int32(want) {
			t.Errorf("sample %d repeats %d, want %d", i, tr.First[i], want)
		}
	}
	if tr := must(t, p[:n]); tr.First != nil {
		t.Error("duplicates without any")
	}
}

func TestErrors(t *testing.T) {
	line := func(n int, dx, dy float64) []grid.Point {
		p := make([]grid.Point, n)
		for i := range p {
			p[i] = pt(dx*float64(i), dy*float64(i))
		}
		return p
	}
	tiny := []grid.Point{pt(0, 0), pt(1, 0), pt(0, 1), pt(0x1p-1070, 0)}
	for name, c := range map[string]struct {
		p    []grid.Point
		text string
	}{
		"none":        {nil, "0 distinct"},
		"two":         {line(2, 1, 1), "2 distinct"},
		"same":        {line(9, 0, 0), "1 distinct"},
		"two of four": {append(line(2, 1, 1), line(2, 1, 1)...), "2 distinct"},
		"line":        {line(100, 1, 3), "one line"},
		"0.1 0.3":     {line(1000, 0.1, 0.3), "one line"},
		"0.7 far":     {gridtest.Moved(line(1000, 0.7e-3, 0.3e-3), 1e6, 3e5), "one line"},
		"column":      {line(100, 0, 0.3), "one line"},
		"nan":         {append(line(3, 1, 2), pt(math.NaN(), 1)), "sample 3"},
		"inf":         {append([]grid.Point{pt(1, math.Inf(-1))}, line(3, 1, 2)...), "-Inf"},
		"range":       {gridtest.Moved(tiny, 0, 0), ""},
		"range up":    {append(tiny, pt(0x1p600, 0)), "one line"},
	} {
		_, err := Triangulate(c.p)
		if c.text == "" && err != nil || c.text != "" && (err == nil || !strings.Contains(err.Error(), c.text)) {
			t.Errorf("%s: error %v, want %q", name, err, c.text)
		}
	}
	// The tolerance is rounding, not judgement: a line bent by 1e-13 is a mesh.
	p := append(line(100, 1, 3), pt(50, 150+1e-11))
	if _, err := Triangulate(p); err != nil {
		t.Errorf("bent line: %v", err)
	}
}

// TestValidate breaks a good triangulation in every way that has a rule.
func TestValidate(t *testing.T) {
	p := gridtest.JitteredPoints(9, 9, grid.Box{Max: pt(1, 1)}, 0.3, 4)
	p = append(p, p[7])
	for _, c := range []struct {
		rule  Rule
		spoil func(p []grid.Point, t *Triangulation)
	}{
		{RuleIndices, func(_ []grid.Point, t *Triangulation) { t.Triangles[5] = 82 }},
		{RuleIndices, func(_ []grid.Point, t *Triangulation) { t.Triangles = t.Triangles[1:] }},
		{RuleIndices, func(_ []grid.Point, t *Triangulation) { t.Hull[0] = -1 }},
		{RuleDuplicates, func(_ []grid.Point, t *Triangulation) { t.First[81] = 8 }},
		{RuleOrientation, func(_ []grid.Point, t *Triangulation) {
			t.Triangles[0], t.Triangles[1] = t.Triangles[1], t.Triangles[0]
		}},
		{RuleUsed, func(_ []grid.Point, t *Triangulation) { t.First = nil }},
		{RuleEdges, func(_ []grid.Point, t *Triangulation) { t.Triangles = append(t.Triangles, t.Triangles[:3]...) }},
		{RuleHull, func(_ []grid.Point, t *Triangulation) { t.Triangles = t.Triangles[3:] }},
		{RuleHull, func(_ []grid.Point, t *Triangulation) { t.Hull = t.Hull[1:] }},
		{RuleHull, func(_ []grid.Point, t *Triangulation) { slices.Reverse(t.Hull) }},
		{RuleCircle, func(p []grid.Point, t *Triangulation) {
			// Turn the diagonal of a convex quadrilateral.
			for k, s := range t.Adjacent {
				if s < 0 {
					continue
				}
				a, b := t.Triangles[k], t.Triangles[following(k)]
				c, d := t.Triangles[following(following(k))], int32(0)
				for _, d = range t.Triangles[3*s : 3*s+3] {
					if d != a && d != b {
						break
					}
				}
				if grid.TriangleArea(p[a], p[d], p[c]) > 0 && grid.TriangleArea(p[b], p[c], p[d]) > 0 {
					copy(t.Triangles[k/3*3:], []int32{a, d, c})
					copy(t.Triangles[3*s:], []int32{b, c, d})
					return
				}
			}
		}},
		{RuleAdjacent, func(_ []grid.Point, t *Triangulation) { t.Adjacent[4]++ }},
	} {
		tr := must(t, p)
		c.spoil(p, tr)
		if err := Validate(p, tr); !errors.Is(err, c.rule) {
			t.Errorf("%v, want a breach of the rule that %s", err, c.rule)
		}
	}

	// A dent in the hull, closed up consistently.
	q := []grid.Point{pt(0, 0), pt(2, 0), pt(2, 2), pt(1, 0.5)}
	if err := Validate(q, &Triangulation{Triangles: []int32{0, 1, 3, 1, 2, 3}, Hull: []int32{0, 1, 2, 3}}); !errors.Is(err, RuleConvex) {
		t.Errorf("%v, want a breach of the rule that %s", err, RuleConvex)
	}
}

func FuzzTriangulate(f *testing.F) {
	f.Add([]byte{0, 0, 1, 0, 0, 1, 1, 1}, uint8(0))
	f.Add([]byte{0, 0, 1, 3, 2, 6, 3, 9, 4, 4}, uint8(1))
	f.Add([]byte("co-circular and repeated: aabbccaabbcc"), uint8(2))
	f.Fuzz(func(t *testing.T, b []byte, mode uint8) {
		if len(b) > 400 {
			return
		}
		var p []grid.Point
		for i := 0; i+1 < len(b); i += 2 {
			x, y := float64(b[i]%32), float64(b[i+1]%32)
			switch mode % 4 {
			case 1: // not representable
				x, y = x*0.1, y*0.3
			case 2: // a few units in the last place
				x, y = 1+x*0x1p-52, 1+y*0x1p-52
			case 3: // all scales
				x, y = math.Ldexp(1, int(b[i])), math.Ldexp(1, int(b[i+1]))
			}
			p = append(p, pt(x, y))
		}
		tr, err := asGiven(p)
		if err != nil {
			if !strings.Contains(err.Error(), "distinct") && !strings.Contains(err.Error(), "one line") {
				t.Fatal(err)
			}
			return
		}
		if err := Validate(p, tr); err != nil {
			t.Fatal(err)
		}
	})
}
