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
func Validate(m *grid.Mesh) (err error) {
	check := func(sound bool, format string, a ...any) {
		if !sound && err == nil {
			err = fmt.Errorf(format, a...)
		}
	}
	n := len(m.Points)
	for i, p := range m.Points {
		check(!math.IsNaN(p.X-p.X) && !math.IsNaN(p.Y-p.Y), "point %d is not finite: %v", i, p)
	}
	check(m.SampleArea == nil || len(m.SampleArea) == n, "%d sample areas for %d points", len(m.SampleArea), n)
	for i, a := range m.SampleArea {
		check(a >= 0 && a <= math.MaxFloat64, "sample %d has an area of %g", i, a)
	}
	within := func(what string, index []int32, n int) {
		for k, i := range index {
			check(i >= 0 && int(i) < n, "%s %d names point %d of %d", what, k, i, n)
		}
	}
	switch m.Kind {
	case grid.KindLattice:
		l := m.Lattice
		check(len(l.X) > 1 && len(l.Y) > 1 && len(l.Index) == len(l.X)*len(l.Y), "no lattice of 2 × 2 lines or more with a place for each crossing: %+v", l)
		for _, a := range [][]float64{l.X, l.Y} {
			for i := range a[1:] {
				check(a[i+1] > a[i], "line %d at %g does not lie beyond line %d at %g", i+1, a[i+1], i, a[i])
			}
		}
		taken := slices.DeleteFunc(slices.Clone(l.Index), func(i int32) bool { return i == -1 })
		within("place", taken, n)
		slices.Sort(taken)
		check(len(slices.Compact(slices.Clone(taken))) == len(taken), "a sample stands in two places")
	case grid.KindCells:
		c := m.Cells
		check(c.Len() == n, "%d cells for %d samples", c.Len(), n)
		within("cell corner", c.Index, len(c.Corners))
		for e := 0; err == nil && e < n; e++ {
			check(c.Area(e) > 0, "cell %d is not anticlockwise", e)
		}
	default:
		check(len(m.Triangles)%3 == 0, "%d triangle corners are not a multiple of three", len(m.Triangles))
		within("triangle corner", m.Triangles, n)
		for t := 0; err == nil && t < len(m.Triangles); t += 3 {
			a := m.Points[m.Triangles[t]]
			check(grid.TriangleArea(a, m.Points[m.Triangles[t+1]], m.Points[m.Triangles[t+2]]) > 0, "triangle %d at %v is not anticlockwise", t/3, a)
		}
		f := m.Faces
		check(f == nil || len(f) > 0 && f[0] == 0 && int(f[len(f)-1]) == len(m.Triangles)/3 && slices.IsSorted(f), "the polygons do not share out the %d triangles", len(m.Triangles)/3)
	}
	return err
}
