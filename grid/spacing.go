package grid

import "math"

// Spacing is the median distance of neighbouring samples, m: on a lattice the
// root of the product of the two median line distances, elsewhere the median
// length of a side of a triangle, or the median root of a cell's area.
func (m *Mesh) Spacing() float64 { return m.spacing.get(m.findSpacing) }

func (m *Mesh) findSpacing() float64 {
	switch m.Kind {
	case KindLattice:
		step := func(a []float64) float64 {
			return Median(Fill(len(a)-1, func(i int) float64 { return a[i+1] - a[i] }))
		}
		return math.Sqrt(step(m.Lattice.X) * step(m.Lattice.Y))
	case KindCells:
		return Median(Fill(len(m.Points), func(i int) float64 { return math.Sqrt(math.Abs(m.Cells.Area(i))) }))
	}
	// Every side of a thinned choice of triangles is enough for a median.
	const probe = 1 << 16
	step := 3 * max(1, len(m.Triangles)/3/probe)
	var d []float64
	for t := 0; t+2 < len(m.Triangles); t += step {
		for k := range 3 {
			a, b := m.Points[m.Triangles[t+k]], m.Points[m.Triangles[t+(k+1)%3]]
			d = append(d, math.Hypot(a.X-b.X, a.Y-b.Y))
		}
	}
	return Median(d)
}
