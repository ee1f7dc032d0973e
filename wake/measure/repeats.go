package measure

import (
	"math"

	"wakeledger/wake/uncertainty"
)

// Pool is what each headline number scatters by when a survey is repeated: the standard
// deviation of one run, pooled over configurations, and its degrees of freedom Σ(nᵢ−1). groups
// holds, by configuration, the numbers of its runs. A number that a run lacks (NaN) is left
// out; with no configuration of two runs it has 0 degrees of freedom.
func Pool(groups [][]Vector) (sd, dof []float64) {
	n := 0
	for _, runs := range groups {
		for _, run := range runs {
			n = max(n, len(run))
		}
	}
	for i := range n {
		var samples []uncertainty.Sample
		for _, runs := range groups {
			var v []float64
			for _, run := range runs {
				if i < len(run) && !math.IsNaN(run[i]) {
					v = append(v, run[i])
				}
			}
			samples = append(samples, uncertainty.NewSample(v))
		}
		s, nu := uncertainty.Pooled(samples...)
		sd, dof = append(sd, s), append(dof, nu)
	}
	return sd, dof
}
