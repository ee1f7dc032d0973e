package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

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
	if !(dof > 0) {
		return math.NaN()
	}
	return distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(0.975)
}

// CoverageNormal is Coverage where the degrees of freedom are many.
const CoverageNormal = 2
