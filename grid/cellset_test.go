package grid_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// set makes a CellSet of polygons with corners of their own.
func set(polygons ...[]grid.Point) *grid.CellSet {
	c := &grid.CellSet{Start: []int32{0}}
	for _, p := range polygons {
		for _, q := range p {
			c.Index = append(c.Index, int32(len(c.Corners)))
			c.Corners = append(c.Corners, q)
		}
		c.Start = append(c.Start, int32(len(c.Index)))
	}
	return c
}

func rect(x0, x1, y0, y1 float64) []grid.Point {
	return []grid.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

// Polygons fall into triangles of the same area, all anticlockwise, from any first
// corner; those that cross themselves do not.
func TestPolygonTriangles(t *testing.T) {
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, 1))
	shapes := map[string][]grid.Point{
		"square":       rect(0, 1, 0, 1),
		"hanging node": {{X: 0}, {X: 0.5}, {X: 1}, {X: 1, Y: 1}, {Y: 1}},
		"L":            {{X: 0}, {X: 2}, {X: 2, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: 2}, {Y: 2}},
		"comb":         {{X: 0}, {X: 5}, {X: 5, Y: 3}, {X: 4, Y: 0.1}, {X: 3, Y: 3}, {X: 2, Y: 0.1}, {X: 1, Y: 3}},
		"disc":         gridtest.Disc(grid.Point{X: 3e5, Y: -7e5}, 0.5).Ring(300),
	}
	star := make([]grid.Point, 40)
	for i := range star {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 40)
		r := 0.2 + rng.Float64()
		star[i] = grid.Point{X: r * c, Y: r * s}
	}
	shapes["star"] = star
	for name, p := range shapes {
		for first := range p {
			c := set(append(append([]grid.Point{}, p[first:]...), p[:first]...))
			tri, ok := c.AppendTriangles(nil, 0)
			if !ok {
				t.Errorf("%s from corner %d: no triangles (seed %d)", name, first, seed)
				continue
			}
			sum := 0.0
			for k := 0; k < len(tri); k += 3 {
				a := grid.TriangleArea(c.Corners[tri[k]], c.Corners[tri[k+1]], c.Corners[tri[k+2]])
				if !(a > 0) {
					t.Errorf("%s: a triangle of area %g", name, a)
				}
				sum += a
			}
			if want := c.Area(0); !(math.Abs(sum-want) < 1e-9*want) {
				t.Errorf("%s from corner %d: %g in triangles, %g in all", name, first, sum, want)
			}
			c.Turn(0)
			if c.Area(0) > 0 || c.Polygon(0)[0] != 0 {
				t.Errorf("%s turned has area %g", name, c.Area(0))
			}
		}
	}
	for name, p := range map[string][]grid.Point{
		"bow tie":   {{X: 0}, {X: 2, Y: 1.2}, {X: 2}, {Y: 1}},
		"pentagram": {{X: 0, Y: 1}, {X: -0.59, Y: -0.81}, {X: 0.95, Y: 0.31}, {X: -0.95, Y: 0.31}, {X: 0.59, Y: -0.81}},
	} {
		c := set(p)
		if c.Area(0) < 0 {
			c.Turn(0)
		}
		if tri, ok := c.AppendTriangles([]int32{7}, 0); ok || len(tri) != 1 {
			t.Errorf("the %s falls into %d triangles", name, len(tri)/3)
		}
	}
	for _, p := range [][]grid.Point{{{X: 1}, {X: 2}, {X: 3}}, {{X: 1}, {X: 2}}, {{X: 1, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: 1}}} {
		if !set(p).Degenerate(0) {
			t.Errorf("%v has an area", p)
		}
	}
	if c := set(rect(1, 3, 5, 9)).Centroid(0); c != (grid.Point{X: 2, Y: 7}) {
		t.Errorf("centroid %v", c)
	}
}

// A floor of polygons with a hole, a notch on the lower border and one polygon
// twice, over-laid by a coarse one.
func TestCover(t *testing.T) {
	const n = 40
	h := 2.0 / n
	var polys [][]grid.Point
	for j := range n / 2 {
		for i := range n {
			x, y := -1+h*float64(i), h*float64(j)
			hole := x >= 0.299 && x < 0.599 && y >= 0.299 && y < 0.499
			notch := x >= -0.501 && x < -0.201 && y < 0.199
			if !hole && !notch {
				polys = append(polys, rect(x, x+h, y, y+h))
			}
		}
	}
	c := set(polys...)
	v := c.Cover(h)
	if len(v.Gaps) != 2 || v.Overlap != 0 {
		t.Fatalf("gaps %v, overlap %g", v.Gaps, v.Overlap)
	}
	for k, want := range []struct {
		area   float64
		bottom bool
	}{{0.3 * 0.2, true}, {0.3 * 0.2, false}} {
		g := v.Gaps[k]
		if math.Abs(g.Area-want.area) > 1e-3 || g.Bottom != want.bottom || g.Left || g.Right || g.Top {
			t.Errorf("gap %+v, want %+v", g, want)
		}
	}
	if any := c.Covered(); count(any) != 0 {
		t.Errorf("%d covered", count(any))
	}
	// A patch of 4 × 4 cells again, with corners half a cell off: 16 h² more.
	for j := range 4 {
		for i := range 4 {
			x, y := -0.9+h*(float64(i)+0.5), 0.5+h*(float64(j)+0.5)
			polys = append(polys, rect(x, x+h, y, y+h))
		}
	}
	c = set(polys...)
	if v := c.Cover(h); math.Abs(v.Overlap-16*h*h) > 1e-9 {
		t.Errorf("overlap %g, want %g", v.Overlap, 16*h*h)
	}
	marked := c.Covered()
	if count(marked) != 16 || marked[0] {
		t.Errorf("%d covered", count(marked))
	}
	for i := range marked {
		marked[i] = !marked[i]
	}
	c.Keep(marked)
	if v := c.Cover(h); v.Overlap != 0 || len(v.Gaps) != 2 || c.Len() != len(polys)-16 {
		t.Errorf("after all: overlap %g, %d gaps, %d polygons", v.Overlap, len(v.Gaps), c.Len())
	}
	if d := set(rect(0, 1, 0, 1), rect(0, 1, 0, 1)); count(d.Covered()) != 1 {
		t.Error("a copy is not covered")
	}
	if v := set(rect(0, 1e-9, 0, 1e9)).Cover(1e-12); !(v.Probe > 0) {
		t.Errorf("a needle has probes of %g", v.Probe)
	}
}

func count(b []bool) (n int) {
	for _, v := range b {
		if v {
			n++
		}
	}
	return n
}
