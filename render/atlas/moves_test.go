package atlas

import (
	"testing"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// TestMoves: the arrow of a move is full where it is resolved, open where it is not and left
// out of the sheet where it is not judged; one factor holds for a study, by the longest of
// those that are drawn, in a window 5 m wide.
func TestMoves(t *testing.T) {
	for _, c := range []struct {
		name    string
		verdict string
		length  float64
		open    bool
		factor  int
	}{
		{"resolved", uncertainty.Resolved, 0.09, false, 10},
		{"not resolved", uncertainty.NotResolved, 0.15, true, 5},
		{"short", uncertainty.Resolved, 0.003, false, 20},
		{"long", uncertainty.Resolved, 0.7, false, 1},
		{"not judged", uncertainty.NotJudged, 0.7, false, 20},
	} {
		region := func(y float64) []measure.Region {
			return []measure.Region{{Name: "wheel", Centroid: &[2]float64{y, 0.5}}}
		}
		shift := &compare.Shift{}
		shift.Verdict = c.verdict
		cmp := &compare.Comparison{
			Baseline: &measure.Result{Regions: region(1)},
			Variants: []compare.Variant{{Survey: &measure.Result{Regions: region(1 + c.length)}, Regions: []compare.RegionDelta{{Name: "wheel", Shift: shift}}}},
		}
		var base, variant render.Panel
		(Options{}).move(cmp, 0, &base, &variant)
		if full := c.verdict != uncertainty.NotJudged; len(base.Markers) != 1 || len(variant.Markers) != 2 || (len(variant.Arrows) == 1) != full || base.Markers[0] != variant.Markers[0] {
			t.Errorf("%s: marks %v and %v, arrows %v", c.name, base.Markers, variant.Markers, variant.Arrows)
		}
		arrows, verdicts := moves(cmp, 0)
		if len(arrows) != 1 || arrows[0].Open != c.open || verdicts[0] != c.verdict {
			t.Errorf("%s: %+v, %q", c.name, arrows, verdicts)
		}
		o := Options{shared: &shared{}}
		o.shared.windows = map[wake.Axis]grid.Box{wake.AxisX: {Max: grid.Point{X: 5, Y: 3}}}
		cmp.Baseline.Station.Normal = "x"
		if got := o.magnified([]*compare.Comparison{cmp}); got != c.factor {
			t.Errorf("%s: a move of %g m is drawn ×%d, want ×%d", c.name, c.length, got, c.factor)
		}
	}
}

// A move that is all sideways says its length once.
func TestSideways(t *testing.T) {
	for want, m := range map[string][2]float64{"outboard": {0.0031, -0.0029}, "of which 20 mm inboard": {0.025, 0.02}, "of which 0 mm outboard": {0.004, -0.0002}} {
		if got := sideways(m[0], m[1]); got != want {
			t.Errorf("%v: %q, want %q", m, got, want)
		}
	}
}
