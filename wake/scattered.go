package wake

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
)

// leastPerTriangle: samples that cover an area have about two triangles each; where there
// are fewer than one for so many samples, these lie on a curve or on single rows.
const leastPerTriangle = 4

// each gives do the corners of each triangle, step apart, and its longest and shortest side.
func each(points []grid.Point, triangles []int32, step int, do func(a, b, c grid.Point, long, short float64)) {
	for k := 0; k+2 < len(triangles); k += 3 * step {
		a, b, c := points[triangles[k]], points[triangles[k+1]], points[triangles[k+2]]
		x, y, z := math.Hypot(b.X-a.X, b.Y-a.Y), math.Hypot(c.X-b.X, c.Y-b.Y), math.Hypot(a.X-c.X, a.Y-c.Y)
		do(a, b, c, max(x, y, z), min(x, y, z))
	}
}

// covering counts the triangles that are no slivers: those between samples on one line,
// but for rounding, have no area.
func covering(points []grid.Point, triangles []int32) (n int) {
	const sliver = 1e-6
	each(points, triangles, 1, func(a, b, c grid.Point, long, _ float64) {
		if math.Abs(grid.TriangleArea(a, b, c)) > sliver*long*long {
			n++
		}
	})
	return n
}

const (
	// longTriangles is the length over the shortest side that half of the triangles of a
	// survey do not have: between samples spread over an area it is 1.3 to 2, between rows
	// as far apart as their samples are stretched to be no more, along the arms of a cross
	// it grows with their number.
	longTriangles = 6
	// longProbe is how many triangles are looked at for it.
	longProbe = 4096
)

// elongation is the median, over triangles, of the longest side over the shortest.
func elongation(points []grid.Point, triangles []int32) float64 {
	var of []float64
	each(points, triangles, max(1, len(triangles)/(3*longProbe)), func(_, _, _ grid.Point, long, short float64) {
		of = append(of, long/short)
	})
	return grid.Median(of)
}

// triangles joins scattered samples, or returns those that lie far from all others.
func (p *Plane) triangles(points []grid.Point, support grid.Support, gap float64) (strays []int32, err error) {
	stretch := rowScale(points)
	if stretch != 1 {
		points = slices.Clone(points)
		scaleY(points, stretch)
	}
	t, err := delaunay.Triangulate(points)
	if err != nil {
		return nil, Refuse(p.Name(), flatCure, "%v", err)
	}
	kept := delaunay.DropBridges(t, gap)
	if kept.Strays != nil {
		for _, i := range kept.Strays {
			strays = append(strays, t.Order[i])
		}
		slices.Sort(strays)
		return strays, nil
	}
	p.Merged = len(points) - len(t.Points)
	points = t.Points
	p.merged()
	if support == grid.Cells {
		by := "the file's values belong to cells"
		if p.SupportBy == "flag" || p.SupportBy == "study" {
			by = "cells were asked for"
		}
		p.warn("cells-not-known", "export the cells themselves, or sample on a lattice",
			"%s, but the samples form no lattice, so the area that each represents is not known; they are taken as nodes, and the border half-cells are left out", by)
	}
	if n := covering(points, kept.Triangles); n < len(points)/leastPerTriangle || n == 0 {
		return nil, Refuse(p.Name(), "raise --gap, or export more samples", "all but %d of the triangles between the %d samples bridge gaps or have no area, as between samples on a curve or on single rows", n, len(points))
	}
	if long := elongation(points, kept.Triangles); long > longTriangles {
		return nil, Refuse(p.Name(), "export samples spread over the area, or each arm by itself",
			"half of the triangles between the %d samples are more than %.0f times as long as wide, as between the arms of a cross: what lies there was not sampled", len(points), math.Floor(long))
	}
	p.gather(t.Order, t.First)
	if stretch != 1 {
		scaleY(points, 1/stretch)
		kept.Stretch(1 / stretch)
	}
	p.Mesh = &grid.Mesh{Kind: grid.KindTriangles, Support: grid.Nodes, Points: points, Triangles: kept.Triangles, Bridges: kept.Bridges, Wide: kept.Wide, DroppedArea: kept.DroppedArea}
	p.Mesh.Gaps = gaps(points, kept, p.Mesh.Spacing())
	return nil, nil
}

// scaleY multiplies the second coordinate.
func scaleY(points []grid.Point, by float64) {
	for i := range points {
		points[i].Y *= by
	}
}

// gaps gives the mesher's openings their borders: a gap that is open to the
// outside touches each side of the window that it comes within a sample distance
// of.
func gaps(points []grid.Point, kept *delaunay.Kept, h float64) []grid.Gap {
	w := grid.Bounds(points)
	var out []grid.Gap
	for _, o := range kept.Openings {
		g := o.Gap
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
