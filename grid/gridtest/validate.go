package gridtest

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
)

var bad = fmt.Errorf

// Validate checks what every function of a mesh relies on and names the first rule that is
// broken and where: finite points, indices in range, lines increasing, triangles with
// positive area.
func Validate(m *grid.Mesh) error {
	for i, p := range m.Points {
		if math.IsNaN(p.X-p.X) || math.IsNaN(p.Y-p.Y) {
			return bad("point %d is not finite: (%g, %g)", i, p.X, p.Y)
		}
	}
	n := len(m.Points)
	if m.SampleArea != nil && len(m.SampleArea) != n {
		return bad("%d sample areas for %d points", len(m.SampleArea), n)
	}
	for i, a := range m.SampleArea {
		if !(a >= 0 && a <= math.MaxFloat64) {
			return bad("sample %d has an area of %g", i, a)
		}
	}
	switch m.Kind {
	case grid.KindLattice:
		return lattice(m.Lattice, n)
	case grid.KindCells:
		return cells(m.Cells, n)
	}
	return triangles(m)
}

// within names the first index that is not one of n.
func within(what string, index []int32, n int) error {
	for k, i := range index {
		if i < 0 || int(i) >= n {
			return bad("%s %d names point %d of %d", what, k, i, n)
		}
	}
	return nil
}

func lattice(l *grid.Lattice, n int) error {
	if l == nil || len(l.X) < 2 || len(l.Y) < 2 || len(l.Index) != len(l.X)*len(l.Y) {
		return bad("no lattice of 2 × 2 lines or more with a place for each crossing: %+v", l)
	}
	for _, a := range [][]float64{l.X, l.Y} {
		for i := 1; i < len(a); i++ {
			if !(a[i] > a[i-1]) {
				return bad("line %d at %g does not lie beyond line %d at %g", i, a[i], i-1, a[i-1])
			}
		}
	}
	taken := slices.DeleteFunc(slices.Clone(l.Index), func(i int32) bool { return i == -1 })
	slices.Sort(taken)
	if len(slices.Compact(slices.Clone(taken))) != len(taken) {
		return bad("a sample stands in two places")
	}
	return within("place", taken, n)
}

func triangles(m *grid.Mesh) error {
	if len(m.Triangles)%3 != 0 {
		return bad("%d triangle corners are not a multiple of three", len(m.Triangles))
	}
	if err := within("triangle corner", m.Triangles, len(m.Points)); err != nil {
		return err
	}
	for t := 0; t < len(m.Triangles); t += 3 {
		a, b, c := m.Points[m.Triangles[t]], m.Points[m.Triangles[t+1]], m.Points[m.Triangles[t+2]]
		if !(grid.TriangleArea(a, b, c) > 0) {
			return bad("triangle %d at (%g, %g) is not anticlockwise", t/3, a.X, a.Y)
		}
	}
	if f := m.Faces; f != nil && (len(f) == 0 || f[0] != 0 || int(f[len(f)-1]) != len(m.Triangles)/3 || !slices.IsSorted(f)) {
		return bad("the polygons do not share out the %d triangles", len(m.Triangles)/3)
	}
	return nil
}

func cells(c *grid.CellSet, n int) error {
	if c == nil || len(c.Start) != n+1 || !slices.IsSorted(c.Start) || int(c.Start[n]) > len(c.Index) {
		return bad("cells do not match the %d samples", n)
	}
	if err := within("cell corner", c.Index, len(c.Corners)); err != nil {
		return err
	}
	for e := range c.Len() {
		if !(c.Area(e) > 0) {
			return bad("cell %d is not anticlockwise", e)
		}
	}
	return nil
}
