package delaunay

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"testing"
	"time"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

type openedMesh struct {
	*Kept
	Dropped, Holes int
}

// opened triangulates, drops the bridges and holds the result against laws that need
// no knowledge of the rule.
func opened(t *testing.T, name string, p []grid.Point, factor float64) openedMesh {
	t.Helper()
	tr, err := asGiven(p)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	k := openedMesh{Kept: DropBridges(tr, factor)}
	k.Dropped = len(k.Bridges) / 3
	for _, o := range k.Openings {
		if o.Closed {
			k.Holes++
		}
	}
	all, kept := meshArea(p, tr.Triangles), meshArea(p, k.Triangles)
	if d := math.Abs(all - kept - k.DroppedArea); d > 1e-12*all {
		t.Errorf("%s: kept %g and dropped %g do not make %g", name, kept, k.DroppedArea, all)
	}
	if len(k.Triangles)/3+k.Dropped != len(tr.Triangles)/3 {
		t.Errorf("%s: %d kept, %d dropped of %d", name, len(k.Triangles)/3, k.Dropped, len(tr.Triangles)/3)
	}
	if holes := holesByEuler(k.Triangles); holes != k.Holes {
		t.Errorf("%s: %d holes, Euler's formula says %d", name, k.Holes, holes)
	}
	return k
}

func meshArea(p []grid.Point, tri []int32) float64 {
	a := 0.0
	for k := 0; k < len(tri); k += 3 {
		a += grid.TriangleArea(p[tri[k]], p[tri[k+1]], p[tri[k+2]])
	}
	return a
}

// holesByEuler counts corners, edges and triangles: corners − edges + triangles is
// the number of connected pieces less the number of holes.
func holesByEuler(tri []int32) int {
	parent := map[int32]int32{}
	var find func(v int32) int32
	find = func(v int32) int32 {
		if parent[v] != v {
			parent[v] = find(parent[v])
		}
		return parent[v]
	}
	edges := map[[2]int32]bool{}
	for _, v := range tri {
		parent[v] = v
	}
	for k := range tri {
		a, b := tri[k], tri[following(k)]
		edges[[2]int32{min(a, b), max(a, b)}] = true
		parent[find(a)] = find(b)
	}
	pieces := 0
	for v := range parent {
		if find(v) == v {
			pieces++
		}
	}
	return pieces - (len(parent) - len(edges) + len(tri)/3)
}

var unitBox = grid.Box{Max: pt(1, 1)}

// jump is a refinement that changes by l levels at once, inside a circle or outside.
func jump(l int, inside bool) func(grid.Point) int {
	return func(p grid.Point) int {
		if (math.Hypot(p.X-0.41, p.Y-0.37) < 0.22) == inside {
			return l
		}
		return 0
	}
}

// polar has rings whose spacing grows with the radius, thirtyfold from the innermost
// to the outermost, with as many samples to a ring.
func polar() []grid.Point {
	const n = 60
	p := []grid.Point{pt(0, 0)}
	q := 1 + 2*math.Pi/n
	for r := 1 / (q - 1); r <= 30*1.05/(q-1); r *= q {
		p = append(p, gridtest.Disc(pt(0, 0), r).Ring(n)...)
	}
	// A disc of unit spacing closes the middle.
	for _, c := range gridtest.LatticePoints(25, 25, grid.Box{Min: pt(-12, -12), Max: pt(12, 12)}) {
		if r := math.Hypot(c.X, c.Y); r > 0 && r < 1/(q-1)-0.5 {
			p = append(p, c)
		}
	}
	return p
}

// TestNothingMissing: planes without gaps lose nothing, whatever their grading.
func TestNothingMissing(t *testing.T) {
	sets := map[string][]grid.Point{
		"lattice":         gridtest.LatticePoints(50, 40, unitBox),
		"stretched 1:10":  gridtest.LatticePoints(200, 20, unitBox),
		"graded 30":       gridtest.GradedPoints(60, 60, unitBox, 30, 0, 1),
		"graded 30 steep": gridtest.GradedPoints(14, 14, unitBox, 30, 0, 1),
		"graded 30 rings": polar(),
		"far":             gridtest.Moved(gridtest.LatticePoints(30, 30, unitBox), 1e6, 1e6),
		"copies":          slices.Concat(gridtest.LatticePoints(30, 30, unitBox), noisy(gridtest.LatticePoints(30, 30, unitBox), 1e-9, 1), noisy(gridtest.LatticePoints(30, 30, unitBox), 1e-9, 2), noisy(gridtest.LatticePoints(30, 30, unitBox), 1e-9, 3)),
	}
	for _, noise := range []float64{1e-13, 3e-16} {
		p := gridtest.LatticePoints(40, 40, unitBox)
		sets[fmt.Sprintf("copies %g", noise)] = append(p, noisy(p, noise, 4)...)
	}
	for seed := range uint64(5) {
		sets[fmt.Sprintf("jittered seed %d", seed)] = gridtest.JitteredPoints(120, 100, unitBox, 0.45, seed)
	}
	for l := 1; l <= 3; l++ {
		for _, inside := range []bool{true, false} {
			sets[fmt.Sprintf("centres 1:%d %v", 1<<l, inside)] = gridtest.OctreeCentres(30, 30, unitBox, l, jump(l, inside))
			if l < 3 {
				sets[fmt.Sprintf("nodes 1:%d %v", 1<<l, inside)] = gridtest.OctreeNodes(30, 30, unitBox, l, jump(l, inside))
			}
		}
	}
	for name, p := range sets {
		k := opened(t, name, p, 0)
		// Thin triangles on a jittered border may go; their area must be nothing.
		if k.Holes != 0 || k.DroppedArea > 2e-6*grid.Bounds(p).Area() {
			t.Errorf("%s: dropped %d triangles of area %g, %d holes", name, k.Dropped, k.DroppedArea, k.Holes)
		}
	}
}

// fitted has jittered samples of pitch h in the unit square and n samples on an
// ellipse, with none inside and none so near that the ring is not an edge.
func fitted(e gridtest.Ellipse, n int, h, amplitude float64, seed uint64) []grid.Point {
	m := int(math.Round(1 / h))
	clear := gridtest.Ellipse{Centre: e.Centre, RX: e.RX + 0.6*h, RY: e.RY + 0.6*h}
	return append(gridtest.Without(gridtest.JitteredPoints(m, m, unitBox, amplitude, seed), clear.Contains), e.Ring(n)...)
}

// TestRoundHole: the area that is dropped is the polygon through the samples on the
// rim, (n/2) ρ² sin(2π/n), exactly, for holes of 6 to 40 spacings.
func TestRoundHole(t *testing.T) {
	for _, d := range []float64{6, 12, 40} {
		for _, amplitude := range []float64{0, 0.2, 0.4} {
			for seed := range uint64(2) {
				const h = 0.0125
				e := gridtest.Disc(pt(0.5+0.3*h*float64(seed), 0.47), d*h/2)
				n := int(math.Round(math.Pi * d))
				k := opened(t, "round hole", fitted(e, n, h, amplitude, seed), 0)
				want := float64(n) / 2 * e.RX * e.RX * math.Sin(2*math.Pi/float64(n))
				if math.Abs(k.DroppedArea-want) > 1e-6 || k.Holes != 1 {
					t.Errorf("%g spacings, jitter %g, seed %d: dropped %g, want %g; %d holes", d, amplitude, seed, k.DroppedArea, want, k.Holes)
				}
			}
		}
	}
}

// TestSmallHole: holes that are merely left out of the samples, without samples on
// their rim, are found from four spacings on in lattices, from five in scatter, and
// the opening is the hole and at most half a spacing more, plus the triangles that a ragged rim leaves.
func TestSmallHole(t *testing.T) {
	const h = 0.02
	for seed := range uint64(4) {
		for _, d := range []float64{4, 5, 6, 8, 20} {
			for _, amplitude := range []float64{0, 0.1, 0.3, 0.45} {
				if d < 5 && amplitude > 0.1 {
					continue
				}
				e := gridtest.Disc(pt(0.5+0.1*h*float64(seed), 0.5+0.07*h*float64(seed)), d*h/2)
				k := opened(t, "hole", gridtest.Without(gridtest.JitteredPoints(50, 50, unitBox, amplitude, seed), e.Contains), 0)
				if k.Holes != 1 {
					t.Errorf("%g spacings, jitter %g, seed %d: %d holes", d, amplitude, seed, k.Holes)
				}
				if least, most := 0.5*e.Area(), e.Area()*math.Pow(1+1.8/d, 2); d >= 6 && !(least < k.DroppedArea && k.DroppedArea < most) {
					t.Errorf("%g spacings, jitter %g, seed %d: dropped %g, want %g … %g", d, amplitude, seed, k.DroppedArea, least, most)
				}
			}
		}
	}
}

// TestFloorBody: a body on the floor opens to the outside and is no hole; with
// samples along it the area is half the polygon's.
func TestFloorBody(t *testing.T) {
	for seed := range uint64(2) {
		for _, amplitude := range []float64{0, 0.3} {
			const h, n = 0.0125, 80
			e := gridtest.Ellipse{Centre: pt(0.5, 0), RX: 0.22, RY: 0.14}
			p := fitted(e, n, h, amplitude, seed)
			for i := range 81 { // samples on the floor
				p = append(p, pt(float64(i)*h, 0))
			}
			p = gridtest.Without(p, func(q grid.Point) bool {
				return q.Y < 0 || q.Y == 0 && math.Abs(q.X-0.5) < e.RX || q.Y < 1e-9 && q.Y != 0
			})
			p = append(p, pt(0.5-e.RX, 0), pt(0.5+e.RX, 0))
			k := opened(t, "floor", p, 0)
			want := float64(n) / 4 * e.RX * e.RY * math.Sin(2*math.Pi/float64(n))
			// Where the body meets the floor two triangles may be small enough to stay.
			if math.Abs(k.DroppedArea-want) > 3*h*h || k.Holes != 0 {
				t.Errorf("jitter %g, seed %d: dropped %g, want %g; %d holes", amplitude, seed, k.DroppedArea, want, k.Holes)
			}
		}
	}
	// The survey planes: the opening exceeds the half-ellipse by half a spacing along
	// its border (1.1 m long) or less, ragged rims apart.
	for _, kind := range gridtest.SurveyKinds {
		for _, turn := range []float64{0, 12.5} {
			p := rounded(gridtest.Rotated(gridtest.SurveyPoints(kind, 10000, 2), turn), 7)
			k := opened(t, kind, p, 0)
			h := math.Sqrt(gridtest.PlaneBox.Area() / float64(len(p)))
			over := k.DroppedArea - gridtest.PlaneBody.Area()/2
			if !(-0.2*h*1.1 < over && over < 0.8*h*1.1) || k.Holes != 0 {
				t.Errorf("%s turned %g°: dropped %g, %+.2f spacings along the body; %d holes", kind, turn, k.DroppedArea, over/(1.1*h), k.Holes)
			}
		}
	}
}

// TestFineRim: one side of the hole has a spacing four times finer than the other;
// the hole counts in coarse spacings and is opened on both sides.
func TestFineRim(t *testing.T) {
	for seed := range uint64(2) {
		for _, d := range []float64{5, 8, 12} {
			h := 1.0 / 50
			e := gridtest.Disc(pt(0.5+0.1*h*float64(seed), 0.5), d*h/2)
			p := gridtest.OctreeCentres(50, 50, unitBox, 2, func(p grid.Point) int {
				if p.X < 0.5 {
					return 2
				}
				return 0
			})
			k := opened(t, "fine rim", gridtest.Without(p, e.Contains), 0)
			if k.Holes != 1 || !(0.85*e.Area() < k.DroppedArea && k.DroppedArea < e.Area()*math.Pow(1+1.4/d, 2)) {
				t.Errorf("%g spacings, seed %d: dropped %g, hole %g; %d holes", d, seed, k.DroppedArea, e.Area(), k.Holes)
			}
		}
	}
}

// TestCoarseAbove: a body on the floor between fine cells with cells four times as wide above it, less than
// three of them in its width, is opened as far up as samples are missing.
func TestCoarseAbove(t *testing.T) {
	body := grid.Box{Min: pt(-0.25, -1), Max: pt(0.25, 0.35)}
	for n := 10; n <= 12; n++ {
		for seed := range 4 {
			root := 2.2 / float64(n)
			x := -1.1 + root/4*float64(seed)/4
			p := gridtest.OctreeNodes(n, n/2, grid.Box{Min: pt(x, 0), Max: pt(x+2.2, root*float64(n/2))}, 2, func(p grid.Point) int {
				switch r := math.Hypot(math.Abs(p.X)-0.45, p.Y-0.16); {
				case r < 0.27:
					return 2
				case r < 0.42:
					return 1
				}
				return 0
			})
			k := opened(t, "coarse above", gridtest.Without(p, body.Contains), 0)
			// Fine cells may end a cell beside the body, coarse ones half of one above it.
			if least, most := 0.8*0.5*0.35, (0.5+root/2)*(0.35+root/2); !(least < k.DroppedArea && k.DroppedArea < most) {
				t.Errorf("cells of %.3g, %d: dropped %.3g, want %.3g to %.3g", root, seed, k.DroppedArea, least, most)
			}
		}
	}
}

// TestGradedHole: holes of equal size in spacings, where spacings differ 30:1.
func TestGradedHole(t *testing.T) {
	p := gridtest.GradedPoints(80, 80, unitBox, 30, 0, 1)
	var want float64
	for _, i := range []int{12, 40, 66} {
		// Take 5 × 5 samples out: the gap is 6 × 6 intervals.
		var lo, hi grid.Point
		lo, hi = p[i*80+i], p[(i+6)*80+i+6]
		want += (hi.X - lo.X) * (hi.Y - lo.Y)
	}
	q := []grid.Point{}
	for k, c := range p {
		x, y := k%80, k/80
		cut := false
		for _, i := range []int{12, 40, 66} {
			cut = cut || i < x && x < i+6 && i < y && y < i+6
		}
		if !cut {
			q = append(q, c)
		}
	}
	k := opened(t, "graded", q, 0)
	// Half a cell in each of four corners looks like any other: 2 of 36.
	want *= 34.0 / 36
	if k.Holes != 3 || math.Abs(k.DroppedArea-want) > 0.005*want {
		t.Errorf("dropped %g, want %g; %d holes, want 3", k.DroppedArea, want, k.Holes)
	}
}

// TestConcaveRim: a window without its upper right quarter; the hull spans ⅛.
func TestConcaveRim(t *testing.T) {
	p := gridtest.Without(gridtest.LatticePoints(41, 41, unitBox), func(q grid.Point) bool { return q.X > 0.5 && q.Y > 0.5 })
	for _, turn := range []float64{0, 20} {
		k := opened(t, "concave", rounded(gridtest.Rotated(p, turn), 7), 0)
		// Half a cell in the inner corner looks like any other.
		if math.Abs(k.DroppedArea-0.125+0.025*0.025/2) > 1e-6 || k.Holes != 0 {
			t.Errorf("turned %g°: dropped %g, want 0.125; %d holes", turn, k.DroppedArea, k.Holes)
		}
	}
}

// TestThin: seven digits on a turned window leave slivers on the hull, and they go.
func TestThin(t *testing.T) {
	for _, turn := range []float64{5, 12.5, 33} {
		p := rounded(gridtest.Rotated(gridtest.LatticePoints(81, 61, unitBox), turn), 7)
		tr := must(t, p)
		k := opened(t, "thin", p, 0)
		if k.Dropped == 0 || k.Holes != 0 || k.DroppedArea > 1e-5 {
			t.Errorf("turned %g°: dropped %d triangles of area %g, %d holes", turn, k.Dropped, k.DroppedArea, k.Holes)
		}
		if got, want := len(k.Triangles)/3, 2*80*60; got != want {
			t.Errorf("turned %g°: %d of %d triangles kept, the lattice has %d", turn, got, len(tr.Triangles)/3, want)
		}
	}
}

// TestFactor: the rule follows the factor, and its special values do what is said.
func TestFactor(t *testing.T) {
	const h = 0.02
	e := gridtest.Disc(pt(0.5, 0.5), 5*h)
	p := gridtest.Without(gridtest.LatticePoints(51, 51, unitBox), e.Contains)
	last := math.Inf(1)
	for _, f := range []float64{2, 3, 4, 6, 20, math.Inf(1)} {
		k := opened(t, "factor", p, f)
		if k.DroppedArea > last {
			t.Errorf("factor %g drops %g, a smaller one %g", f, k.DroppedArea, last)
		}
		last = k.DroppedArea
	}
	if last != 0 {
		t.Errorf("an infinite factor drops %g", last)
	}
	want := opened(t, "factor", p, DefaultGap)
	for _, f := range []float64{0, -1, math.NaN()} {
		if k := opened(t, "factor", p, f); !slices.Equal(k.Triangles, want.Triangles) {
			t.Errorf("factor %g is not taken as the default", f)
		}
	}
}

// TestInvariance: scale by a power of two and processors
// change nothing; the hole stays.
func TestInvariance(t *testing.T) {
	p := gridtest.SurveyPoints("scatter", 8000, 3)
	tr := must(t, p)
	want := DropBridges(tr, 0)
	small := *tr
	small.Points = slices.Clone(p)
	for i := range p {
		small.Points[i].X *= 0x1p-30
		small.Points[i].Y *= 0x1p-30
	}
	if k := DropBridges(&small, 0); !slices.Equal(k.Triangles, want.Triangles) {
		t.Error("another unit of length gives another result")
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if k := DropBridges(tr, 0); !slices.Equal(k.Triangles, want.Triangles) {
		t.Error("one processor gives another result")
	}
}

// TestSuspects: the quick look misses no triangle that the rule would drop.
func TestSuspects(t *testing.T) {
	for seed := range uint64(12) {
		for _, d := range []float64{3, 4, 6} {
			for _, a := range []float64{0, 0.1, 0.3, 0.45} {
				e := gridtest.Disc(pt(0.5+0.003*float64(seed%7), 0.5+0.002*float64(seed%11)), d/2/30)
				p := gridtest.Without(gridtest.JitteredPoints(30, 30, unitBox, a, seed), e.Contains)
				g := newGaps(must(t, p))
				g.open(g.suspects(DefaultGap), DefaultGap)
				for i := range g.dropped {
					if l := DefaultGap * g.local(i); !g.dropped[i] && float64(g.size[i]) > l && g.gap(i) > l {
						t.Fatalf("%g spacings, jitter %g, seed %d: triangle %d has %g of %g and was not looked at", d, a, seed, i, g.size[i], l)
					}
				}
			}
		}
	}
}

// Samples on a curve make triangles that flow along all of it. Walking each flow to its
// end took 10 s for 10,000 samples of a parabola and four times that for twice as many;
// walked once, they take milliseconds.
func TestCurves(t *testing.T) {
	const n = 15_000
	for name, at := range map[string]func(u float64) grid.Point{
		"parabola": func(u float64) grid.Point { return grid.Point{X: u, Y: u * u} },
		"sine":     func(u float64) grid.Point { return grid.Point{X: u, Y: 0.1 * math.Sin(10*u)} },
		"spiral":   func(u float64) grid.Point { return grid.Point{X: (u + 2) * math.Cos(9*u), Y: (u + 2) * math.Sin(9*u)} },
		"circle":   func(u float64) grid.Point { return grid.Point{X: math.Cos(math.Pi * u), Y: math.Sin(math.Pi * u)} },
		"cross": func(u float64) grid.Point {
			if u < 0 {
				return grid.Point{X: 4*u + 2.1, Y: 0.3 * u}
			}
			return grid.Point{X: 0.0003 * u, Y: 4*u - 2.1}
		},
	} {
		points := make([]grid.Point, n)
		for i := range points {
			points[i] = at(2*float64(i)/n - 1)
		}
		start := time.Now()
		tr, err := Triangulate(points)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		DropBridges(tr, 0)
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%s: %d samples took %v", name, n, took)
		} else {
			t.Log(name, took)
		}
	}
}
