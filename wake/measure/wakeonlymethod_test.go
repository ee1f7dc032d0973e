package measure_test

import (
	"context"
	"math"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
	"wakeledger/wake/waketest"
)

// TestWakeOnlyHoldsItsForm: on the shuttle's windows, anchored on their edge, the quoted
// wake-only drag lies within its U of the force but for the time average, which the two
// do not share in the same way (half a per cent); and a whole section that is anchored on
// its edge quotes it, since the momentum integral is then up to a fifth low.
func TestWakeOnlyHoldsItsForm(t *testing.T) {
	force := map[string]float64{"bare": 2.1436, "fairing": 2.0794, "lip": 2.1547, "flare": 2.2475}
	for name, f := range force {
		if (name == "lip" || name == "flare") && !gridtest.Large() {
			continue
		}
		for _, at := range []string{"+2.91", "+5.98", "+2.91_whole"} {
			s, err := survey.Read(context.Background(), waketest.Shared(t, "shuttle2", name+"_x"+at+".csv.gz"), survey.Options{})
			if err != nil {
				t.Fatal(err)
			}
			r, err := measure.Measure(waketest.Plane(t, s, wake.PlaneOptions{}), measure.Options{
				Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()},
				Anchor:    "edge", Section: [2]float64{10.8, 6.9}, Floor: "slip",
			})
			if err != nil {
				t.Fatal(err)
			}
			d, u := r.Drag.WakeOnly.DragArea, r.Uncertainty.DragArea.Expanded
			if r.Drag.Headline != "wake_only" || math.Abs(d-f) > u+0.005*f || math.Abs(d-f) > 0.03*f {
				t.Errorf("%s at %s: %s, wake only %.3f ± %.3f m², force %.3f m²", name, at, r.Drag.Headline, d, u, f)
			}
		}
	}
}
