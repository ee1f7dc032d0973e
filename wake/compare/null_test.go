package compare_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
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
	return waketest.Plane(t, s, wake.PlaneOptions{})
}

// zero is what another run of a test's planes changes: nothing, which is a statement.
var zero = 0.0

func nullOptions() compare.Options {
	return compare.Options{Measure: measure.Options{
		Reference: waketest.Reference(), Thresholds: []float64{0.2},
		Regions: []measure.Box{{Name: "part", Side: "right", Box: grid.Box{Min: grid.Point{X: 0, Y: -0.4}, Max: grid.Point{X: 0.5, Y: 0.4}}}},
		// It does not hold the window: no time is spent on the wake-only drag.
		Section: [2]float64{0.1, 0.1},
		// The surveys are of one steady flow.
		Uncertainty: measure.Inputs{Steady: true, Solution: &zero},
	}}
}

// pairNoise is what is off in the two surveys of a pair.
type pairNoise struct {
	// n is the number of lines of samples each way.
	n int
	// white is independent from sample to sample, on u, and anew for each survey.
	white float64
	// speed, pressure and scale are errors of the reference and of lengths, one of each for
	// both surveys, as uncertain as is stated.
	speed, pressure, scale float64
}

var pairNoises = []pairNoise{
	{n: 21, white: 0.005},
	{n: 21, white: 0.004, speed: 3e-4, pressure: 2e-4, scale: 0.004},
}

// surveys makes a pair: wakes at y with depths eps, and the options with what is stated.
func (c pairNoise) surveys(t testing.TB, r *rand.Rand, y, eps [2]float64) ([]*wake.Plane, compare.Options) {
	opt := nullOptions()
	off, k := c.pressure*r.NormFloat64(), 1+c.scale*r.NormFloat64()
	opt.Measure.Reference.Speed += c.speed * r.NormFloat64()
	opt.Measure.Uncertainty = measure.Inputs{Speed: c.speed, Pressure: c.pressure, Scale: c.scale, Steady: true, Solution: &zero}
	var planes []*wake.Plane
	for j := range y {
		s := waketest.Lattice(waketest.Gaussian(eps[j], 0.2, y[j], 0), -0.8, 0.8, -0.8, 0.8, c.n, c.n)
		s.File = []string{"a", "b"}[j]
		for i := range s.N {
			s.Col[wake.U][i] += c.white * r.NormFloat64()
			s.Col[wake.P][i] += off
			s.Col[wake.Y][i] *= k
			s.Col[wake.Z][i] *= k
		}
		planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
	}
	return planes, opt
}

// compared compares n pairs on all processors and gives the variants in order.
func (c pairNoise) compared(t testing.TB, seed uint64, n int, y, eps [2]float64) []compare.Variant {
	out := make([]compare.Variant, n)
	var wg sync.WaitGroup
	const workers = 4
	for w := range workers {
		wg.Go(func() {
			for k := w; k < n; k += workers {
				planes, opt := c.surveys(t, rand.New(rand.NewPCG(seed, uint64(k))), y, eps)
				got, _, err := comparison(planes, opt)
				if err != nil {
					t.Error(err)
					return
				}
				out[k] = got.Variants[0]
			}
		})
	}
	wg.Wait()
	return out
}

// TestDifferenceCoverage: where there is a difference, its stated interval holds the true
// drag difference, centroid shift and difference of areas in 95 of a hundred pairs, within
// three standard errors of the share; the pairs have the three kinds of errors in turn. The
// wakes are those of 0.5 and 0.47 of depth, 12 mm apart.
func TestDifferenceCoverage(t *testing.T) {
	pairs := 250
	if gridtest.Large() {
		pairs = 1000
	}
	off := 300 * math.Sqrt(0.05*0.95/float64(pairs))
	least, most := 95-off, 95+off
	y, eps := [2]float64{0.05, 0.062}, [2]float64{0.5, 0.47}
	drag := func(e float64) float64 { return 2 * math.Pi * 0.04 * e * (2 - e) }
	area := func(e float64) float64 { return 2 * math.Pi * 0.04 * math.Log(e/(1-math.Sqrt(0.8))) }
	const seed = 61
	held := map[string]int{}
	for i, c := range pairNoises {
		n := pairs / len(pairNoises)
		if i == 0 {
			n += pairs % len(pairNoises)
		}
		for _, v := range c.compared(t, seed+uint64(i), n, y, eps) {
			for _, x := range []struct {
				name                string
				got, want, expanded float64
			}{
				{"drag difference", v.Delta.DragArea, drag(eps[1]) - drag(eps[0]), v.Delta.Expanded},
				{"centroid shift", v.Shift.Centroid[0], y[1] - y[0], v.Shift.Expanded},
				{"area difference", v.Areas[0].Delta, area(eps[1]) - area(eps[0]), v.Areas[0].Expanded},
			} {
				if math.Abs(x.got-x.want) <= x.expanded {
					held[x.name]++
				}
			}
		}
	}
	t.Logf("seed %d: held in, of %d: %v", seed, pairs, held)
	for _, name := range []string{"drag difference", "centroid shift", "area difference"} {
		top := most
		if name == "area difference" {
			// What straight lines do to both areas alike is not taken off.
			top = 100
		}
		if share := 100 * float64(held[name]) / float64(pairs); !(share >= least && share <= top) {
			t.Errorf("seed %d: the interval of the %s holds the truth in %.1f %% of the pairs", seed, name, share)
		}
	}
}

// What is common to both cancels in the difference, what is set anew for each
// survey does not, and the budget shows both.
func TestCommonCancels(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	planes := []*wake.Plane{noisy(t, r, "a", 0, 0.5, 0, 0), noisy(t, r, "b", 0, 0.4, 0, 0)}
	find := func(opt compare.Options) uncertainty.Item {
		c := mustCompare(t, planes, opt)
		for _, it := range c.Variants[0].Delta.Items {
			if it.Name == "reference pressure" {
				return it
			}
		}
		t.Fatal("no item of the pressure")
		return uncertainty.Item{}
	}
	opt := nullOptions()
	// 0.002 of ρU² is 0.4 % of q over the window of 2.56 m².
	opt.Measure.Uncertainty.Pressure = 0.002
	each := 0.004 * 2.56
	it := find(opt)
	if !(it.Standard < 1e-9) || it.Cancelled == nil || math.Abs(*it.Cancelled-each*math.Sqrt2) > 1e-9 {
		t.Errorf("common: %.3g is left of %v, 0 of %.6f is expected", it.Standard, it.Cancelled, each*math.Sqrt2)
	}
	opt.Measure.Uncertainty.OwnReference = true
	if it = find(opt); math.Abs(it.Standard-each*math.Sqrt2) > 1e-9 || it.Cancelled != nil {
		t.Errorf("independent: %+v, %.6f is expected", it, each*math.Sqrt2)
	}
}

// The analyst's band does not cancel, and decides.
func TestSolutionBand(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 1))
	planes := []*wake.Plane{noisy(t, r, "a", 0, 0.5, 1e-4, 0), noisy(t, r, "b", 0, 0.49, 1e-4, 0)}
	run := func(band float64) *compare.Delta {
		opt := nullOptions()
		opt.Measure.Uncertainty.Solution = &band
		c := mustCompare(t, planes, opt)
		return c.Variants[0].Delta
	}
	if d := run(0); d.Verdict != uncertainty.Resolved {
		t.Errorf("without a band: %s", d.Verdict)
	}
	// 2πσ²·ε(2−ε): 0.75 against 0.7399, 1.35 % less.
	d := run(0.02)
	if d.Verdict != uncertainty.NotResolved {
		t.Errorf("with a band of 2 %%: %s", d.Verdict)
	}
	want := 2 * math.Pi * 0.04 * 0.02 * math.Hypot(0.75, 0.7399)
	if math.Abs(d.Standard-want) > 0.01*want {
		t.Errorf("u = %.6f, %.6f is expected", d.Standard, want)
	}
}

// Trials give the same numbers on one processor and on all, and agree with the
// budget of a linear quantity.
func TestTrials(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	planes := []*wake.Plane{noisy(t, r, "a", 0, 0.5, 0.001, 0), noisy(t, r, "b", 0, 0.47, 0.001, 0)}
	opt := nullOptions()
	opt.Measure.Uncertainty.Scale, opt.Measure.Uncertainty.Pressure, opt.Measure.Uncertainty.Trials = 0.003, 1e-4, 300
	run := func(procs int) *compare.Comparison {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
		c := mustCompare(t, planes, opt)
		return c
	}
	one, many := run(1), run(4)
	if d := cmp.Diff(one, many, cmpopts.IgnoreUnexported(measure.Edge{})); d != "" {
		t.Errorf("one processor and four differ:\n%s", d)
	}
	mc := one.Variants[0].Delta.MonteCarlo
	if mc == nil || !mc.Agrees || math.Abs(mc.Standard/one.Variants[0].Delta.Standard-1) > 0.12 {
		t.Errorf("trials %+v beside u = %g", mc, one.Variants[0].Delta.Standard)
	}
}

// TestNullPartsOffPlace: of pairs whose surveys lie off their place and scale by errors as
// large as is stated, each by its own, few moves of parts are called resolved.
func TestNullPartsOffPlace(t *testing.T) {
	const pairs, u, scale = 50, 0.004, 0.008
	wrong, all := 0, 0
	for seed := range uint64(pairs) {
		r := rand.New(rand.NewPCG(seed, 71))
		var planes []*wake.Plane
		k := 1 + scale*r.NormFloat64()
		for _, name := range []string{"a", "b"} {
			s := waketest.Lattice(waketest.Gaussian(0.5, 0.15, 0.6, 0), 0, 1.2, -0.6, 0.6, 21, 21)
			s.File = name
			dy, dz := u*r.NormFloat64(), u*r.NormFloat64()
			for i := range s.N {
				s.Col[wake.U][i] += 0.002 * r.NormFloat64()
				s.Col[wake.Y][i], s.Col[wake.Z][i] = k*s.Col[wake.Y][i]+dy, k*s.Col[wake.Z][i]+dz
			}
			planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
		}
		opt := nullOptions()
		opt.Measure.Regions = nil
		opt.Measure.Uncertainty.Position, opt.Measure.Uncertainty.Scale = u, scale
		opt.Structures = &parts.Options{}
		got := mustCompare(t, planes, opt)
		for _, m := range got.Variants[0].Structures.Shifts {
			all++
			// Of the centroid: an error of scale moves an outline by more.
			if m.Moves[0].Verdict == uncertainty.Resolved {
				wrong++
			}
		}
	}
	// 6 % and three standard errors.
	if most := 0.06 + 3*math.Sqrt(0.06*0.94/pairs); all < pairs || float64(wrong) > most*float64(all) {
		t.Errorf("%d of %d moves of parts are resolved", wrong, all)
	}
}

// What straight level lines add to an area is taken off, whichever way the meshes of two surveys lie:
// their difference is unsure by less than what either is corrected by, and holds zero.
func TestErrorsLeftInCancel(t *testing.T) {
	s := coverShapes(0.3)[2]
	r := rand.New(rand.NewPCG(5, 6))
	points := func() []grid.Point { return s.points(r, "lattice", 1.0/40) }
	opt := nullOptions()
	opt.Measure.Thresholds = coverThresholds
	got := mustCompare(t, []*wake.Plane{s.plane(t, r, "a", points(), 0, 0.002), s.plane(t, r, "b", points(), 0, 0.002)}, opt)
	v := got.Variants[0]
	a, each := v.Areas[0], math.Hypot(got.Baseline.Wake.Areas[0].Corrected, v.Survey.Wake.Areas[0].Corrected)
	if !(math.Abs(a.Delta) <= a.Expanded && a.Expanded < each) {
		t.Errorf("areas differ by %.2g ± %.2g m², the two are corrected by %.2g", a.Delta, a.Expanded, each)
	}
}

// TestOffsetOfOneReference: two planes of one wake of which the pressure of one is off are of two
// inflows, though the stream beside both wakes has a pattern that is larger; what noise hides of that, or is
// too small for it, and a tilt are in the budgets.
func TestOffsetOfOneReference(t *testing.T) {
	for _, c := range []struct {
		name                         string
		pattern, noise, offset, tilt float64
		warned                       bool
	}{
		{"pattern", 0.01, 0, 0, 0, false},
		{"pattern and offset", 0.01, 0, 0.001, 0, true},
		{"noise and offset", 0, 0.005, 0.002, 0, false},
		{"small offset", 0, 1e-4, 3e-4, 0, false},
		{"tilt", 0, 1e-4, 0, 1e-3, false},
	} {
		for seed := range uint64(4) {
			r := rand.New(rand.NewPCG(seed, 77))
			at := func(name string, p, tilt float64) *wake.Plane {
				s := waketest.Lattice(waketest.Gaussian(0.4, 0.2, 0.1, 0), -0.8, 0.8, -0.8, 0.8, 41, 41)
				s.File = name
				for i := range s.N {
					s.Col[wake.U][i] += c.noise * r.NormFloat64()
					s.Col[wake.P][i] += c.pattern*math.Sin(5*s.Col[wake.Y][i]) + p + tilt*s.Col[wake.Y][i]
				}
				return waketest.Plane(t, s, wake.PlaneOptions{})
			}
			got := mustCompare(t, []*wake.Plane{at("a", 0, 0), at("b", c.offset, c.tilt)}, nullOptions())
			v := got.Variants[0]
			if warned := slices.ContainsFunc(got.Warnings, func(w wake.Warning) bool { return w.Code == "references-differ" }); c.noise < 0.005 && warned != c.warned {
				t.Errorf("%s %d: warned %v", c.name, seed, warned)
			}
			if v.Delta.Verdict == uncertainty.Resolved || c.noise < 0.005 && (v.Areas[0].Verdict == uncertainty.Resolved || v.Regions[0].Delta.Verdict == uncertainty.Resolved || v.Shift.Verdict == uncertainty.Resolved) {
				t.Errorf("%s %d: drag %.4f ± %.4f %s, area %s, region %s, centroid %s", c.name, seed, v.Delta.DragArea, v.Delta.Expanded, v.Delta.Verdict, v.Areas[0].Verdict, v.Regions[0].Delta.Verdict, v.Shift.Verdict)
			}
		}
	}
}
