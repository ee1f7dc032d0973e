package gridtest

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
)

// Validate checks what every function of a mesh relies on and names the first rule that is
// broken and where: finite points, indices in range, lines increasing, triangles with
// positive area.
func Validate(m *grid.Mesh) error {
	bad := fmt.Errorf
	for i, p := range m.Points {
		if math.IsNaN(p.X-p.X) || math.IsNaN(p.Y-p.Y) {
			return bad("point %d is not finite: (%g, %g)", i, p.X, p.Y)
		}
	}
	n := int32(len(m.Points))
	if m.SampleArea != nil {
		if len(m.SampleArea) != len(m.Points) {
			return bad("%d sample areas for %d points", len(m.SampleArea), n)
		}
		for i, a := range m.SampleArea {
			if !(a >= 0 && a <= math.MaxFloat64) {
				return bad("sample %d has an area of %g", i, a)
			}
		}
	}
	switch m.Kind {
	case grid.KindLattice:
		l := m.Lattice
		if l == nil {
			return bad("kind lattice without lines")
		}
		if len(l.X) < 2 || len(l.Y) < 2 {
			return bad("%d × %d lines, at least 2 × 2 are needed", len(l.X), len(l.Y))
		}
		if len(l.Index) != len(l.X)*len(l.Y) {
			return bad("%d places for %d × %d lines", len(l.Index), len(l.X), len(l.Y))
		}
		for _, a := range [][]float64{l.X, l.Y} {
			for i := 1; i < len(a); i++ {
				if !(a[i] > a[i-1]) {
					return bad("line %d at %g does not lie beyond line %d at %g", i, a[i], i-1, a[i-1])
				}
			}
		}
		seen := make([]bool, n)
		for k, i := range l.Index {
			if i < -1 || i >= n {
				return bad("place %d names sample %d of %d", k, i, n)
			}
			if i >= 0 {
				if seen[i] {
					return bad("sample %d stands in two places", i)
				}
				seen[i] = true
			}
		}
	case grid.KindTriangles, grid.KindPolygons:
		if len(m.Triangles)%3 != 0 {
			return bad("%d triangle corners are not a multiple of three", len(m.Triangles))
		}
		for t := 0; t < len(m.Triangles); t += 3 {
			for _, i := range m.Triangles[t : t+3] {
				if i < 0 || i >= n {
					return bad("triangle %d names point %d of %d", t/3, i, n)
				}
			}
			a, b, c := m.Points[m.Triangles[t]], m.Points[m.Triangles[t+1]], m.Points[m.Triangles[t+2]]
			if !(grid.TriangleArea(a, b, c) > 0) {
				return bad("triangle %d at (%g, %g) is not anticlockwise", t/3, a.X, a.Y)
			}
		}
		if f := m.Faces; f != nil && (len(f) == 0 || f[0] != 0 || int(f[len(f)-1]) != len(m.Triangles)/3 || !slices.IsSorted(f)) {
			return bad("the polygons do not share out the %d triangles", len(m.Triangles)/3)
		}
	case grid.KindCells:
		if m.Cells == nil || len(m.Cells.Start) != int(n)+1 {
			return bad("cells do not match the %d samples", n)
		}
		for e := range m.Cells.Len() {
			if m.Cells.Start[e] > m.Cells.Start[e+1] || int(m.Cells.Start[e+1]) > len(m.Cells.Index) {
				return bad("cell %d has the corners %d to %d of %d", e, m.Cells.Start[e], m.Cells.Start[e+1], len(m.Cells.Index))
			}
			for _, i := range m.Cells.Polygon(e) {
				if i < 0 || int(i) >= len(m.Cells.Corners) {
					return bad("cell %d names corner %d of %d", e, i, len(m.Cells.Corners))
				}
			}
			if !(m.Cells.Area(e) > 0) {
				return bad("cell %d at (%g, %g) is not anticlockwise", e, m.Points[e].X, m.Points[e].Y)
			}
		}
	}
	return nil
}
