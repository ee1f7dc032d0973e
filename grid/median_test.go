package grid_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid"
)

// Median is what sorting gives, for random, sorted and constant values, with ties and
// infinities; none gives NaN, and NaN among the values does not hang it.
func TestMedian(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := 1; n < 400; n++ {
		for _, of := range []func(i int) float64{
			func(int) float64 { return rng.NormFloat64() },
			func(i int) float64 { return float64(i) },
			func(i int) float64 { return float64(-i) },
			func(int) float64 { return float64(rng.IntN(3)) },
			func(int) float64 { return 7 },
			func(i int) float64 { return []float64{math.Inf(1), -1, math.Inf(-1)}[i%3] },
		} {
			a := make([]float64, n)
			for i := range a {
				a[i] = of(i)
			}
			b := slices.Clone(a)
			slices.Sort(b)
			if got := grid.Median(a); got != b[n/2] {
				t.Fatalf("%d values: %g, sorting gives %g", n, got, b[n/2])
			}
		}
		a := make([]float64, n)
		for i := range a {
			a[i] = float64(i)
			if rng.IntN(3) == 0 {
				a[i] = math.NaN()
			}
		}
		grid.Median(a)
	}
	if !math.IsNaN(grid.Median(nil)) {
		t.Error("no values have a median")
	}
}
