package measure

import "wakeledger/grid"

// latticeChord fills in the chord error of a field on a lattice.
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
