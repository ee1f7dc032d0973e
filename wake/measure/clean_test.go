package measure_test

import (
	"math"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// Without noise what is left are errors of one sign, which a ± has to hold too: of a wake that
// the window cuts 2.7 to 4.5 widths out the tail, of samples further apart on one side of
// the wake the curvature between them, which moves its centroid.
func TestCleanPlanes(t *testing.T) {
	const eps, sigma = 0.5, 0.2
	round := waketest.Gaussian(eps, sigma, 0, 0)
	f := func(y, z float64) waketest.State { return round(y, z/0.8) }
	want := 0.8 * 2 * math.Pi * sigma * sigma * eps * (2 - eps)
	for _, half := range []float64{0.54, 0.56, 0.58, 0.6, 0.63, 0.68, 0.75, 0.9} {
		r := run(t, waketest.Plane(t, waketest.Lattice(f, -half, half, -half, half, 40, 40), wake.PlaneOptions{SupportBy: "flag"}), measure.Options{})
		d, u := r.Drag.WakeOnly.DragArea, r.Uncertainty.DragArea
		if r.Drag.Headline == measure.ByMomentum {
			d = r.Drag.Momentum.DragArea
		}
		if u == nil || !(math.Abs(d-want) <= u.Expanded) {
			t.Errorf("window of ±%g: %s %.6f, ± %+v, do not hold %.6f", half, r.Drag.Headline, d, u, want)
		}
	}
	var ys []float64
	for y := -1.0; y < 1; {
		ys = append(ys, y)
		if y += 0.02; y > sigma {
			y += 0.06
		}
	}
	r := run(t, waketest.Plane(t, waketest.Rows(f, ys, waketest.Steps(-1, 1, 61)), wake.PlaneOptions{SupportBy: "flag"}), measure.Options{})
	if c, u := r.Wake.Centroid[0], r.Uncertainty.Centroid[0]; !(math.Abs(c) > 1e-4 && math.Abs(c) <= u.Expanded) {
		t.Errorf("centroid of samples further apart on the right: %.5f ± %.5f, 0 is expected", c, u.Expanded)
	}
}
