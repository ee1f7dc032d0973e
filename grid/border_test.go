package grid_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// squares makes a mesh of the unit squares of a picture, rows from the top down, in
// each form that a mesh can have; shrunk cells share no corners and leave slits of a
// twentieth of their side.
func squares(picture []string, form string) *grid.Mesh {
	nx, ny := len(picture[0]), len(picture)
	full := func(i, j int) bool { return picture[ny-1-j][i] != '.' }
	m := &grid.Mesh{}
	corner := map[[2]int]int32{}
	at := func(i, j int) int32 {
		k, ok := corner[[2]int{i, j}]
		if !ok {
			k = int32(len(m.Points))
			corner[[2]int{i, j}] = k
			m.Points = append(m.Points, grid.Point{X: float64(i), Y: float64(j)})
		}
		return k
	}
	var quads [][4]int32
	var middle []grid.Point
	for j := range ny {
		for i := range nx {
			if full(i, j) {
				quads = append(quads, [4]int32{at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)})
				middle = append(middle, grid.Point{X: float64(i) + 0.5, Y: float64(j) + 0.5})
			}
		}
	}
	line := func(n int, off float64) (out []float64) {
		for i := range n {
			out = append(out, float64(i)+off)
		}
		return out
	}
	switch form {
	case "lattice of nodes":
		m.Lattice = &grid.Lattice{X: line(nx+1, 0), Y: line(ny+1, 0)}
		for j := range ny + 1 {
			for i := range nx + 1 {
				k, ok := corner[[2]int{i, j}]
				if !ok {
					k = -1
				}
				m.Lattice.Index = append(m.Lattice.Index, k)
			}
		}
	case "lattice of cells":
		m.Support, m.Points = grid.Cells, middle
		m.Lattice = &grid.Lattice{X: line(nx, 0.5), Y: line(ny, 0.5)}
		n := int32(0)
		for j := range ny {
			for i := range nx {
				k := int32(-1)
				if full(i, j) {
					k = n
					n++
				}
				m.Lattice.Index = append(m.Lattice.Index, k)
			}
		}
	case "triangles":
		m.Kind = grid.KindTriangles
		for _, q := range quads {
			m.Triangles = append(m.Triangles, q[0], q[1], q[2], q[0], q[2], q[3])
		}
	case "cells", "shrunk cells":
		m.Kind, m.Support = grid.KindCells, grid.Cells
		m.Cells = &grid.CellSet{Corners: m.Points, Start: []int32{0}}
		if form == "shrunk cells" {
			m.Cells.Corners = nil
		}
		for k, q := range quads {
			for c, id := range q {
				if form == "shrunk cells" {
					p, o := m.Points[q[c]], middle[k]
					id = int32(len(m.Cells.Corners))
					m.Cells.Corners = append(m.Cells.Corners, grid.Point{X: o.X + 0.95*(p.X-o.X), Y: o.Y + 0.95*(p.Y-o.Y)})
				}
				m.Cells.Index = append(m.Cells.Index, id)
			}
			m.Cells.Start = append(m.Cells.Start, int32(len(m.Cells.Index)))
		}
		m.Points = middle
	}
	return m
}

// The border of plane figures of unit squares has the length and encloses the area that
// counting gives, in each form of mesh; its outward vectors, times the length, add up to
// nothing, for it is closed; a hole in it is not border, a notch is.
func TestBorder(t *testing.T) {
	for _, c := range []struct {
		name         string
		picture      []string
		length, area float64
		loops        int
		// nodes says that a lattice of nodes, whose squares are those with four corners,
		// can show it.
		nodes bool
	}{
		{"rectangle", []string{"####", "####", "####"}, 14, 12, 1, true},
		{"L", []string{"#.....", "#.....", "######"}, 18, 8, 1, false},
		{"L with corners apart", []string{"##....", "##....", "##....", "######", "######"}, 22, 18, 1, true},
		{"U", []string{"##...##", "##...##", "##...##", "#######"}, 28, 19, 1, true},
		{"hole", []string{"#####", "#..##", "#..##", "#####", "#####"}, 20, 25, 1, true},
		{"island in a hole", []string{"########", "#......#", "#......#", "#..##..#", "#..##..#", "#......#", "########"}, 30 + 8, 56 + 4, 2, false},
		{"hole that touches a corner", []string{".####", "#..##", "#..##", "#####"}, 18, 19, 1, false},
		{"two parts", []string{"##...##", "##...##"}, 16, 8, 2, true},
	} {
		for _, form := range []string{"lattice of nodes", "lattice of cells", "triangles", "cells", "shrunk cells"} {
			if form == "lattice of nodes" && !c.nodes {
				continue
			}
			m := squares(c.picture, form)
			if err := gridtest.Validate(m); err != nil {
				t.Fatal(c.name, form, err)
			}
			length, area := 0.0, 0.0
			var sum grid.Point
			loops := m.Border()
			for _, l := range loops {
				for k := range l {
					s := &l[k]
					n := s.Outward()
					length += s.Length()
					area += (s.A.X*s.B.Y - s.B.X*s.A.Y) / 2
					sum.X += n.X * s.Length()
					sum.Y += n.Y * s.Length()
					for _, i := range []int32{s.From, s.To} {
						if p := m.Points[i]; math.Hypot(p.X-s.A.X, p.Y-s.A.Y) > 1.5 {
							t.Fatalf("%s, %s: the side from %v has the sample at %v", c.name, form, s.A, p)
						}
					}
				}
			}
			if form == "shrunk cells" {
				// Rims of holes are not told there, nor does it close.
				if c.name == "rectangle" && math.Abs(length-0.95*c.length) > 1e-9 || c.name == "U" && math.Abs(length-0.95*c.length) > 1e-9 {
					t.Errorf("%s, %s: length %g, want %g", c.name, form, length, 0.95*c.length)
				}
				continue
			}
			if math.Abs(length-c.length) > 1e-9 || math.Abs(area-c.area) > 1e-9 || len(loops) != c.loops || math.Hypot(sum.X, sum.Y) > 1e-9 {
				t.Errorf("%s, %s: length %g and area %g in %d loops, want %g, %g, %d; outward %v", c.name, form, length, area, len(loops), c.length, c.area, c.loops, sum)
			}
		}
	}
}

// A quadrant of cells halved three times over has sides with hanging nodes, whose
// coarse side is one and whose fine sides are two. None of them is border.
func TestBorderWithHangingNodes(t *testing.T) {
	m := &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Cells: &grid.CellSet{Start: []int32{0}}}
	ids := map[grid.Point]int32{}
	var split func(x, y, h float64)
	split = func(x, y, h float64) {
		if h > 1 && x < 3 && y < 3 {
			h /= 2
			split(x, y, h)
			split(x+h, y, h)
			split(x, y+h, h)
			split(x+h, y+h, h)
			return
		}
		for _, p := range []grid.Point{{X: x, Y: y}, {X: x + h, Y: y}, {X: x + h, Y: y + h}, {X: x, Y: y + h}} {
			id, ok := ids[p]
			if !ok {
				id = int32(len(m.Cells.Corners))
				ids[p] = id
				m.Cells.Corners = append(m.Cells.Corners, p)
			}
			m.Cells.Index = append(m.Cells.Index, id)
		}
		m.Cells.Start = append(m.Cells.Start, int32(len(m.Cells.Index)))
		m.Points = append(m.Points, grid.Point{X: x + h/2, Y: y + h/2})
	}
	split(0, 0, 16)
	length := 0.0
	for _, l := range m.Border() {
		for k := range l {
			length += l[k].Length()
		}
	}
	if math.Abs(length-64) > 1e-9 {
		t.Errorf("the border of a square of 16 is %g long", length)
	}
}

// Two clusters far apart, or sides of very different lengths, cost no more than their
// number.
func TestBorderOfStrayTriangles(t *testing.T) {
	m := &grid.Mesh{Kind: grid.KindTriangles}
	for k := range 4000 {
		x := float64(k) * 1e-6
		n := int32(len(m.Points))
		m.Points = append(m.Points, grid.Point{X: x}, grid.Point{X: x + 5e-7}, grid.Point{X: x, Y: 5e-7})
		m.Triangles = append(m.Triangles, n, n+1, n+2)
	}
	n := int32(len(m.Points))
	m.Points = append(m.Points, grid.Point{Y: 1}, grid.Point{X: 1e9, Y: 1}, grid.Point{Y: 2})
	m.Triangles = append(m.Triangles, n, n+1, n+2)
	if got := len(m.Border()); got != 4001 {
		t.Errorf("%d loops", got)
	}
}
