package measure_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// Of a uniform flow every integral goes with the area, which cells make (12/11)² as large
// as corners do. The ± holds both where the file does not say which its samples are.
func TestSupportNotStated(t *testing.T) {
	flow := waketest.Uniform(disc(0.2))
	item := func(s *wake.Samples, opt wake.PlaneOptions) (r *measure.Result, standard float64) {
		t.Helper()
		r = run(t, waketest.Plane(t, s, opt), measure.Options{})
		for _, it := range r.Uncertainty.DragArea.Items {
			if it.Name == "samples as corners or as cells" {
				standard = it.Standard
			}
		}
		return r, standard
	}
	r, u := item(waketest.Centres(flow, -0.5, 0.5, 0, 1, 12, 12), wake.PlaneOptions{})
	value := r.Drag.WakeOnly.DragArea
	if r.Drag.Headline != "wake_only" {
		t.Fatalf("headline %q", r.Drag.Headline)
	}
	near(t, "standard uncertainty", u, value*(144./121-1)/math.Sqrt(3), 1e-9)
	if b := r.Uncertainty.DragArea; !(b.Expanded >= value*(144./121-1)) {
		t.Errorf("± %g does not hold the cells' %g", b.Expanded, value*144/121)
	}
	says(t, "not stated", r, "support-not-stated", "as cells the drag area is")
	// Of scattered samples the strip is half the distance of the inner ones deep.
	r, u = item(waketest.Scatter(flow, -0.5, 0.5, 1, 2, 12, 12, 7), wake.PlaneOptions{})
	near(t, "scattered, half the width over the drag", math.Sqrt(3)*u/r.Drag.WakeOnly.DragArea, 4./22, 0.01)
	for name, c := range map[string]struct {
		samples *wake.Samples
		opt     wake.PlaneOptions
	}{
		"stated":                 {waketest.Centres(flow, -0.5, 0.5, 0, 1, 12, 12), wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"}},
		"on the floor":           {waketest.Lattice(flow, -0.5, 0.5, 0, 1, 12, 12), wake.PlaneOptions{}},
		"scattered on the floor": {waketest.Scatter(flow, -0.5, 0.5, 0, 1, 12, 12, 7), wake.PlaneOptions{}},
	} {
		if r, u := item(c.samples, c.opt); u != 0 || hasWarning(r, "support-not-stated") {
			t.Errorf("%s: an item of %g, warnings %v", name, u, r.Warnings)
		}
	}
}
