package poisson

import "wakeledger/grid"

// Slopes gives ∂f/∂x and ∂f/∂y at all samples by differences of fourth order, one-sided
// next to the border:
//
//	inside  (f₋₂ − 8f₋₁ + 8f₁ − f₂)/12h
//	border  (−25f₀ + 48f₁ − 36f₂ + 16f₃ − 3f₄)/12h
//	next    (−3f₋₁ − 10f₀ + 18f₁ − 6f₂ + f₃)/12h
//
// NaN in f gives NaN wherever a difference touches it.
func Slopes(l Lattice, f []float64) (dx, dy []float64) {
	dx, dy = make([]float64, len(f)), make([]float64, len(f))
	grid.Parallel(l.NY, func(j int) {
		for i := range l.NX {
			k := j*l.NX + i
			dx[k] = difference(f, k, 1, i, l.NX) / l.HX
			dy[k] = difference(f, k, l.NX, j, l.NY) / l.HY
		}
	})
	return dx, dy
}

// difference is h times the derivative at place k, which is entry i of n along its
// line; neighbours are step places away.
func difference(f []float64, k, step, i, n int) float64 {
	// Near the far border the formulas of the near one apply, seen from behind.
	sign := 1.0
	if i > n-1-i {
		i, step, sign = n-1-i, -step, -1
	}
	at := func(m int) float64 { return f[k+m*step] }
	switch i {
	case 0:
		return sign * (-25*at(0) + 48*at(1) - 36*at(2) + 16*at(3) - 3*at(4)) / 12
	case 1:
		return sign * (-3*at(-1) - 10*at(0) + 18*at(1) - 6*at(2) + at(3)) / 12
	}
	return sign * (at(-2) - 8*at(-1) + 8*at(1) - at(2)) / 12
}
