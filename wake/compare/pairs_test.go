package compare_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// threeWakes are those of three depths, on one lattice or on three of their own in one window.
func threeWakes(t *testing.T, own bool, eps ...float64) []*wake.Plane {
	t.Helper()
	r := rand.New(rand.NewPCG(8, 1))
	var out []*wake.Plane
	for k, e := range eps {
		n := 41
		if own {
			n += 6 * k
		}
		s := waketest.Lattice(waketest.Gaussian(e, 0.2, 0, 0), -0.8, 0.8, -0.8, 0.8, n, n)
		s.File = fmt.Sprintf("f%d", k)
		for i := range s.N {
			s.Col[wake.U][i] += 1e-3 * r.NormFloat64()
		}
		out = append(out, waketest.Plane(t, s, wake.PlaneOptions{}))
	}
	return out
}

// The changes between any two are those from the baseline where it is one of the two; they add up
// along any way, in another order they are the same with the other sign, with the same u, and what
// is common to all cancels in each.
func TestPairs(t *testing.T) {
	for _, own := range []bool{false, true} {
		planes := threeWakes(t, own, 0.50, 0.46, 0.40)
		opt := nullOptions()
		opt.Measure.Uncertainty.Pressure = 0.002
		of := func(order ...int) map[string]*compare.Delta {
			var list []*wake.Plane
			var names []string
			for _, k := range order {
				list, names = append(list, planes[k]), append(names, string(rune('A'+k)))
			}
			c := mustCompare(t, list, opt, names...)
			out := map[string]*compare.Delta{}
			for _, p := range c.Pairs {
				out[p.Of+p.Minus] = p.Delta
			}
			if len(out) != 3 || out[names[1]+names[0]] != c.Variants[0].Delta || out[names[2]+names[0]] != c.Variants[1].Delta {
				t.Fatalf("%v: pairs %v", order, out)
			}
			return out
		}
		a, b := of(0, 1, 2), of(2, 1, 0)
		if sum := a["BA"].DragArea + a["CB"].DragArea; math.Abs(sum-a["CA"].DragArea) > 1e-15 {
			t.Errorf("own %v: %g in two steps, %g in one", own, sum, a["CA"].DragArea)
		}
		for _, p := range []struct{ there, back string }{{"BA", "AB"}, {"CA", "AC"}, {"CB", "BC"}} {
			x, y := a[p.there], b[p.back]
			if x.DragArea != -y.DragArea || math.Abs(x.Standard-y.Standard) > 1e-12 || x.Verdict != y.Verdict || len(x.Items) != len(y.Items) {
				t.Errorf("own %v: %s is %g ± %g, %s %g ± %g", own, p.there, x.DragArea, x.Standard, p.back, y.DragArea, y.Standard)
			}
			i := slices.IndexFunc(x.Items, func(it uncertainty.Item) bool { return it.Name == "reference pressure" })
			if it := x.Items[i]; it.Cancelled == nil || !(it.Standard < 1e-3**it.Cancelled) {
				t.Errorf("own %v: of the pressure's %v %g is left in %s", own, it.Cancelled, it.Standard, p.there)
			}
		}
		want := 2 * math.Pi * 0.04 * (0.40*1.60 - 0.46*1.54)
		if d := a["CB"]; d.Verdict != uncertainty.Resolved || !(math.Abs(d.DragArea-want) <= d.Expanded) {
			t.Errorf("own %v: %g ± %g %s, %g is the closed form", own, d.DragArea, d.Expanded, d.Verdict, want)
		}
	}
}

// No pair of runs of one flow, which scatter as the stated repeats do, is resolved.
func TestPairsOfRepeats(t *testing.T) {
	// 2πσ²(2 − 2ε)·0.01 is what a hundredth of depth changes.
	planes := threeWakes(t, false, 0.49, 0.50, 0.51)
	opt := nullOptions()
	opt.Measure.Uncertainty.Solution = nil
	var values []float64
	for _, p := range planes {
		k, err := measure.Bare(p, opt.Measure)
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, k.Result.Drag.Momentum.DragArea)
		opt.Measure.Uncertainty.Repeat, opt.Measure.Uncertainty.RepeatDOF = make([]float64, len(k.Values)), make([]float64, len(k.Values))
	}
	s := uncertainty.NewSample(values)
	for i := range opt.Measure.Uncertainty.Repeat {
		opt.Measure.Uncertainty.Repeat[i], opt.Measure.Uncertainty.RepeatDOF[i] = s.SD, float64(s.N-1)
	}
	c := mustCompare(t, planes, opt)
	if len(c.Pairs) != 3 {
		t.Fatalf("%d pairs", len(c.Pairs))
	}
	for _, p := range c.Pairs {
		if p.Delta.Verdict != uncertainty.NotResolved {
			t.Errorf("%s minus %s: %s", p.Of, p.Minus, p.Delta.Verdict)
		}
	}
}

// Where the pressure says that there is turbulence, its term is in both drags, or no difference is judged: one plane with
// the stress beside the same without differs by the term alone. By the low pressure it is 2π·0.04·0.03 m².
func TestMissingStress(t *testing.T) {
	const term = 2 * math.Pi * 0.04 * 0.06
	for _, c := range []struct {
		name          string
		eps           float64
		stress        [2]bool
		rule, verdict string
		change        float64
	}{
		{"both", 0.50, [2]bool{true, true}, "", uncertainty.Resolved, 0},
		{"neither", 0.51, [2]bool{}, "", uncertainty.NotJudged, 0},
		{"neither, a change larger than the term", 0.40, [2]bool{}, "", uncertainty.Resolved, 0},
		{"neither, as asked", 0.51, [2]bool{}, measure.TurbulenceNone, uncertainty.Resolved, 0},
		{"one, the same wake", 0.52, [2]bool{true, false}, "", uncertainty.NotResolved, term},
		{"the other", 0.52, [2]bool{false, true}, "", uncertainty.NotResolved, -term},
	} {
		planes := threeWakes(t, false, 0.52, c.eps)
		opt := nullOptions()
		opt.Measure.Turbulence = c.rule
		opt.Measure.Uncertainty = measure.Inputs{Repeat: make([]float64, 40), RepeatDOF: make([]float64, 40)}
		for i := range opt.Measure.Uncertainty.Repeat {
			opt.Measure.Uncertainty.Repeat[i], opt.Measure.Uncertainty.RepeatDOF[i] = 1e-4, 9
		}
		for k, p := range planes {
			uu, low := make([]float64, len(p.Mesh.Points)), make([]float64, len(p.Mesh.Points))
			for i, at := range p.Mesh.Points {
				uu[i] = 0.03 * math.Exp(-(at.X*at.X+at.Y*at.Y)/(2*0.04))
				low[i] = p.Field[wake.P][i] - uu[i]
			}
			if p.Field[wake.P] = low; c.stress[k] {
				p.Field[wake.UU] = uu
			}
		}
		got := mustCompare(t, planes, opt)
		d := got.Variants[0].Delta
		want := 2*math.Pi*0.04*(c.eps*(2-c.eps)-0.52*1.48) + c.change
		if d.Verdict != c.verdict || !(math.Abs(d.DragArea-want) < 1e-3) {
			t.Errorf("%s: %g ± %g, %s, %g is expected and %s", c.name, d.DragArea, d.Expanded, d.Verdict, want, c.verdict)
		}
		words := map[string]string{uncertainty.NotJudged: "the turbulence term unknown", uncertainty.NotResolved: "the normal stress <u'u'> in both planes", uncertainty.Resolved: ""}[c.verdict]
		if s := d.Sentence(d.DragArea, &d.Budget, uncertainty.Format{Scale: 1, Decimals: 4, Unit: "m²"}, 0); !strings.Contains(s, words) {
			t.Errorf("%s: %s", c.name, s)
		}
	}
}

// comparison measures planes by one set of options and compares them.
func comparison(planes []*wake.Plane, opt compare.Options, names ...string) (*compare.Comparison, *compare.Pair, error) {
	var all []*compare.Survey
	for k, p := range planes {
		m, err := measure.Take(p, opt.Measure)
		if err != nil {
			return nil, nil, err
		}
		s, err := compare.NewSurvey(m, opt.Measure, opt)
		if err != nil {
			return nil, nil, err
		}
		if k < len(names) {
			s.Name = names[k]
		}
		all = append(all, s)
	}
	return compare.Compare(all, opt)
}

// mustCompare is a comparison that may not fail.
func mustCompare(t *testing.T, planes []*wake.Plane, opt compare.Options, names ...string) *compare.Comparison {
	t.Helper()
	c, _, err := comparison(planes, opt, names...)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Where an input of an instrument is stated and its place is not, the comparison says so; of a solver's planes it does not.
func TestPositionNotStated(t *testing.T) {
	for _, c := range []struct {
		of   measure.Inputs
		told bool
	}{
		{measure.Inputs{}, false}, {measure.Inputs{Speed: 0.005}, true}, {measure.Inputs{Pressure: 0.01, Scale: 0.001}, true}, {measure.Inputs{Speed: 0.005, Position: 1e-3}, false},
		{measure.Inputs{Speed: 0.005, SpeedDOF: 3}, false}, {measure.Inputs{Speed: 0.005, Steady: true}, false}, {measure.Inputs{Speed: 0.005, Solution: new(0.01)}, false},
	} {
		opt := nullOptions()
		opt.Measure.Uncertainty = c.of
		got := mustCompare(t, threeWakes(t, false, 0.5, 0.5), opt)
		if said := fmt.Sprint(got.Warnings); strings.Contains(said, "how far the survey may be out of place") != c.told {
			t.Errorf("%+v: %s", c.of, said)
		}
	}
}
