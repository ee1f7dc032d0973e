package measure_test

import (
	"math"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// TestExtent: a Gaussian deficit u = 1 − ε e^(−r²/2σ²) reaches the deficit t at
// r = σ√(2 ln(ε/t)); a speck of noise far outside does not move the edge.
func TestExtent(t *testing.T) {
	const eps, sigma, y0, z0, level = 0.5, 0.2, 0.1, -0.05, 0.1
	g := waketest.Gaussian(eps, sigma, y0, z0)
	f := func(y, z float64) waketest.State {
		s := g(y, z)
		if math.Hypot(y-0.8, z-0.8) < 0.02 {
			s.U -= 0.4
		}
		return s
	}
	take := func(thresholds []float64) *measure.Measurement {
		m := mustTake(t, waketest.Plane(t, waketest.Lattice(f, -1, 1, -1, 1, 201, 201), wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit, Thresholds: thresholds})
		return m
	}
	r := sigma * math.Sqrt(2*math.Log(eps/level))
	e := take([]float64{level}).Extent()
	if e == nil || e.Threshold != level {
		t.Fatalf("extent %+v", e)
	}
	// The chord of a line of curvature 1/r between samples of 0.01 leaves it by
	// h²/8r at most, and interpolation of the Gaussian by about as much.
	for k, want := range []float64{y0 - r, y0 + r, z0 - r, z0 + r} {
		got := append(e.Y[:], e.Z[:]...)[k]
		if math.Abs(got-want) > 2e-4 {
			t.Errorf("edge %d at %.5f, want %.5f", k, got, want)
		}
	}
	if e := take([]float64{5}).Extent(); e != nil {
		t.Errorf("at a threshold that is not reached: %+v", e)
	}
}
