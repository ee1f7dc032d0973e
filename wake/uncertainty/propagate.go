package uncertainty

import "math"

// Propagate is the law of propagation of uncertainty: with sensitivities c,
// standard uncertainties u and correlations r of the inputs,
//
//	u_c² = ΣΣ cᵢ cⱼ uᵢ uⱼ rᵢⱼ
//
// r is square and symmetric with ones on its diagonal; nil means inputs that
// are independent. The result is NaN where the lengths do not fit, and 0 where
// rounding of strongly correlated inputs would leave a negative square. Source:
// JCGM 100:2008, 5.2.2.
func Propagate(c, u []float64, r [][]float64) float64 {
	if len(c) != len(u) || r != nil && len(r) != len(u) {
		return math.NaN()
	}
	var sum float64
	for i := range c {
		sum += c[i] * c[i] * u[i] * u[i]
		if r == nil {
			continue
		}
		if len(r[i]) != len(u) {
			return math.NaN()
		}
		for j := range i {
			sum += 2 * c[i] * c[j] * u[i] * u[j] * r[i][j]
		}
	}
	if sum < 0 {
		return 0
	}
	return math.Sqrt(sum)
}

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
	var scale float64
	for _, v := range u {
		scale = math.Max(scale, math.Abs(v))
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
