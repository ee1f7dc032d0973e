package compare_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// The time average stated for the moves of the parts is in the budget of the centroid's
// move in a box too, and is what measuring everything again with the velocities off
// makes of it, which is how the same is found when it is stated for all numbers.
func TestBoxMovesHoldTheTimeAverage(t *testing.T) {
	item := func(measured bool) (box, whole float64) {
		var planes []*wake.Plane
		for k, f := range []waketest.Field{pairWake(0.8, 0.8, 1), pairWake(0.78, 0.782, 1)} {
			s := waketest.Lattice(f, -2, 2, -1.5, 1.5, 81, 61)
			s.File = []string{"base", "variant"}[k]
			s.Col[wake.UU] = make([]float64, s.N)
			for i, u := range s.Col[wake.U] {
				// Where the wake is below the parts' threshold, the flow is steady.
				s.Col[wake.UU][i] = 0.03 * math.Max(0, 1-u-0.1)
			}
			planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
		}
		opt := compare.Options{
			Measure: measure.Options{
				Reference: waketest.Reference(), Weight: measure.WeightDeficit, Section: [2]float64{0.1, 0.1}, Floor: "none",
				Regions: []measure.Box{{Name: "right wheel", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.05, Y: -1}, Max: grid.Point{X: 1.6, Y: 1.2}}}},
			},
			Structures: &parts.Options{},
		}
		if measured {
			opt.Measure.Uncertainty = measure.Inputs{EffectiveSamples: 25, CorrelationLength: 0.15}
		} else {
			opt.TimeAverage = parts.TimeAverage{Samples: 25, Length: 0.15}
		}
		c, _, err := compare.Compare(planes, opt)
		if err != nil {
			t.Fatal(err)
		}
		of := func(items []uncertainty.Item) float64 {
			u, n := 0.0, 0
			for _, it := range items {
				if it.Name == "time average" {
					u, n = it.Standard, n+1
				}
			}
			if n != 1 {
				t.Fatalf("%d items of the time average in %+v", n, items)
			}
			return u
		}
		v := c.Variants[0]
		return of(v.Regions[0].Shift.Items), of(v.Shift.Items)
	}
	box, whole := item(false)
	wantBox, wantWhole := item(true)
	for _, c := range []struct {
		name      string
		got, want float64
	}{{"box", box, wantBox}, {"whole", whole, wantWhole}} {
		// What the first order leaves out of moves of some millimetres is within a few hundredths.
		if !(c.want > 1e-4) || math.Abs(c.got/c.want-1) > 0.05 {
			t.Errorf("%s: %.3g m, measured again %.3g m", c.name, c.got, c.want)
		}
	}
}
