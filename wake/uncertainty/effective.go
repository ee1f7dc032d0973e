package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// EffectiveDOF is the Welch–Satterthwaite formula for independent contributions
// with standard uncertainties u and degrees of freedom dof:
//
//	ν = u_c⁴ / Σ uᵢ⁴/νᵢ
//
// A dof of +Inf is a contribution that is taken as exactly known. The result is
// +Inf where all are, or where there is no contribution, and NaN where a dof is
// not positive. Source: JCGM 100:2008, G.4.1, equation G.2b.
func EffectiveDOF(u, dof []float64) float64 {
	// The largest contribution is the scale: fourth powers of small numbers would
	// vanish.
	scale := 0.0
	if len(u) > 0 {
		scale = floats.Norm(u, math.Inf(1))
	}
	if scale == 0 || math.IsInf(scale, 0) {
		return math.Inf(1)
	}
	var sq, den float64
	for i, v := range u {
		if !(dof[i] > 0) {
			return math.NaN()
		}
		v /= scale
		sq += v * v
		den += v * v * v * v / dof[i]
	}
	return sq * sq / den
}

// OffStandard is the standard uncertainty that represents an error of known size, left
// in the value, beside a scatter: the one for which two standard uncertainties of all
// hold the truth in 95 of a hundred cases. With the scatter s and the standard
// uncertainty v of the error b, U is such that a normal number of mean b and standard
// deviation √(s²+v²) lies within ± U with 95 %; then √(U²/4 − s²). For b far above the
// scatter that is little more than b/2.
func OffStandard(b, s, v float64) float64 {
	b = math.Abs(b)
	all := math.Hypot(s, v)
	if all == 0 {
		return b / CoverageNormal
	}
	normal := func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
	_, hi := bisect(b, b+2*all, 60, func(x float64) bool { return normal((x-b)/all)-normal((-x-b)/all) < 0.95 })
	return math.Sqrt(math.Max(0, hi*hi/CoverageNormal/CoverageNormal-s*s))
}

// bisect halves the range from lo to hi n times, towards where low turns from true to false.
func bisect(lo, hi float64, n int, low func(x float64) bool) (float64, float64) {
	for range n {
		if mid := (lo + hi) / 2; low(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, hi
}
