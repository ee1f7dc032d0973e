package measure_test

import (
	"testing"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// An offset b of the weight over the window S pulls the centroid toward the window's
// middle by bS(y_c − ȳ)/(M + bS), M being the weight's integral without it. Counted
// from the edge's level, where the wake has died away, place and width are the wake's
// own: those of the Gaussian's total-pressure loss, of variance 15/14 σ².
func TestShapeFromTheEdgeLevel(t *testing.T) {
	const y0, z0, b = 0.4, -0.3, 0.01
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, y0, z0), -1, 3, -2, 2, 161, 161), grid.Nodes)
	ref := waketest.Reference()
	ref.TotalPressure = ref.Pressure + (1+b)*ref.Dynamic()
	r := run(t, p, measure.Options{Floor: "none", Reference: ref, Weight: measure.WeightTotalPressure})
	const m, s = 0.21991149, 16.0
	near(t, "pulled y", r.Wake.Centroid[0], y0+b*s*(1-y0)/(m+b*s), 1e-5)
	near(t, "pulled z", r.Wake.Centroid[1], z0+b*s*(0-z0)/(m+b*s), 1e-5)
	l := r.Wake.Levelled
	near(t, "level", l.Level, b, 1e-9)
	near(t, "integral", l.Integral, m, 1e-6)
	near(t, "y", l.Centroid[0], y0, 1e-6)
	near(t, "z", l.Centroid[1], z0, 1e-6)
	h := 4.0 / 160
	near(t, "variance", l.Spread[0]*l.Spread[0]-h*h/6, 15.0/14*0.04, 1e-5)
}
