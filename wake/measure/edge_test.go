package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestWithinScatter: a residual that is what noise makes of a mean of nought is told
// from one of a step that a few border samples stand beside, and from a level.
func TestWithinScatter(t *testing.T) {
	const n, sd = 400, 0.01
	rng := rand.New(rand.NewPCG(3, 4))
	quiet, edge := make([]float64, n), make([]int32, n)
	for i := range quiet {
		quiet[i], edge[i] = math.Abs(sd*rng.NormFloat64()), int32(i)
	}
	step := append([]float64(nil), quiet...)
	for i := range 20 {
		step[i] = 0.3
	}
	for _, c := range []struct {
		name     string
		residual []float64
		mean     float64
		want     bool
	}{
		// The standard error of the mean is sd/20 = 0.0005.
		{"noise", quiet, 0.0012, true},
		{"a level beyond the noise", quiet, 0.0025, false},
		{"a step of 0.3 beside 20 of 400 samples", step, 0.0025, false},
		{"no scatter", make([]float64, n), 1e-9, false},
	} {
		e := &Edge{Residual: c.mean}
		if got := e.withinScatter(&Scatter{residual: c.residual}, edge); got != c.want {
			t.Errorf("%s: mean %g within the scatter: %v, want %v", c.name, c.mean, got, c.want)
		}
	}
}
