package gridtest

import (
	"math"
	"slices"
	"testing"

	"wakeledger/grid"
)

// TestSurveyPoints holds the generators against what their names promise.
func TestSurveyPoints(t *testing.T) {
	for _, kind := range SurveyKinds {
		for _, n := range []int{1000, 20000} {
			p := SurveyPoints(kind, n, 1)
			if math.Abs(float64(len(p))/float64(n)-1) > 0.12 {
				t.Errorf("%s: %d points for %d", kind, len(p), n)
			}
			if !slices.Equal(p, SurveyPoints(kind, n, 1)) {
				t.Errorf("%s: two calls differ", kind)
			}
			seen := map[grid.Point]bool{}
			for _, q := range p {
				if !PlaneBox.Contains(q) || PlaneBody.Contains(q) || seen[q] {
					t.Fatalf("%s: point %v is outside, in the body or there twice", kind, q)
				}
				seen[q] = true
			}
		}
	}
}

// TestOctree: the squares of the leaves fill the box, and each has its corners
// among the nodes.
func TestOctree(t *testing.T) {
	box := grid.Box{Max: grid.Point{X: 4, Y: 3}}
	level := func(p grid.Point) int {
		if p.X+p.Y < 3 {
			return 2
		}
		return 0
	}
	area, count := 0.0, 0
	leaves(4, 3, box, level, func(_, _, l int) { area += math.Ldexp(1, -2*l); count++ })
	if area != box.Area() {
		t.Errorf("leaves cover %g of %g", area, box.Area())
	}
	if c := OctreeCentres(4, 3, box, 2, level); len(c) != count {
		t.Errorf("%d centres of %d leaves", len(c), count)
	}
	nodes := map[grid.Point]bool{}
	for _, p := range OctreeNodes(4, 3, box, 2, level) {
		if nodes[p] {
			t.Fatalf("node %v is there twice", p)
		}
		nodes[p] = true
	}
	leaves(4, 3, box, level, func(i, j, l int) {
		h := math.Ldexp(1, -l)
		for k := range 4 {
			if p := (grid.Point{X: float64(i+k&1) * h, Y: float64(j+k>>1) * h}); !nodes[p] {
				t.Errorf("corner %v is no node", p)
			}
		}
	})
}

func TestGraded(t *testing.T) {
	p := GradedPoints(20, 20, PlaneBox, 30, 0, 1)
	first, last := p[1].X-p[0].X, p[19].X-p[18].X
	if math.Abs(last/first-30) > 1e-9 {
		t.Errorf("spacing grows from %g to %g, by %g, want 30", first, last, last/first)
	}
	if d := math.Abs(p[19].X - PlaneBox.Max.X); d > 1e-12 {
		t.Errorf("last line is off the border by %g", d)
	}
}

func TestRounded(t *testing.T) {
	p := Rounded([]grid.Point{{X: 0.12345678, Y: -123.45678}}, 7)
	if want := (grid.Point{X: 0.1234568, Y: -123.4568}); p[0] != want {
		t.Errorf("got %v, want %v", p[0], want)
	}
}
