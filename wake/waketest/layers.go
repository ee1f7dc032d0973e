package waketest

import (
	"math"
	"slices"

	"wakeledger/wake"
)

// FloorLayer puts a 1/7-power boundary layer of thickness delta on the floor z = 0
// under a field: u_e = (z/δ)^(1/7) below δ, and the field's own deficit is taken off
// u_e. Its displacement thickness is δ/8, its momentum thickness 7δ/72 (H.
// Schlichting, Boundary-Layer Theory, from memory; both follow from the power).
func FloorLayer(f Field, delta float64) Field {
	return func(y, z float64) State {
		s := f(y, z)
		if z < delta {
			s.U -= 1 - math.Pow(math.Max(z, 0)/delta, 1.0/7)
		}
		return s
	}
}

// Uniform is a field of one state.
func Uniform(s State) Field { return func(y, z float64) State { return s } }

// Rows samples f at all pairs of the abscissae and ordinates, which need not be
// evenly spaced.
func Rows(f Field, ys, zs []float64) *wake.Samples {
	var a, b []float64
	for _, z := range zs {
		for _, y := range ys {
			a, b = append(a, y), append(b, z)
		}
	}
	return Samples(f, a, b)
}

// Steps returns n+1 values from lo to hi, evenly spaced.
func Steps(lo, hi float64, n int) []float64 {
	out := make([]float64, n+1)
	for i := range out {
		out[i] = lo + (hi-lo)*float64(i)/float64(n)
	}
	return out
}

// Graded returns heights from 0 to hi that follow a 1/7-power layer of thickness
// delta: n quadratic steps up to delta, then even ones of about the last one's size.
func Graded(delta, hi float64, n int) []float64 {
	var out []float64
	for j := range n {
		s := float64(j) / float64(n)
		out = append(out, delta*s*s)
	}
	last := delta - out[n-1]
	return slices.Concat(out, Steps(delta, hi, max(1, int(math.Round((hi-delta)/last)))))
}

// Total gives the samples a total pressure of p + ½ρ|V|² (ρ = 1) and, if law is not
// nil, law(p, ½|V|²) instead.
func Total(s *wake.Samples, law func(p, k float64) float64) {
	s.Col[wake.Pt] = make([]float64, s.N)
	for i := range s.N {
		u, v, w := s.Col[wake.U][i], s.Col[wake.V][i], s.Col[wake.W][i]
		p, k := s.Col[wake.P][i], (u*u+v*v+w*w)/2
		if s.Col[wake.Pt][i] = p + k; law != nil {
			s.Col[wake.Pt][i] = law(p, k)
		}
	}
}
