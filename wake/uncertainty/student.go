package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// StudentFactor returns t with P(|T| ≤ t) = level for Student's distribution with
// dof degrees of freedom, which need not be whole; the normal distribution's
// factor for +Inf. NaN unless 0 < level < 1 and dof > 0.
func StudentFactor(level, dof float64) float64 {
	if !(level > 0 && level < 1) || !(dof > 0) {
		return math.NaN()
	}
	if math.IsInf(dof, 1) {
		return distuv.UnitNormal.Quantile((1 + level) / 2)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + level) / 2)
}

// StudentCDF is P(T ≤ t) with dof degrees of freedom, the normal distribution's
// for +Inf. NaN unless dof > 0.
func StudentCDF(t, dof float64) float64 {
	switch {
	case !(dof > 0) || math.IsNaN(t):
		return math.NaN()
	case math.IsInf(dof, 1):
		return distuv.UnitNormal.CDF(t)
	case math.IsInf(t, 0):
		if t > 0 {
			return 1
		}
		return 0
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.CDF(t)
}

// FewDOF is the number of degrees of freedom below which the coverage factor is
// Student's t.
//
// It is 30: 2 is t for 60. With 10, as many take it, the interval of a mean with 12 degrees
// of freedom would be 8 % too short, which blocks of a record and repeats have all the
// time.
const FewDOF = 30

// Coverage is the factor from a standard uncertainty with dof degrees of freedom
// to an expanded one for about 95 %: 2, or Student's t below FewDOF. NaN unless
// dof > 0. Source: JCGM 100:2008, 6.3.3 and G.4.
func Coverage(dof float64) float64 {
	if dof >= FewDOF {
		return 2
	}
	return StudentFactor(0.95, dof)
}

// CoverageNormal is Coverage where the degrees of freedom are many.
const CoverageNormal = 2
