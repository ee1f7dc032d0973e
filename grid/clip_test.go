package grid_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
)

// The integral over what is clipped is that over the box: of a linear field on every kind of
// mesh, of any field where nothing moves; what lies in the box stays as it is.
func TestClip(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	window := grid.Box{Min: grid.Point{X: -1, Y: 0}, Max: grid.Point{X: 1, Y: 1.5}}
	lattice := func(s grid.Support) *grid.Mesh {
		m := &grid.Mesh{Kind: grid.KindLattice, Support: s, Points: gridtest.LatticePoints(13, 10, window), Lattice: &grid.Lattice{}}
		for i := range 13 {
			m.Lattice.X = append(m.Lattice.X, m.Points[i].X)
		}
		for j := range 10 {
			m.Lattice.Y = append(m.Lattice.Y, m.Points[13*j].Y)
		}
		for k := range m.Points {
			m.Lattice.Index = append(m.Lattice.Index, int32(k))
		}
		return m
	}
	scattered := gridtest.JitteredPoints(15, 12, window, 0.3, 5)
	tri, err := delaunay.Triangulate(scattered)
	if err != nil {
		t.Fatal(err)
	}
	triangles := &grid.Mesh{Kind: grid.KindTriangles, Points: tri.Points, Triangles: tri.Triangles}
	polygons := &grid.Mesh{Kind: grid.KindPolygons, Points: tri.Points, Triangles: tri.Triangles}
	for k := int32(0); k <= int32(len(tri.Triangles)/3); k++ {
		polygons.Faces = append(polygons.Faces, k)
	}
	squares := &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells}
	var corners [][]grid.Point
	for j := range 6 {
		for i := range 8 {
			x, y := -1+0.25*float64(i), 0.25*float64(j)
			corners = append(corners, rect(x, x+0.25, y, y+0.25))
			squares.Points = append(squares.Points, grid.Point{X: x + 0.125, Y: y + 0.125})
		}
	}
	squares.Cells = set(corners...)
	for name, m := range map[string]*grid.Mesh{"lattice": lattice(grid.Nodes), "cells of a lattice": lattice(grid.Cells), "triangles": triangles, "polygons": polygons, "cells": squares} {
		field := func(f func(p grid.Point) float64) []float64 {
			var v []float64
			for _, p := range m.Points {
				v = append(v, f(p))
			}
			return v
		}
		linear := field(func(p grid.Point) float64 { return 2 + 3*p.X - 5*p.Y })
		noise := field(func(grid.Point) float64 { return rng.NormFloat64() })
		for n := range 20 {
			a, b := grid.Point{X: 2.4*rng.Float64() - 1.2, Y: 1.9*rng.Float64() - 0.2}, grid.Point{X: 2.4*rng.Float64() - 1.2, Y: 1.9*rng.Float64() - 0.2}
			box := grid.EmptyBox().Extend(a).Extend(b)
			if box.Width() < 0.7 || box.Height() < 0.6 {
				continue
			}
			c, shares := m.Clip(box)
			if err := gridtest.Validate(c); err != nil {
				t.Fatalf("%s, box %d: %v", name, n, err)
			}
			got, want := c.Window(), m.Window().Intersect(box)
			for _, d := range []float64{got.Min.X - want.Min.X, got.Min.Y - want.Min.Y, got.Max.X - want.Max.X, got.Max.Y - want.Max.Y} {
				if name != "triangles" && name != "polygons" && math.Abs(d) > 1e-5 {
					t.Errorf("%s: %v ends at %v", name, want, got)
				}
			}
			fields := [][]float64{linear, noise}
			if name == "cells of a lattice" {
				fields = [][]float64{field(func(grid.Point) float64 { return 2 })} // lines move
			}
			for k, f := range fields {
				of := make([]float64, len(c.Points))
				for i := range of {
					for _, s := range shares[i] {
						of[i] += s.Weight * f[s.Sample]
					}
				}
				gridtest.Near(t, fmt.Sprintf("%s, field %d, box %d", name, k, n), quad.NewWeights(c, nil).Integrate(of), quad.NewWeights(m, &box).Integrate(f), 1e-6)
			}
		}
		if c, shares := m.Clip(grid.Box{Min: grid.Point{X: -9, Y: -9}, Max: grid.Point{X: 9, Y: 9}}); c != m || shares != nil {
			t.Errorf("%s: a large box makes another mesh", name)
		}
		if c, _ := m.Clip(grid.Box{Min: grid.Point{X: 8, Y: 8}, Max: grid.Point{X: 9, Y: 9}}); c != nil {
			t.Errorf("%s: %d samples in a box beside it", name, len(c.Points))
		}
	}
}
