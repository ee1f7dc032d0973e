package waketest

import (
	"math"
	"math/rand/v2"
)

// SharedNoise is noise of unit variance with the correlation exp(−r²/2L²) at the places
// of Lattice(f, 0, side, 0, side, n, n), in their order: independent normal numbers on a
// lattice that reaches further, smoothed with exp(−r²/L²) along either axis.
func SharedNoise(r *rand.Rand, n int, side, L float64) []float64 {
	h := side / float64(n-1)
	reach := int(3 * L / h)
	kernel := make([]float64, 2*reach+1)
	var sq float64
	for k := range kernel {
		d := float64(k-reach) * h / L
		kernel[k] = math.Exp(-d * d)
		sq += kernel[k] * kernel[k]
	}
	wide := n + 2*reach
	rows := make([]float64, wide*n)
	for j := range wide {
		line := make([]float64, wide)
		for i := range line {
			line[i] = r.NormFloat64()
		}
		for i := range n {
			for k, w := range kernel {
				rows[j*n+i] += w * line[i+k]
			}
		}
	}
	out := make([]float64, n*n)
	for j := range n {
		for i := range n {
			for k, w := range kernel {
				out[j*n+i] += w * rows[(j+k)*n+i] / sq
			}
		}
	}
	return out
}
