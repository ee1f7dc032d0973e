// Package delaunay joins scattered samples into a triangle mesh.
//
// In go sample positions in any order; out comes the Delaunay triangulation of
// their convex hull (Triangulate) and, as a second step, the part of it that the
// samples really cover (DropBridges), with the gaps that a body or a contact patch
// leaves in the plane open. Validate checks a triangulation against its
// definition. Values at the samples play no part.
//
// The triangulation is right for every input, because all decisions are made by
// the exact predicates of package predicate: lattices, refined grids with hanging
// nodes, co-circular and collinear runs, and noise in the last digit included.
// Where four or more samples lie on one empty circle the diagonal is a matter of
// choice; the choice depends on the set of positions only, neither on their order
// nor on the number of processors.
//
// References
//
//	[GuibasStolfi] L. Guibas, J. Stolfi, "Primitives for the Manipulation of
//	General Subdivisions and the Computation of Voronoi Diagrams", ACM
//	Transactions on Graphics 4 (1985), 74–123: divide and conquer, the merge.
//	[Dwyer] R. A. Dwyer, "A Faster Divide-and-Conquer Algorithm for Constructing
//	Delaunay Triangulations", Algorithmica 2 (1987), 137–151: cuts in both
//	directions, so that merges touch short rims only.
package delaunay

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
)

// Triangulation is the mesh of the convex hull of the samples. Indices refer to Points.
type Triangulation struct {
	// Points are the distinct positions, neighbours in the plane mostly near in the list, in an
	// order that depends on the set of positions only: corners of a triangle are near each
	// other in memory, which makes every later pass over the mesh several times faster than
	// one over samples in no order. Points[i] is the given sample Order[i], the first one of
	// duplicates.
	Points []grid.Point
	Order  []int32
	// Triangles holds three indices for each triangle, anticlockwise. Triangles
	// that are near each other in the plane are mostly near in the list.
	Triangles []int32
	// Hull runs once anticlockwise round the border, from the leftmost (then
	// lowest) sample, through all samples on the border.
	Hull []int32
	// Adjacent[3t+k] is the triangle across the edge of triangle t that runs from
	// its corner k to the next, or -1 on the hull.
	Adjacent []int32
	// First, if samples repeat the position of an earlier one, has for each given sample
	// the first one at its position, so that a caller can average values; else it is nil.
	// Those that repeat are in no triangle.
	First []int32
}

// Triangulate returns the Delaunay triangulation of points: no sample lies inside
// the circle through the corners of a triangle.
//
// It takes O(n log n) time and, beside the result, 96 bytes a point.
//
// Exact duplicates are left out (the first counts) and reported. 0 and −0 are the
// same coordinate. Refused are a coordinate that is NaN or infinite, fewer than three
// distinct positions, samples on one line, and more samples than 32-bit indices carry.
func Triangulate(points []grid.Point) (*Triangulation, error) {
	if len(points) > maxPoints {
		return nil, fmt.Errorf("%d samples, at most %d can be triangulated at once; split the plane", len(points), maxPoints)
	}
	if i := slices.IndexFunc(points, func(p grid.Point) bool { return math.IsNaN(p.X-p.X) || math.IsNaN(p.Y-p.Y) }); i >= 0 {
		return nil, fmt.Errorf("sample %d has no position: (%g, %g); remove the row or repair the coordinate", i, points[i].X, points[i].Y)
	}
	pts, box := make([]vertex, len(points)), grid.Bounds(points)
	share(len(points), func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			pts[i] = vertex{points[i], int32(i)}
		}
	})
	if len(pts) < 3 || onLine(points, box) {
		if n := len(distinct(pts)); n < 3 {
			return nil, fmt.Errorf("%d distinct sample positions, at least 3 are needed for a triangle", n)
		}
		return nil, fmt.Errorf("all %d samples lie on one line within rounding (window %v); a plane needs a second direction, check which columns are the in-plane coordinates", len(points), box)
	}

	b := newBuilder(pts)
	rim := b.build(0, len(b.pts), box, 0)
	var first []int32
	if b.duplicate.Load() {
		// Rare, so the search stopped at the first one: start again without.
		first, pts = firsts(pts), distinct(pts)
		b = newBuilder(pts)
		rim = b.build(0, len(b.pts), box, 0)
	}
	t := b.extract(rim)
	b.edges = nil // lets the collector have them
	t.First = first
	t.Points, t.Order = make([]grid.Point, len(b.pts)), make([]int32, len(b.pts))
	share(len(b.pts), func(_, lo, hi int) {
		for i, v := range b.pts[lo:hi] {
			t.Points[lo+i], t.Order[lo+i] = v.Point, v.id
		}
	})
	return t, nil
}

// maxPoints keeps six half-edges a point within int32.
const maxPoints = (1<<31 - 1) / 6

// vertex is a sample on its way through the construction: sorted copies keep
// neighbours in the plane near each other in memory.
type vertex struct {
	grid.Point
	id int32
}

// largest is the greatest absolute coordinate of b.
func largest(b grid.Box) float64 {
	return max(math.Abs(b.Min.X), math.Abs(b.Max.X), math.Abs(b.Min.Y), math.Abs(b.Max.Y))
}

// onLine reports whether all points lie on one line as far as the rounding of
// their coordinates lets one say.
//
// Let r be the largest error of a coordinate: half a unit in the last place of
// the largest one. A point that belongs on the line
// is off it by r√2 at most, and so are the two points that the line is drawn
// through; between these two, which are the outermost ones, the line is off by no
// more. That makes 2√2 r. The evaluation of the distance adds rounding errors of
// both differences, products and their difference, each less than 2 r: 8 r in all,
// doubled for points that were computed (a product and a sum, say) before they
// were rounded.
func onLine(points []grid.Point, box grid.Box) bool {
	r := largest(box) * 0x1p-53
	alongX := box.Max.X-box.Min.X >= box.Max.Y-box.Min.Y
	lo, hi := points[0], points[0]
	for _, p := range points {
		if alongX && p.X < lo.X || !alongX && p.Y < lo.Y {
			lo = p
		}
		if alongX && p.X > hi.X || !alongX && p.Y > hi.Y {
			hi = p
		}
	}
	dx, dy := hi.X/2-lo.X/2, hi.Y/2-lo.Y/2 // halves cannot overflow
	length := math.Hypot(dx, dy)
	if length == 0 {
		return true
	}
	dx, dy = dx/length, dy/length
	for _, p := range points {
		d := float64((p.X/2-lo.X/2)*dy) - float64((p.Y/2-lo.Y/2)*dx)
		if !(math.Abs(d) <= 8*r) {
			return false
		}
	}
	return true
}
