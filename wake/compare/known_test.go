package compare_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/waketest"
)

// Planes that were measured before give the same comparison, number by number, with
// all samples in common and without.
func TestKnownPlanes(t *testing.T) {
	for _, cut := range []bool{false, true} {
		opt := compare.Options{
			Measure: measure.Options{
				Reference: waketest.Reference(), Weight: measure.WeightDeficit,
				// Two that overlap, so that the exchange has a warning for the variant.
				Regions: []measure.Box{
					{Name: "right wheel", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.05, Y: -1}, Max: grid.Point{X: 1.6, Y: 1.2}}},
					{Name: "right", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.05, Y: -1.4}, Max: grid.Point{X: 1.9, Y: 1.4}}},
				},
			},
			Structures: &parts.Options{},
		}
		var planes []*wake.Plane
		for k, f := range []waketest.Field{pairWake(0.8, 0.8, 1), pairWake(0.78, 0.782, 1)} {
			s := waketest.Lattice(f, -2, 2, -1.5, 1.5, 61, 49)
			s.File = []string{"base", "variant"}[k]
			if cut && k == 1 {
				// A body that the baseline does not have.
				leaveOut(s, func(y, z float64) bool { return !(math.Hypot(y, z) > 0.3) })
			}
			planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
		}
		want, _, err := compare.Compare(planes, opt)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range planes {
			m, err := measure.Take(p, opt.Measure)
			if err != nil {
				t.Fatal(err)
			}
			find := *opt.Structures
			find.Regions = opt.Measure.Regions
			set, view, err := parts.Survey(m, find)
			if err != nil {
				t.Fatal(err)
			}
			opt.Own = append(opt.Own, compare.Own{Known: &compare.Known{Measurement: m, Set: set, View: view}})
		}
		if w := want.Variants[0].Survey.Warnings; len(w) == 0 || w[len(w)-1].Code != "regions-overlap" {
			t.Fatalf("no warning of the exchange: %v", w)
		}
		before := len(opt.Own[1].Known.Result.Warnings)
		got, pair, err := compare.Compare(planes, opt)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmpopts.IgnoreUnexported(shift.Shift{}, shift.Move{}, parts.Ledger{}, measure.Result{}, measure.Edge{})); diff != "" {
			t.Errorf("cut %v: (-anew +known)\n%s", cut, diff)
		}
		// With the body the baseline loses samples, the variant none.
		if taken := pair.Sets[0] == opt.Own[0].Known.Set; taken == cut || pair.Sets[1] != opt.Own[1].Known.Set {
			t.Errorf("cut %v: the baseline's set found before is taken: %v", cut, taken)
		}
		if n := len(opt.Own[1].Known.Result.Warnings); n != before {
			t.Errorf("the survey's own result got %d warnings of the comparison", n-before)
		}
	}
}
