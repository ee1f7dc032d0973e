package measure_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// TestLevelLinesAlongTheLines: where the sides of a wake run along the lines of samples, an area depends on
// where between two of them they stand. More than half of that is taken off of sides that two samples stand
// on, more than a quarter of thinner ones.
func TestLevelLinesAlongTheLines(t *testing.T) {
	const h, half, threshold, places = 0.05, 0.3, 0.1, 10
	for _, c := range []struct{ thick, most float64 }{{1.2 * h, 0.75}, {1.8 * h, 0.5}} {
		side := func(x float64) float64 { return (math.Erf((x+half)/c.thick) - math.Erf((x-half)/c.thick)) / 2 }
		var drawn, rest []float64
		for k := range places {
			off := h * (float64(k) + 0.5) / places
			field := func(y, z float64) waketest.State { return waketest.State{U: 1 - 0.4*side(y-off)*side(z-off)} }
			m := mustTake(t, plane(t, waketest.Lattice(field, -0.8, 0.8, -0.8, 0.8, 33, 33), grid.Nodes),
				measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit, Thresholds: []float64{threshold}, Section: noWakeOnly})
			a := m.Result.Wake.Areas[0]
			drawn, rest = append(drawn, a.Area+a.Corrected), append(rest, a.Area)
		}
		if s, before := stat.StdDev(rest, nil), stat.StdDev(drawn, nil); s > c.most*before {
			t.Errorf("sides of %g m: by their place the areas scatter by %.5f m2, %.5f before what level lines do is taken off", c.thick, s, before)
		}
	}
}
