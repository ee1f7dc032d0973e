package measure

import (
	"math"

	"wakeledger/grid"
)

// chordError estimates how far the field that is linear between the samples lies
// above the true one near each sample, on the mean: h²f″/12 for each axis of a
// lattice, from second differences; elsewhere a third of the mean distance of the
// neighbours' values from the tangent plane, which is the same on a lattice. Where
// cells are first averaged to their corners, that is in it too. 0 where it cannot
// be had.
func chordError(m *grid.Mesh, f []float64) []float64 {
	out := make([]float64, len(f))
	switch {
	case m.Kind == grid.KindLattice:
		latticeChord(m.Lattice, f, out)
	case len(m.Triangles) > 0:
		gx, gy := m.Gradient(f)
		count := make([]float64, len(f))
		for t := 0; t < len(m.Triangles); t += 3 {
			for a := range 3 {
				i := m.Triangles[t+a]
				for _, b := range [2]int{(a + 1) % 3, (a + 2) % 3} {
					j := m.Triangles[t+b]
					p, q := m.Points[i], m.Points[j]
					out[i] += f[j] - f[i] - gx[i]*(q.X-p.X) - gy[i]*(q.Y-p.Y)
					count[i]++
				}
			}
		}
		for i, n := range count {
			if out[i] /= 3 * n; math.IsNaN(out[i]) {
				out[i] = 0
			}
		}
	default:
		nodal, g := m.Nodal(f)
		loc := grid.NewLocator(nodal)
		for i, p := range m.Points {
			shares, n, ok := loc.At(p)
			if !ok {
				continue
			}
			v := -f[i]
			for _, s := range shares[:n] {
				v += s.Weight * g[s.Sample]
			}
			out[i] = v * 4 / 3
		}
	}
	return out
}

func latticeChord(l *grid.Lattice, f, out []float64) {
	nx, ny := len(l.X), len(l.Y)
	// second is h²f″ over three neighbours on a line, h² being the product of the two
	// distances.
	second := func(a []float64, k int, start, step int) float64 {
		if k == 0 || k == len(a)-1 {
			return 0
		}
		s := [3]int32{l.Index[start+(k-1)*step], l.Index[start+k*step], l.Index[start+(k+1)*step]}
		if s[0] < 0 || s[1] < 0 || s[2] < 0 {
			return 0
		}
		h0, h1 := a[k]-a[k-1], a[k+1]-a[k]
		return 2 * (h0*(f[s[2]]-f[s[1]]) - h1*(f[s[1]]-f[s[0]])) / (h0 + h1)
	}
	for j := range ny {
		for i := range nx {
			if s := l.Index[j*nx+i]; s >= 0 {
				out[s] = (second(l.X, i, j*nx, 1) + second(l.Y, j, i, nx)) / 12
			}
		}
	}
}
