package wake_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

var near = gridtest.Near

func codes(p *wake.Plane) string {
	var c []string
	for _, w := range p.Warnings {
		c = append(c, w.Code)
	}
	return strings.Join(c, " ")
}

// one recognises the only plane of s.
func one(t *testing.T, s *wake.Samples) *wake.Plane {
	t.Helper()
	p, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(p) != 1 {
		t.Fatalf("%d planes", len(p))
	}
	if err := gridtest.Validate(p[0].Mesh); err != nil {
		t.Fatal(err)
	}
	return p[0]
}

// polygons makes samples of polygons in the plane x = 1. With cells each polygon
// has one value, else each of its corners has one of its own; f gets the number of
// the polygon and the place.
func polygons(cells bool, f func(e int, p grid.Point) waketest.State, polys ...[]grid.Point) *wake.Samples {
	s := &wake.Samples{File: "polygons", CellValues: cells, Elements: &wake.Elements{Start: []int32{0}}}
	q := []wake.Quantity{wake.X, wake.Y, wake.Z, wake.U, wake.V, wake.W, wake.P}
	put := func(e int, p grid.Point) {
		v := f(e, p)
		for k, x := range []float64{1, p.X, p.Y, v.U, v.V, v.W, v.P} {
			s.Col[q[k]] = append(s.Col[q[k]], x)
		}
		s.N++
	}
	e := s.Elements
	for k, poly := range polys {
		var mid grid.Point
		for _, p := range poly {
			if cells {
				e.Index = append(e.Index, int32(len(e.Corner)))
				e.Corner = append(e.Corner, [3]float64{1, p.X, p.Y})
			} else {
				e.Index = append(e.Index, int32(s.N))
				put(k, p)
			}
			mid.X, mid.Y = mid.X+p.X/float64(len(poly)), mid.Y+p.Y/float64(len(poly))
		}
		e.Start = append(e.Start, int32(len(e.Index)))
		if cells {
			put(k, mid)
		}
	}
	return s
}

// discAndRest is a disc of n corners with the given area, and the quadrilaterals
// between it and a wider ring.
func discAndRest(n int, area float64) [][]grid.Point {
	r := math.Sqrt(area / (float64(n) / 2 * math.Sin(2*math.Pi/float64(n))))
	centre := grid.Point{X: 0.3, Y: 0.1}
	in, out := gridtest.Disc(centre, r).Ring(n), gridtest.Disc(centre, 2*r).Ring(n)
	polys := [][]grid.Point{in}
	for k := range n {
		m := (k + 1) % n
		polys = append(polys, []grid.Point{in[k], out[k], out[m], in[m]})
	}
	return polys
}

// METHOD's checks 2, 3, 5 and 6: wakes that are constant in a disc, whose polygon
// has the exact area.
func TestTopHatDiscs(t *testing.T) {
	for _, c := range []struct {
		name                  string
		area                  float64
		in                    waketest.State
		momentum, jones, betz float64 // NaN where the check has none
		loss                  float64
	}{
		{"2 and 5: at the disc", 1, waketest.State{U: 2. / 3, P: -1. / 6}, math.NaN(), 8. / 9, 0.8017100, 8. / 9},
		{"3: far wake of the disc", 2, waketest.State{U: 1. / 3}, 8. / 9, 8. / 9, 8. / 9, 2 * 8. / 9},
		{"6: half speed", 1, waketest.State{U: 0.5}, 0.5, 0.5, 0.5, 0.75},
	} {
		for _, cells := range []bool{true, false} {
			t.Run(fmt.Sprintf("%s, cells %v", c.name, cells), func(t *testing.T) {
				p := one(t, polygons(cells, func(e int, _ grid.Point) waketest.State {
					if e == 0 {
						return c.in
					}
					return waketest.State{U: 1}
				}, discAndRest(360, c.area)...))
				r, err := measure.Take(p, measure.Options{Reference: waketest.Reference(), Floor: "none"})
				if err != nil {
					t.Fatal(err)
				}
				if r.Drag.Momentum == nil || r.Mesh.Elements != 361 {
					t.Fatalf("%d elements, %v", r.Mesh.Elements, r.Warnings)
				}
				if !math.IsNaN(c.momentum) {
					near(t, "momentum", r.Drag.Momentum.DragArea, c.momentum, 1e-9)
				}
				near(t, "Jones", r.Drag.Jones.DragArea, c.jones, 1e-9)
				near(t, "Betz", r.Drag.Betz.DragArea, c.betz, 1e-6)
				near(t, "∫(1−cpt)", quad.NewWeights(p.Mesh, nil).IntegrateFunc(func(i int) float64 {
					u, cp := p.Field[wake.U][i], 2*p.Field[wake.P][i]
					return 1 - cp - u*u
				}), c.loss, 1e-9)
			})
		}
	}
}

// What is wrong with polygons is counted and said, and does not count twice.
func TestPolygonFaults(t *testing.T) {
	sq := func(x, y float64) []grid.Point {
		return []grid.Point{{X: x, Y: y}, {X: x + 1, Y: y}, {X: x + 1, Y: y + 1}, {X: x, Y: y + 1}}
	}
	turned := func(p []grid.Point) []grid.Point { return []grid.Point{p[0], p[3], p[2], p[1]} }
	floor := func() (out [][]grid.Point) {
		for i := range 6 {
			for j := range 4 {
				out = append(out, sq(float64(i), float64(j)))
			}
		}
		return out
	}
	for _, cells := range []bool{false, true} {
		for _, c := range []struct {
			name  string
			extra [][]grid.Point
			codes string
			area  float64
		}{
			{"sound", nil, "", 24},
			{"one clockwise", [][]grid.Point{turned(sq(6, 0))}, "", 25},
			{"one flat", [][]grid.Point{{{X: 6}, {X: 7}, {X: 8}}}, "flat-polygons", 24},
			{"one on others", [][]grid.Point{sq(2.5, 1.5)}, "overlapping-polygons", 24},
			{"a copy", [][]grid.Point{sq(2, 1)}, "overlapping-polygons", 24},
		} {
			p := one(t, polygons(cells, func(_ int, p grid.Point) waketest.State { return waketest.State{U: 1, V: p.X} }, append(floor(), c.extra...)...))
			got := strings.TrimSpace(strings.ReplaceAll(codes(p), "loose-points", ""))
			if got != c.codes {
				t.Errorf("cells %v, %s: %v", cells, c.name, p.Warnings)
			}
			near(t, c.name+": area", quad.NewWeights(p.Mesh, nil).Area(), c.area, 1e-12)
			if p.Mesh.Kind != grid.KindLattice {
				t.Errorf("cells %v, %s: the mesh is a %s", cells, c.name, p.Mesh.Kind)
			}
		}
		_, err := wake.Planes(polygons(cells, func(int, grid.Point) waketest.State { return waketest.State{U: 1} }, append(floor(), []grid.Point{{X: -9, Y: 1.5}, {X: 30, Y: 1.5}, {X: 30, Y: 2.2}, {X: -9, Y: 2.2}})...), wake.PlaneOptions{})
		if err == nil || !strings.Contains(err.Error(), "the polygons overlap: about 3 m2 of 51.3 m2 are covered more than once") {
			t.Errorf("a strip across all: %v", err)
		}
	}
}

// quadtree gives the squares of nx × ny cells of a side from a corner, halved up to depth
// times where split says so of a square, without those that gone tells, as polygons with
// the nodes on the middle of their sides.
func quadtree(at grid.Point, nx, ny, depth int, side float64, split, gone func(b grid.Box) bool) [][]grid.Point {
	h := side / float64(int(1)<<depth)
	type leaf struct{ i, j, size int } // in units of h
	place := func(i, j int) grid.Point { return grid.Point{X: at.X + h*float64(i), Y: at.Y + h*float64(j)} }
	var leaves []leaf
	var grow func(l leaf)
	grow = func(l leaf) {
		box := grid.Box{Min: place(l.i, l.j), Max: place(l.i+l.size, l.j+l.size)}
		if s := l.size / 2; s > 0 && split(box) {
			for k := range 4 {
				grow(leaf{l.i + k&1*s, l.j + k>>1*s, s})
			}
		} else if !gone(box) {
			leaves = append(leaves, l)
		}
	}
	for i := range nx {
		for j := range ny {
			grow(leaf{i << depth, j << depth, 1 << depth})
		}
	}
	corner := map[[2]int]bool{}
	for _, l := range leaves {
		for k := range 4 {
			corner[[2]int{l.i + k&1*l.size, l.j + k>>1*l.size}] = true
		}
	}
	var out [][]grid.Point
	for _, l := range leaves {
		var p []grid.Point
		c := [2]int{l.i, l.j}
		for _, d := range [4][2]int{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
			for range l.size {
				if corner[c] {
					p = append(p, place(c[0], c[1]))
				}
				c[0], c[1] = c[0]+d[0], c[1]+d[1]
			}
		}
		out = append(out, p)
	}
	return out
}

// octree covers [-2, 2] × [0, 2], finer near a hole; squares that touch the hole are left
// out.
func octree(levels int, hole gridtest.Ellipse) [][]grid.Point {
	return quadtree(grid.Point{X: -2}, 16, 8, levels-2, 0.25, func(b grid.Box) bool {
		c := b.Centre()
		return math.Abs(math.Hypot(c.X-hole.Centre.X, c.Y-hole.Centre.Y)-hole.RX) < 1.5*b.Width()
	}, func(b grid.Box) bool {
		c := b.Centre()
		near := grid.Point{X: min(max(hole.Centre.X, b.Min.X), b.Max.X), Y: min(max(hole.Centre.Y, b.Min.Y), b.Max.Y)}
		return hole.Contains(near) || hole.Contains(c)
	})
}

// A refined mesh with hanging nodes and a hole: the area is that of the leaves, a
// linear field has no error, the hole is seen, and cells agree with points.
func TestOctreePolygons(t *testing.T) {
	for _, hole := range []gridtest.Ellipse{gridtest.Disc(grid.Point{X: 0.3, Y: 0.9}, 0.4), gridtest.Disc(grid.Point{X: 0.3}, 0.4)} {
		polys := octree(6, hole)
		want, first := 0.0, 0.0
		for _, p := range polys {
			b := grid.Bounds(p)
			want += b.Area()
			first += b.Area() * (2*b.Centre().X - b.Centre().Y)
		}
		for _, cells := range []bool{false, true} {
			p := one(t, polygons(cells, func(_ int, p grid.Point) waketest.State { return waketest.State{U: 2*p.X - p.Y} }, polys...))
			if cells { // the mean of the corners is not the centre where nodes hang
				for i := range p.Field[wake.U] {
					c := p.Mesh.Cells.Centroid(i)
					p.Field[wake.U][i] = 2*c.X - c.Y
				}
			}
			w := quad.NewWeights(p.Mesh, nil)
			near(t, "area", w.Area(), want, 1e-12)
			near(t, "integral", w.Integrate(p.Field[wake.U]), first, 1e-12)
			if p.Mesh.Elements() != len(polys) || !p.Mesh.CutsBody() || p.Mesh.Holes() != 1 || codes(p) != "" {
				t.Errorf("cells %v: %d elements of %d, %d holes %v, %v", cells, p.Mesh.Elements(), len(polys), p.Mesh.Holes(), p.Mesh.Gaps, p.Warnings)
			}
			near(t, "the hole", p.Mesh.Gaps[0].Area, 8-want, 0.01)
			// Corners of neighbours are one sample.
			if !cells && p.Merged < p.Samples/2 {
				t.Errorf("%d of %d samples merged", p.Merged, p.Samples)
			}
		}
	}
}

// Planes square to an axis but for half a degree are taken as such, and said to be tilted;
// oblique ones are refused.
func TestTiltedPlanes(t *testing.T) {
	for _, c := range []struct {
		normal r3.Vec
		square bool
	}{
		{r3.Vec{X: 1, Y: 0.005}, true}, {r3.Vec{X: 1, Y: 0.012}, false}, {r3.Vec{X: 1, Z: 0.3}, false},
		{r3.Vec{X: 0.6, Y: 0.8}, false}, {r3.Vec{X: 0.1, Y: -0.2, Z: 1}, false}, {r3.Vec{X: -0.3, Y: 0.3, Z: 0.3}, false},
	} {
		n := r3.Unit(c.normal)
		side := r3.Unit(r3.Vec{X: n.Y, Y: -n.X})
		s := &wake.Samples{File: "f"}
		for j := range 21 {
			for i := range 31 {
				p := r3.Add(r3.Scale(2, n), r3.Add(r3.Scale(float64(i)/10-1, side), r3.Scale(float64(j)/10, r3.Cross(n, side))))
				for q, x := range []float64{p.X, p.Y, p.Z, 1} {
					s.Col[q] = append(s.Col[q], x)
				}
				s.N++
			}
		}
		planes, err := wake.Planes(s, wake.PlaneOptions{})
		if !c.square {
			if err == nil || !strings.Contains(err.Error(), "the samples lie on an oblique plane") {
				t.Errorf("normal %v: %v, %v", n, planes, err)
			}
			continue
		}
		if err != nil || planes[0].Normal != wake.AxisX || codes(planes[0]) != "tilted-plane" {
			t.Errorf("normal %v: %v, %v", n, planes, err)
			continue
		}
		near(t, "area of the tilted plane", quad.NewWeights(planes[0].Mesh, nil).Area(), 6, 1e-3)
	}
}

// Scattered samples with an area each: the integral is Σ f·area.
func TestAreaColumn(t *testing.T) {
	s := waketest.Scatter(waketest.Gaussian(0.5, 0.2, 0, 0), -1, 1, -1, 1, 31, 31, 3)
	rng := rand.New(rand.NewPCG(9, 9))
	want := 0.0
	for i := range s.N {
		a := 4. / 961 * (0.9 + 0.2*rng.Float64())
		s.Col[wake.Area] = append(s.Col[wake.Area], a)
		want += a * s.Col[wake.U][i]
	}
	p := one(t, s)
	near(t, "integral", quad.NewWeights(p.Mesh, nil).Integrate(p.Field[wake.U]), want, 1e-12)
	if p.SupportBy != "area column" || p.Mesh.Support != grid.Cells || codes(p) != "" {
		t.Errorf("support %s by %s, %v", p.Mesh.Support, p.SupportBy, p.Warnings)
	}
	for i := range s.Col[wake.Area] {
		s.Col[wake.Area][i] *= 1e6
	}
	if p := one(t, s); codes(p) != "area-unlikely" {
		t.Errorf("mm2 as m2: %v", p.Warnings)
	}
}
