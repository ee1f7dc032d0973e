package compare_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// pairWake is two Gaussian wakes of a deficit ε at ±y0, wide in y on the right by a
// factor, with the static pressure of the free stream.
func pairWake(right, left, wide float64) waketest.Field {
	a, b := waketest.Gaussian(0.4, 0.2, right, 0.1), waketest.Gaussian(0.4, 0.2, -left, 0.1)
	return func(y, z float64) waketest.State {
		s, t := a(right+(y-right)/wide, z), b(y, z)
		s.U += t.U - waketest.Reference().Speed
		return s
	}
}

func compared(t *testing.T, kind string, base, variant waketest.Field, opt *parts.Options) compare.Variant {
	t.Helper()
	var planes []*wake.Plane
	for k, f := range []waketest.Field{base, variant} {
		s := waketest.Lattice(f, -2, 2, -1.5, 1.5, 81, 61)
		if kind == "scatter" {
			s = waketest.Scatter(f, -2, 2, -1.5, 1.5, 81, 61, 11)
		}
		s.File = []string{"base", "variant"}[k]
		planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
	}
	c := mustCompare(t, planes, compare.Options{
		Measure: measure.Options{
			Reference: waketest.Reference(), Weight: measure.WeightDeficit,
			Regions: []measure.Box{
				{Name: "right wheel", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.05, Y: -1}, Max: grid.Point{X: 1.6, Y: 1.2}}},
			},
			Uncertainty: measure.Inputs{Steady: true, Solution: &zero},
		},
		Structures: opt, Moves: shift.Options{Width: 0.2},
	}, "bare", "fairing")
	return c.Variants[0]
}

// A pair of wakes that is drawn in by 20 mm on the right and 18 mm on the left: found,
// matched, mirrored, and moved by that in every measure, by part and by box.
func TestStructuresMove(t *testing.T) {
	// 50 mm apart, and a hundredth of that is what the sub-cell fits are good to;
	// scattered samples are interpolated linearly, which adds some of the curvature.
	for kind, tol := range map[string]float64{"lattice": 0.0008, "scatter": 0.002} {
		v := compared(t, kind, pairWake(0.8, 0.8, 1), pairWake(0.78, 0.782, 1), &parts.Options{})
		near := func(what string, got *float64, want float64) {
			t.Helper()
			if got == nil || !(math.Abs(*got-want) <= tol) {
				t.Errorf("%s: %s is %v, want %g", kind, what, got, want)
			}
		}
		s := v.Structures
		if s == nil || len(s.Shifts) != 2 || len(s.Foremost) != 2 || len(s.Match.Events) != 0 {
			t.Fatalf("%s: %+v", kind, s)
		}
		for _, m := range s.Shifts {
			want := map[string]float64{"right": 0.020, "left": 0.018}[m.Side]
			if m.Verdict != uncertainty.Resolved || len(m.Moves) != 4 {
				t.Errorf("%s: %+v", kind, m)
			}
			for _, w := range m.Moves {
				near(m.A+" by "+w.Measure, w.Inboard, want)
			}
		}
		box := v.Regions[0].Shift
		near("the box's edge", box.EdgeInboard, 0.020)
		if box.Registration == nil {
			t.Fatalf("%s: no registration: %v", kind, box.FourWays)
		}
		in := -box.Registration[0]
		near("the box's registration", &in, 0.020)
		if f := box.FourWays.Headline.Fraction; f == nil || !(math.Abs(*f-0.1) <= tol/0.2) {
			t.Errorf("%s: the box's move is %v of a tyre, want 0.1", kind, f)
		}
		if box.FourWays.Verdict != uncertainty.Resolved {
			t.Errorf("%s: %+v", kind, box.FourWays)
		}
		for _, by := range []string{"regions", "structures", "span", "height"} {
			b := v.Exchange.By(by)
			if b == nil || !(math.Abs(b.Residual) <= 1e-9) {
				t.Errorf("%s: by %s: %+v", kind, by, b)
			}
		}
		if d := v.Delta.DragArea; !(math.Abs(v.Exchange.Delta-d) <= 1e-9) {
			t.Errorf("%s: the exchange sums to %g, the momentum integral to %g", kind, v.Exchange.Delta, d)
		}
		out, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{`"edge_inboard_m"`, `"registration_m":[`, `"four_ways"`, `"exchange":{`, `"structures":[{"name"`} {
			if !strings.Contains(string(out), key) {
				t.Errorf("%s: no %s in the JSON", kind, key)
			}
		}
	}
}

// A wake that is a third wider on one side has not moved: that it changed its shape is a
// remark, in the box too.
func TestStructuresWiden(t *testing.T) {
	v := compared(t, "lattice", pairWake(0.8, 0.8, 1), pairWake(0.8, 0.8, 1.33), &parts.Options{})
	for _, m := range append([]*shift.Shift{v.Regions[0].Shift.FourWays}, v.Structures.Shifts...) {
		if m.Verdict != uncertainty.NotResolved || m.Agree != (m.Side == "left") {
			t.Errorf("%s: %+v", m.A, m.Judgement)
		}
	}
}

// A wake that goes is said to; nothing is found where it is not asked for.
func TestStructuresGoAndStay(t *testing.T) {
	one := waketest.Gaussian(0.4, 0.2, 0.8, 0.1)
	v := compared(t, "lattice", pairWake(0.8, 0.8, 1), one, &parts.Options{})
	if e := v.Structures.Match.Events; len(e) != 1 || e[0].Kind != "vanishes" {
		t.Errorf("%+v", v.Structures.Match)
	}
	v = compared(t, "lattice", pairWake(0.8, 0.8, 1), one, nil)
	if v.Structures != nil || v.Exchange != nil || v.Regions[0].Shift.FourWays != nil || v.Survey.Structures != nil {
		t.Error("structures that nobody asked for")
	}
}
