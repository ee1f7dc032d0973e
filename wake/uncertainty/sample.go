package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Sample sums up repeated values: their number, mean and standard deviation with
// n−1, which is NaN for fewer than two values (and the mean for none).
type Sample struct {
	N        int
	Mean, SD float64
}

// NewSample sums up v.
func NewSample(v []float64) Sample {
	s := Sample{N: len(v), Mean: math.NaN(), SD: math.NaN()}
	if s.N == 0 {
		return s
	}
	s.Mean = mean(v)
	if s.N > 1 {
		s.SD = stat.StdDev(v, nil)
	}
	return s
}

// Standard is the standard uncertainty of the mean, SD/√n. Source: JCGM 100:2008,
// 4.2.3.
func (s Sample) Standard() float64 { return s.SD / math.Sqrt(float64(s.N)) }

// Welch compares two means without the assumption of one variance. Difference is
// b − a.
type Welch struct {
	Difference, Standard, T, DOF float64
}

// NewWelch compares the means of a and b:
//
//	t = (m_b − m_a)/√(s_a²/n_a + s_b²/n_b)
//
// with the degrees of freedom of EffectiveDOF. Both need at least two values,
// else Standard, T and DOF are NaN. Where neither varies, Standard is 0, T is ±Inf
// (NaN without a difference) and DOF is +Inf. Sources: Welch 1947 (Biometrika 34,
// 28); NIST Dataplot, two-sample t-test.
func NewWelch(a, b Sample) Welch {
	w := Welch{Difference: b.Mean - a.Mean, Standard: math.NaN(), T: math.NaN(), DOF: math.NaN()}
	if a.N < 2 || b.N < 2 {
		return w
	}
	ua, ub := a.Standard(), b.Standard()
	w.Standard = math.Hypot(ua, ub)
	w.T = w.Difference / w.Standard
	w.DOF = EffectiveDOF([]float64{ua, ub}, []float64{float64(a.N - 1), float64(b.N - 1)})
	return w
}

// Pooled is the standard deviation that several samples have together,
// √(Σ(nᵢ−1)sᵢ² / Σ(nᵢ−1)), with its degrees of freedom Σ(nᵢ−1). Samples of fewer
// than two values add nothing; without any other, sd is NaN and dof 0. Source:
// JCGM 100:2008, H.3.6 and ISO 5725-2, 7.4 (formula from memory).
func Pooled(samples ...Sample) (sd, dof float64) {
	var sq float64
	for _, s := range samples {
		if s.N > 1 {
			sq += float64(s.N-1) * s.SD * s.SD
			dof += float64(s.N - 1)
		}
	}
	if dof == 0 {
		return math.NaN(), 0
	}
	return math.Sqrt(sq / dof), dof
}
