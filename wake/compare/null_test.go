package compare_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// noisy is a Gaussian wake at y0 in a window of 1.6 × 1.6, with independent noise on
// u and a pressure that is off by p.
func noisy(t testing.TB, r *rand.Rand, name string, y0, eps, noise, p float64) *wake.Plane {
	t.Helper()
	const n = 25
	s := waketest.Lattice(waketest.Gaussian(eps, 0.2, y0, 0), -0.8, 0.8, -0.8, 0.8, n, n)
	s.File = name
	for i := range s.N {
		s.Col[wake.U][i] += noise * r.NormFloat64()
		s.Col[wake.P][i] += p
	}
	planes, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return planes[0]
}

func nullOptions() compare.Options {
	return compare.Options{Measure: measure.Options{
		Reference: waketest.Reference(), Thresholds: []float64{0.2},
		Regions: []measure.Box{{Name: "part", Side: "right", Box: grid.Box{Min: grid.Point{X: 0, Y: -0.4}, Max: grid.Point{X: 0.5, Y: 0.4}}}},
		// It does not hold the window: no time is spent on the wake-only drag.
		Section: [2]float64{0.1, 0.1},
	}}
}

// Of a thousand pairs without a true difference at most six in a hundred are
// called resolved, in any of the numbers.
func TestNullPairs(t *testing.T) {
	const seed, pairs = 41, 1000
	wrong := map[string]int{}
	for k := range pairs {
		r := rand.New(rand.NewPCG(seed, uint64(k)))
		planes := []*wake.Plane{noisy(t, r, "a", 0.05, 0.5, 0.005, 0), noisy(t, r, "b", 0.05, 0.5, 0.005, 0)}
		c, _, err := compare.Compare(planes, nullOptions())
		if err != nil {
			t.Fatal(err)
		}
		v := c.Variants[0]
		for name, verdict := range map[string]string{
			"drag": v.Delta.Verdict, "shift": v.Shift.Verdict, "area": v.Areas[0].Verdict,
			"region drag": v.Regions[0].Delta.Verdict, "region shift": v.Regions[0].Shift.Verdict,
		} {
			if verdict == compare.Resolved {
				wrong[name]++
			}
		}
	}
	for name, n := range wrong {
		if n > 6*pairs/100 {
			t.Errorf("seed %d: the %s is resolved in %d of %d pairs without a difference", seed, name, n, pairs)
		}
	}
	if len(wrong) == 0 {
		t.Errorf("seed %d: nothing is ever resolved by chance: the intervals are too wide", seed)
	}
}

// What is common to both cancels in the difference, what is set anew for each
// survey does not, and the budget shows both.
func TestCommonCancels(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	planes := []*wake.Plane{noisy(t, r, "a", 0, 0.5, 0, 0), noisy(t, r, "b", 0, 0.4, 0, 0)}
	find := func(opt compare.Options) measure.Item {
		c, _, err := compare.Compare(planes, opt)
		if err != nil {
			t.Fatal(err)
		}
		for _, it := range c.Variants[0].Delta.Items {
			if it.Name == "reference total pressure" {
				return it
			}
		}
		t.Fatal("no item of the total pressure")
		return measure.Item{}
	}
	opt := nullOptions()
	// 0.002 of ρU² is 0.4 % of q over the window of 2.56 m².
	opt.Measure.Uncertainty.TotalPressure = 0.002
	each := 0.004 * 2.56
	it := find(opt)
	if !(it.Standard < 1e-9) || it.Cancelled == nil || math.Abs(*it.Cancelled-each*math.Sqrt2) > 1e-9 {
		t.Errorf("common: %.3g is left of %v, nought of %.6f is expected", it.Standard, it.Cancelled, each*math.Sqrt2)
	}
	opt.Measure.Uncertainty.Independent = []string{"total_pressure"}
	if it = find(opt); math.Abs(it.Standard-each*math.Sqrt2) > 1e-9 || it.Cancelled != nil {
		t.Errorf("independent: %+v, %.6f is expected", it, each*math.Sqrt2)
	}
}

// The analyst's band does not cancel, decides, and is named in a sentence.
func TestSolutionBand(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 1))
	planes := []*wake.Plane{noisy(t, r, "a", 0, 0.5, 1e-4, 0), noisy(t, r, "b", 0, 0.49, 1e-4, 0)}
	run := func(band float64) *compare.Delta {
		opt := nullOptions()
		opt.Measure.Uncertainty.Solution = band
		c, _, err := compare.Compare(planes, opt)
		if err != nil {
			t.Fatal(err)
		}
		return c.Variants[0].Delta
	}
	if d := run(0); d.Verdict != compare.Resolved || strings.Contains(d.Text, "band") {
		t.Errorf("without a band: %s", d.Text)
	}
	// 2πσ²·ε(2−ε): 0.75 against 0.7399, 1.35 % less.
	d := run(0.02)
	if d.Verdict != compare.NotResolved || !strings.Contains(d.Text, "smaller than the band of 2 %") || strings.Contains(d.Text, "no effect") {
		t.Errorf("with a band of 2 %%: %s", d.Text)
	}
	want := 2 * math.Pi * 0.04 * 0.02 * math.Hypot(0.75, 0.7399)
	if math.Abs(d.Standard-want) > 0.01*want {
		t.Errorf("u = %.6f, %.6f is expected", d.Standard, want)
	}
	if d := run(0.01); d.Verdict != compare.NotResolved || !strings.Contains(d.Text, "decides") {
		t.Errorf("with a band of 1 %%: %s", d.Text)
	}
}

// Trials give the same numbers on one processor and on all, and agree with the
// budget of a linear quantity.
func TestTrials(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	planes := []*wake.Plane{noisy(t, r, "a", 0, 0.5, 0.001, 0), noisy(t, r, "b", 0, 0.47, 0.001, 0)}
	opt := nullOptions()
	opt.Measure.Uncertainty.Scale, opt.Measure.Uncertainty.Pressure, opt.Measure.Uncertainty.Trials = 0.003, 1e-4, 400
	run := func(procs int) *compare.Comparison {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
		c, _, err := compare.Compare(planes, opt)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	one, many := run(1), run(4)
	if d := cmp.Diff(one, many); d != "" {
		t.Errorf("one processor and four differ:\n%s", d)
	}
	mc := one.Variants[0].Delta.MonteCarlo
	if mc == nil || !mc.Agrees || math.Abs(mc.Standard/one.Variants[0].Delta.Standard-1) > 0.12 {
		t.Errorf("trials %+v beside u = %g", mc, one.Variants[0].Delta.Standard)
	}
}
