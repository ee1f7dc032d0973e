package measure_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// TestLevelLineAtTheFloor: under a body a level line runs along the floor, between the first two rows, where
// a layer has its foot that no row shows. The area's ± holds it, and gains little where the rows are close.
func TestLevelLineAtTheFloor(t *testing.T) {
	const half, top, level = 0.5, 0.75, 0.5
	deficit := func(y, z float64) float64 {
		rise := 0.3 + 0.6*math.Pow(math.Sin(math.Pi/2*math.Min(1, z/0.15)), 2)
		fall := (1 - math.Erf((z-top)/0.1)) / 2
		return rise * fall * (math.Erf((y+half)/0.1) - math.Erf((y-half)/0.1)) / 2
	}
	field := func(y, z float64) waketest.State { return waketest.State{U: 1 - deficit(y, z)} }
	for _, h := range []float64{0.08, 0.02} {
		for k := range 4 {
			floor := h * (0.2 + 0.2*float64(k))
			nz := int(1.2 / h)
			s := waketest.Lattice(field, -1, 1, floor, floor+h*float64(nz-1), int(2/h)+1, nz)
			m := mustTake(t, plane(t, s, grid.Nodes), measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit, Thresholds: []float64{level}})
			var truth float64
			const n = 1200
			for i := range n {
				// Each column has its places elsewhere in the cells: a line along the rows would be off all along.
				_, part := math.Modf(float64(i+1) * math.Phi)
				for j := range n {
					if y, z := -1+2*(float64(i)+0.5)/n, floor+(float64(j)+part)/n; deficit(y, z) > level {
						truth += 2.0 / n / n
					}
				}
			}
			off, u := m.Result.Wake.Areas[0].Area-truth, m.Result.Uncertainty.Areas[0].Expanded
			if math.Abs(off) > u || h < 0.05 && u > 0.003 {
				t.Errorf("rows of %g m from %.3f m: area off by %+.5f m2, ± %.5f", h, floor, off, u)
			}
		}
	}
}
