package render

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

// latticeMesh returns an nx × ny lattice of nodes over the box and f on it.
func latticeMesh(b grid.Box, nx, ny int, f func(x, y float64) float64) (*grid.Mesh, []float64) {
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

// halved makes two triangles of each quadrilateral of a lattice; jitter moves the
// inner nodes by that part of the spacing.
func halved(m *grid.Mesh, jitter float64, seed uint64) *grid.Mesh {
	l := m.Lattice
	r := rand.New(rand.NewPCG(seed, 1))
	t := &grid.Mesh{Kind: grid.KindTriangles, Points: slices.Clone(m.Points)}
	for j := 1; j+1 < len(l.Y); j++ {
		for i := 1; i+1 < len(l.X); i++ {
			p := &t.Points[l.At(i, j)]
			p.X += jitter * (r.Float64() - 0.5) * (l.X[1] - l.X[0])
			p.Y += jitter * (r.Float64() - 0.5) * (l.Y[1] - l.Y[0])
		}
	}
	for j := 0; j+1 < len(l.Y); j++ {
		for i := 0; i+1 < len(l.X); i++ {
			a, b, c, d := l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1)
			t.Triangles = append(t.Triangles, a, b, c, a, c, d)
		}
	}
	return t
}

func onMesh(m *grid.Mesh, f func(x, y float64) float64) []float64 {
	v := make([]float64, len(m.Points))
	for i, p := range m.Points {
		v[i] = f(p.X, p.Y)
	}
	return v
}

func boxOf(x0, y0, x1, y1 float64) grid.Box {
	return grid.Box{Min: grid.Point{X: x0, Y: y0}, Max: grid.Point{X: x1, Y: y1}}
}

func linear(x, y float64) float64 { return 1 + 2*x + 3*y }

// A linear field is met exactly at every pixel, on lattices and triangles, and no
// pixel inside is left out: not when nodes fall on pixel centres, not far from
// the origin, not on a mesh much finer than the pixels.
func TestRasterLinear(t *testing.T) {
	for _, c := range []struct {
		name     string
		box      grid.Box
		nx, ny   int
		w, h     int
		jitter   float64
		tolScale float64
	}{
		{"coarse", boxOf(-1, 0, 1, 1), 5, 4, 200, 100, 0.5, 1},
		{"nodes on pixel centres", boxOf(0.5, 0.5, 99.5, 49.5), 100, 50, 100, 50, 0, 100},
		// Corners of the view that are rounded: the outermost nodes miss the pixel
		// centres by a few parts in 10¹⁶, to either side.
		{"rim on pixel centres", boxOf(0.1, 0.1, 4.9, 2.9), 9, 8, 25, 15, 0, 100},
		{"fine", boxOf(-1, 0, 1, 1), 301, 201, 60, 30, 0.7, 1},
		{"far", boxOf(1e6, 1e6, 1e6+2, 1e6+1), 41, 21, 160, 80, 0.5, 1e7},
		{"thin", boxOf(0, 0, 1, 1e-6), 9, 9, 64, 64, 0.4, 1},
	} {
		m, f := latticeMesh(c.box, c.nx, c.ny, linear)
		tri := halved(m, c.jitter, 5)
		view := c.box
		if c.name == "nodes on pixel centres" {
			view = boxOf(0, 0, 100, 50)
		}
		if c.name == "rim on pixel centres" {
			view = boxOf(0, 0, 5, 3)
		}
		for kind, in := range map[string]struct {
			m *grid.Mesh
			f []float64
		}{"lattice": {m, f}, "triangles": {tri, onMesh(tri, linear)}} {
			got := Raster(in.m, in.f, view, c.w, c.h)
			for k, v := range got {
				x := view.Min.X + (float64(k%c.w)+0.5)*view.Width()/float64(c.w)
				y := view.Max.Y - (float64(k/c.w)+0.5)*view.Height()/float64(c.h)
				want := linear(x, y)
				// float32 holds 24 bits; the rest is for the size of the coordinates.
				if tol := 0x1p-23*math.Abs(want) + 1e-12*c.tolScale; !(math.Abs(float64(v)-want) <= tol) {
					t.Fatalf("%s, %s: pixel (%d, %d) has %g, want %g", c.name, kind, k%c.w, k/c.w, v, want)
				}
			}
		}
	}
}

func TestRasterOutsideIsNaN(t *testing.T) {
	m, f := latticeMesh(boxOf(0, 0, 1, 1), 5, 5, linear)
	tri := halved(m, 0, 0)
	for kind, mesh := range map[string]*grid.Mesh{"lattice": m, "triangles": tri} {
		got := Raster(mesh, f, boxOf(-1, -1, 2, 2), 30, 30)
		for k, v := range got {
			inside := k%30 >= 10 && k%30 < 20 && k/30 >= 10 && k/30 < 20
			if inside == (v != v) {
				t.Errorf("%s: pixel (%d, %d) has %g", kind, k%30, k/30, v)
			}
		}
	}
}

// A missing node opens its four quadrilaterals; a NaN or infinite value does so
// too, but the elements stay covered.
func TestRasterMissingAndNotFinite(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		m, f := latticeMesh(boxOf(0, 0, 4, 4), 5, 5, linear)
		f[12] = bad
		s := NewSampler(m, boxOf(0, 0, 4, 4), 41, 41)
		for k, v := range s.Field(f) {
			x, y := (float64(k%41)+0.5)*4/41, (float64(k/41)+0.5)*4/41
			hole := x > 1 && x < 3 && y > 1 && y < 3
			if hole != (v != v) {
				t.Errorf("value %g: pixel at (%.2f, %.2f) has %g", bad, x, y, v)
			}
			if s.bare()[k] {
				t.Errorf("value %g: pixel at (%.2f, %.2f) is not covered", bad, x, y)
			}
		}
	}
	m, f := latticeMesh(boxOf(0, 0, 4, 4), 5, 5, linear)
	m.Lattice.Index[12] = -1
	s := NewSampler(m, boxOf(0, 0, 4, 4), 40, 40)
	n := 0
	for k, v := range s.Field(f) {
		if s.bare()[k] != (v != v) {
			t.Fatalf("pixel %d is covered or has a value, not both", k)
		}
		if v != v {
			n++
		}
	}
	if n != 400 {
		t.Errorf("the hole has %d pixels, want 20 × 20", n)
	}
}

// The sampled field has the level's value on the level lines of isoline, within
// float32: bands end where the lines are. Each point of a line, and the middle of
// each piece, is looked at through a picture of one pixel.
func TestBandsEndOnLevelLines(t *testing.T) {
	gauss := func(x, y float64) float64 { return math.Exp(-x*x - 2*y*y + x*y) }
	m, f := latticeMesh(boxOf(-2, -2, 2, 2), 9, 9, gauss)
	points := 0
	for _, level := range []float64{0.1, 0.3, 0.7} {
		for _, l := range isoline.Lines(m, f, level) {
			for i := 1; i < len(l.Points); i++ {
				a, b := l.Points[i-1], l.Points[i]
				for _, p := range []grid.Point{a, {X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}} {
					px := Raster(m, f, boxOf(p.X-1e-3, p.Y-1e-3, p.X+1e-3, p.Y+1e-3), 1, 1)
					points++
					if math.Abs(float64(px[0])-level) > 1e-7 {
						t.Errorf("level %g: the picture has %g at %v", level, px[0], p)
					}
				}
			}
		}
	}
	if points < 100 {
		t.Errorf("only %d points", points)
	}
}

// A mesh of cells is sampled in its nodal form, up to its corners.
func TestRasterOfCells(t *testing.T) {
	m, f := latticeMesh(boxOf(0, 0, 1, 1), 3, 3, linear)
	m.Support = grid.Cells
	if px := Raster(m, f, m.Window(), 10, 10); px[0] != px[0] {
		t.Errorf("corner %v; the cells reach the corner", px[0])
	}
}

// A triangle with a corner at an enormous distance is clipped, not walked along.
func TestHugeTriangle(t *testing.T) {
	m := &grid.Mesh{Kind: grid.KindTriangles, Points: []grid.Point{{X: -1e300, Y: -1e300}, {X: 1e300, Y: -1e300}, {X: 0, Y: 1e300}}, Triangles: []int32{0, 1, 2}}
	s := NewSampler(m, boxOf(0, 0, 1, 1), 50, 50)
	if s.bare()[0] || s.bare()[49*s.W+49] {
		t.Error("the triangle holds the whole picture")
	}
}
