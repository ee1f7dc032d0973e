package poisson

import (
	"math"

	"wakeledger/grid"
)

// Resample interpolates fields of a mesh, one value a mesh sample each, at the
// samples of a lattice: bilinear on a lattice, linear on triangles, so of second
// order. Cells of every kind are first made nodal (grid.Mesh.Nodal).
//
// Lattice samples that no element covers, inside an opening or outside the rim, are NaN. A
// NaN in a field spreads to the samples of the elements that it is a corner of.
func Resample(m *grid.Mesh, to Lattice, fields ...[]float64) [][]float64 {
	nodal := m
	nodalFields := make([][]float64, len(fields))
	for q, f := range fields {
		nodal, nodalFields[q] = m.Nodal(f)
	}
	locator := grid.NewLocator(nodal)
	out := grid.Fill(len(fields), func(int) []float64 { return make([]float64, to.Len()) })
	grid.Parallel(to.NY, func(j int) {
		for k := j * to.NX; k < (j+1)*to.NX; k++ {
			shares, n, ok := locator.At(to.Point(k))
			for q, f := range nodalFields {
				v := 0.0
				for _, s := range shares[:n] {
					v += s.Weight * f[s.Sample]
				}
				if !ok {
					v = math.NaN()
				}
				out[q][k] = v
			}
		}
	})
	return out
}
