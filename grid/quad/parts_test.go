package quad_test

import (
	"fmt"
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// asCells makes given cells of a lattice of cells.
func asCells(m *grid.Mesh) *grid.Mesh {
	c := &grid.CellSet{Start: []int32{0}}
	ex, ey := grid.CellEdges(m.Lattice.X), grid.CellEdges(m.Lattice.Y)
	nx := len(ex)
	for _, y := range ey {
		for _, x := range ex {
			c.Corners = append(c.Corners, grid.Point{X: x, Y: y})
		}
	}
	for j := range m.Lattice.Y {
		for i := range m.Lattice.X {
			if m.Lattice.At(i, j) >= 0 {
				k := int32(j*nx + i)
				c.Index = append(c.Index, k, k+1, k+1+int32(nx), k+int32(nx))
				c.Start = append(c.Start, int32(len(c.Index)))
			}
		}
	}
	return &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Points: m.Points, Cells: c}
}

func kinds(seed uint64, drop func(x, y float64) bool) map[string]*grid.Mesh {
	nodes, cells := lattice(23, 19, grid.Nodes, seed, drop), lattice(23, 19, grid.Cells, seed, drop)
	return map[string]*grid.Mesh{"nodes": nodes, "cells": cells, "triangles": triangles(nodes), "given cells": asCells(cells)}
}

// Products of polynomials over the window [-0.7, 1.3]² and over a box, in closed
// form: linear fields have no error on triangles, bilinear ones none on a lattice.
func TestProductIsExact(t *testing.T) {
	m := lattice(9, 12, grid.Nodes, 3, nil)
	power := func(a, b float64, n float64) float64 { return (math.Pow(b, n+1) - math.Pow(a, n+1)) / (n + 1) }
	box := &grid.Box{Min: grid.Point{X: -0.123, Y: 0.04}, Max: grid.Point{X: 0.77, Y: 1.9}}
	for _, b := range []*grid.Box{nil, box} {
		x0, x1, y0, y1 := -0.7, 1.3, -0.7, 1.3
		if b != nil {
			x0, x1, y0, y1 = -0.123, 0.77, 0.04, 1.3
		}
		mono := func(i, j float64) float64 { return power(x0, x1, i) * power(y0, y1, j) }
		// (1+2x−y)(x+3y)
		want := mono(1, 0) + 3*mono(0, 1) + 2*mono(2, 0) + 6*mono(1, 1) - mono(1, 1) - 3*mono(0, 2)
		for name, q := range map[string]*grid.Mesh{"lattice": m, "triangles": triangles(m)} {
			f, g := sample(q, func(x, y float64) float64 { return 1 + 2*x - y }), sample(q, func(x, y float64) float64 { return x + 3*y })
			near(t, name, quad.Product(q, b, f, g), want, 1e-13)
		}
		f := sample(m, func(x, y float64) float64 { return x * y })
		near(t, "bilinear", quad.Product(m, b, f, f), mono(2, 2), 1e-13)
		one := sample(m, func(_, _ float64) float64 { return 1 })
		near(t, "times one", quad.Product(m, b, f, one), quad.NewWeights(m, b).Integrate(f), 1e-13)
	}
	c := lattice(9, 12, grid.Cells, 3, nil)
	f := sample(c, func(x, y float64) float64 { return x - y })
	near(t, "cells", quad.Product(c, box, f, f), quad.Product(asCells(c), box, f, f), 1e-13)
}

// A polygon's integral against the closed form, and polygons that tile the window
// against the whole, on every kind of mesh, with a hole.
func TestPolygonWeights(t *testing.T) {
	// An L, written clockwise, and what is left of a box round the window.
	ell := []grid.Point{{X: -0.31, Y: -0.42}, {X: -0.31, Y: 0.93}, {X: 0.08, Y: 0.93}, {X: 0.08, Y: 0.11}, {X: 0.71, Y: 0.11}, {X: 0.71, Y: -0.42}}
	area := func(x0, x1, y0, y1 float64) float64 { return (x1 - x0) * (y1 - y0) }
	for name, m := range kinds(5, nil) {
		w, err := quad.NewPolygonWeights(m, ell)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": area", w.Area(), area(-0.31, 0.08, -0.42, 0.93)+area(0.08, 0.71, -0.42, 0.11), 1e-13)
		// ∫(x+2y) = Σ area × value at the middle.
		if m.Support == grid.Nodes {
			f := sample(m, func(x, y float64) float64 { return x + 2*y })
			want := area(-0.31, 0.08, -0.42, 0.93)*(-0.115+2*0.255) + area(0.08, 0.71, -0.42, 0.11)*(0.395-2*0.155)
			near(t, name+": linear field", w.Integrate(f), want, 1e-13)
		}
	}
	for name, m := range kinds(5, func(x, y float64) bool { return math.Hypot(x-0.2, y) < 0.3 }) {
		b := m.Window()
		c := grid.Point{X: 0.2234, Y: 0.1113}
		tiles := [][]grid.Point{
			{b.Min, {X: b.Max.X, Y: b.Min.Y}, c}, {{X: b.Max.X, Y: b.Min.Y}, b.Max, c},
			{b.Max, {X: b.Min.X, Y: b.Max.Y}, {X: -0.4, Y: 0.2}, c}, {{X: b.Min.X, Y: b.Max.Y}, b.Min, c, {X: -0.4, Y: 0.2}},
		}
		f := sample(m, func(x, y float64) float64 { return math.Sin(3*x) + y*y })
		sum, room := 0.0, 0.0
		for _, p := range tiles {
			w, err := quad.NewPolygonWeights(m, p)
			if err != nil {
				t.Fatal(err)
			}
			sum, room = sum+w.Integrate(f), room+w.Area()
		}
		whole := quad.NewWeights(m, nil)
		near(t, name+": tiles", sum, whole.Integrate(f), 1e-13)
		near(t, name+": area of the tiles", room, whole.Area(), 1e-13)
		// A rectangle is a box.
		box := grid.Box{Min: grid.Point{X: -0.3, Y: -0.2}, Max: grid.Point{X: 0.6, Y: 0.7}}
		w, err := quad.NewPolygonWeights(m, []grid.Point{box.Min, {X: 0.6, Y: -0.2}, box.Max, {X: -0.3, Y: 0.7}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": rectangle", w.Integrate(f), quad.NewWeights(m, &box).Integrate(f), 1e-13)
	}
	m := lattice(5, 5, grid.Nodes, 0, nil)
	for _, bad := range [][]grid.Point{nil, {{}, {X: 1}}, {{}, {X: 1}, {X: 2}}, {{}, {X: 1, Y: 1}, {X: 1}, {Y: 1}}, {{}, {X: math.NaN()}, {Y: 1}}} {
		if _, err := quad.NewPolygonWeights(m, bad); err == nil {
			t.Errorf("the polygon %v is taken", bad)
		}
	}
}

// Weights above a level: the area is that of AreaAbove, the two sides of a level
// add up to the whole, and a plane's integral has a closed form.
func TestLevelWeights(t *testing.T) {
	hole := func(x, y float64) bool { return math.Hypot(x-0.2, y) < 0.3 }
	for name, m := range kinds(7, hole) {
		f := sample(m, func(x, y float64) float64 { return math.Sin(2*x) + y })
		g := sample(m, func(x, y float64) float64 { return 1 + x*x - y })
		minus := make([]float64, len(f))
		for i, v := range f {
			minus[i] = -v
		}
		box := &grid.Box{Min: grid.Point{X: -0.5, Y: -0.4}, Max: grid.Point{X: 0.9, Y: 0.8}}
		for _, b := range []*grid.Box{nil, box} {
			for _, level := range []float64{-5, 0.1234, 0.7, 9} {
				above, below := quad.NewLevelWeights(m, b, f, level), quad.NewLevelWeights(m, b, minus, -level)
				near(t, fmt.Sprint(name, " area above ", level), above.Area(), quad.AreaAbove(m, b, f, []float64{level})[0], 1e-13)
				near(t, fmt.Sprint(name, " area of both sides of ", level), above.Area()+below.Area(), quad.NewWeights(m, b).Area(), 1e-13)
				if m.Support == grid.Cells || m.Kind == grid.KindTriangles {
					near(t, fmt.Sprint(name, " both sides of ", level), above.Integrate(g)+below.Integrate(g), quad.NewWeights(m, b).Integrate(g), 1e-13)
				}
			}
		}
	}
	m := triangles(lattice(12, 9, grid.Nodes, 2, nil))
	d := sample(m, func(x, y float64) float64 { return x + y })
	// The corner at (1.3, 1.3) above x+y = 2.1 is a triangle of legs 0.5; x+y is 2.1 on
	// one side and 2.6 at the corner: ∫ = A (2.1 + 2.1 + 2.6)/3.
	near(t, "corner", quad.NewLevelWeights(m, nil, d, 2.1).Integrate(d), 0.125*6.8/3, 1e-13)
	if w := quad.NewLevelWeights(m, nil, d, math.NaN()); len(w.Weight) != 0 {
		t.Error("weights above NaN")
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
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	f := sample(m, func(x, y float64) float64 { return math.Exp(x) - y })
	near(t, "integral", quad.NewWeights(m, nil).Integrate(f), quad.NewWeights(cells, nil).Integrate(f), 1e-13)
	a, b := quad.NewMoments(m, nil, f), quad.NewMoments(cells, nil, f)
	near(t, "∫xf", a.X+a.Origin.X*a.M0, b.X+b.Origin.X*b.M0, 1e-13)
	near(t, "∫y²f", a.YY+2*a.Origin.Y*a.Y+a.Origin.Y*a.Origin.Y*a.M0, b.YY+2*b.Origin.Y*b.Y+b.Origin.Y*b.Origin.Y*b.M0, 1e-13)
	near(t, "product", quad.Product(m, nil, f, f), quad.Product(cells, nil, f, f), 1e-13)
	left, right := m.Window(), m.Window()
	left.Max.X, right.Min.X = 0.1234, 0.1234
	near(t, "two boxes", quad.NewWeights(m, &left).Integrate(f)+quad.NewWeights(m, &right).Integrate(f), quad.NewWeights(m, nil).Integrate(f), 1e-13)
	n := 0.0
	for _, v := range f {
		if v >= 1 {
			n++
		}
	}
	near(t, "area above", quad.AreaAbove(m, nil, f, []float64{1})[0], n*m.SampleArea[0], 1e-13)
	near(t, "weights above", quad.NewLevelWeights(m, nil, f, 1).Area(), n*m.SampleArea[0], 1e-13)
}
