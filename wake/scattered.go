package wake

import (
	"errors"
	"fmt"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
)

// triangles joins scattered samples.
func (p *Plane) triangles(points []grid.Point, support grid.Support, gap float64) error {
	t, err := delaunay.Triangulate(points, delaunay.Options{Adjacency: true, Order: true})
	if err != nil {
		e := &InputError{File: p.Name(), Text: err.Error(), Cure: "export a plane with samples in two directions"}
		var d *delaunay.InputError
		if errors.As(err, &d) && d.Reason == delaunay.Collinear {
			e.Cure = "a plane needs samples in two directions; check the coordinate columns"
		}
		return e
	}
	if t.Duplicates > 0 {
		var dup [][2]int32
		for i, f := range t.First {
			if int32(i) != f {
				dup = append(dup, [2]int32{int32(i), f})
			}
		}
		var renumber []int32
		points, renumber = p.compact(points, dup)
		for k, s := range t.Triangles {
			t.Triangles[k] = renumber[s]
		}
		for k, s := range t.Hull {
			t.Hull[k] = renumber[s]
		}
		for k, s := range t.Order {
			t.Order[k] = renumber[s]
		}
	}
	points = p.arrange(points, t)
	p.merged()
	if support == grid.Cells {
		by := "the file's values belong to cells"
		if p.SupportBy == "flag" || p.SupportBy == "study" {
			by = "cells were asked for"
		}
		p.warn("cells-not-known", "export the cells themselves, or sample on a lattice",
			"%s, but the samples form no lattice, so what each stands for is not known; they are taken as nodes, and the border half-cells are left out", by)
	}
	kept := delaunay.DropBridges(points, t, gap)
	if len(kept.Triangles) == 0 {
		return &InputError{
			File: p.Name(), Text: fmt.Sprintf("all %d triangles between the %d samples bridge gaps", kept.Dropped, len(points)),
			Cure: "raise --gap, or export more samples",
		}
	}
	p.Mesh = &grid.Mesh{Kind: grid.KindTriangles, Support: grid.Nodes, Points: points, Triangles: kept.Triangles, DroppedArea: kept.DroppedArea}
	p.Mesh.Gaps = gaps(points, kept, p.Mesh.Spacing())
	return nil
}

// arrange puts the samples into the order of the triangles. Files list scattered
// samples in any order, and each pass over the mesh would fetch its corners from
// all over memory.
func (p *Plane) arrange(points []grid.Point, t *delaunay.Triangulation) []grid.Point {
	out := make([]grid.Point, len(points))
	place := make([]int32, len(points))
	for k, s := range t.Order {
		out[k] = points[s]
		place[s] = int32(k)
	}
	for k, s := range t.Triangles {
		t.Triangles[k] = place[s]
	}
	for k, s := range t.Hull {
		t.Hull[k] = place[s]
	}
	for q, f := range p.Field {
		if f == nil {
			continue
		}
		g := make([]float64, len(f))
		for k, s := range t.Order {
			g[k] = f[s]
		}
		p.Field[q] = g
	}
	return out
}

// gaps gives the mesher's openings their borders: a gap that is open to the
// outside touches each side of the window that it comes within a sample distance
// of.
func gaps(points []grid.Point, kept *delaunay.Kept, h float64) []grid.Gap {
	w := grid.Bounds(points)
	var out []grid.Gap
	for _, o := range kept.Openings {
		g := grid.Gap{Area: o.Area, Box: o.Box}
		if !o.Closed {
			g.Left, g.Right = o.Box.Min.X < w.Min.X+h, o.Box.Max.X > w.Max.X-h
			g.Bottom, g.Top = o.Box.Min.Y < w.Min.Y+h, o.Box.Max.Y > w.Max.Y-h
			if g.Inside() {
				// Open, yet near no side: the rim is slanted there. It is no body.
				g.Left = true
			}
		}
		out = append(out, g)
	}
	return out
}
