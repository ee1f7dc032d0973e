package measure_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// The wake of the coverage tests: depth and width, off the middle of a window of
// 1.6 × 1.6, with a region that holds a quarter of it.
const (
	coverEps, coverSigma = 0.5, 0.2
	coverY, coverZ       = 0.06, -0.04
	coverSide            = 33
)

var (
	// At these the scatter is well above what straight level lines are off by; that is
	// held to the truth in TestStraightLevelLinesOfShapes and TestAreaCoverageShapes.
	coverThresholds = []float64{0.25, 0.32}
	coverRegion     = measure.Box{Name: "part", Box: grid.Box{Min: grid.Point{X: 0.06, Y: -0.04}, Max: grid.Point{X: 0.58, Y: 0.48}}}
)

// noWakeOnly is a section that does not hold the window: the wake-only drag, which takes most
// of the time, is left out.
var noWakeOnly = [2]float64{0.1, 0.1}

// trial is a survey with known errors: noise independent from sample to sample, and errors
// of the reference and of lengths.
type trial struct {
	white           float64
	speed, density  float64
	pressure, scale float64
	// side is the number of lines of samples each way, coverSide for 0.
	side int
}

// survey makes the plane of the trial: the samples carry the errors, the options
// what is stated about them.
func (c trial) survey(r *rand.Rand, dy float64) (*wake.Plane, measure.Options) {
	side := c.side
	if side == 0 {
		side = coverSide
	}
	s := waketest.Lattice(waketest.Gaussian(coverEps, coverSigma, coverY+dy, coverZ), -0.8, 0.8, -0.8, 0.8, side, side)
	opt := measure.Options{Reference: waketest.Reference(), Thresholds: coverThresholds, Regions: []measure.Box{coverRegion}}
	n := s.N
	opt.Section = noWakeOnly
	for i := range n {
		s.Col[wake.U][i] += c.white * r.NormFloat64()
	}
	if c.pressure > 0 {
		off := c.pressure * r.NormFloat64()
		for i := range n {
			s.Col[wake.P][i] += off
		}
	}
	k := 1 + c.scale*r.NormFloat64()
	for i := range n {
		s.Col[wake.Y][i] *= k
		s.Col[wake.Z][i] *= k
	}
	opt.Reference.Speed += c.speed * r.NormFloat64()
	opt.Reference.Density += c.density * r.NormFloat64()
	opt.Uncertainty.Speed, opt.Uncertainty.Density = c.speed, c.density
	opt.Uncertainty.Pressure, opt.Uncertainty.Scale = c.pressure, c.scale
	planes, err := wake.Planes(s, wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"})
	if err != nil {
		panic(err)
	}
	return planes[0], opt
}

// truth gives the headline numbers of the wake without errors.
func truth() (drag, region, y, z float64, areas []float64) {
	drag = 2 * math.Pi * coverSigma * coverSigma * coverEps * (2 - coverEps)
	// The integrand 2u(1−u) is 2d − 2d² with d = ε exp(−r²/2σ²): two Gaussians, each a
	// product of two error functions.
	part := func(sigma float64) float64 {
		f := func(lo, hi, at float64) float64 {
			q := sigma * math.Sqrt2
			return (math.Erf((hi-at)/q) - math.Erf((lo-at)/q)) / 2
		}
		b := coverRegion.Box
		return 2 * math.Pi * sigma * sigma * f(b.Min.X, b.Max.X, coverY) * f(b.Min.Y, b.Max.Y, coverZ)
	}
	region = 2*coverEps*part(coverSigma) - 2*coverEps*coverEps*part(coverSigma/math.Sqrt2)
	for _, t := range coverThresholds {
		// 1 − u² > t where d > 1 − √(1−t).
		areas = append(areas, 2*math.Pi*coverSigma*coverSigma*math.Log(coverEps/(1-math.Sqrt(1-t))))
	}
	return drag, region, coverY, coverZ, areas
}

// surveys measures n surveys side by side; what each gives is counted one at a time.
func surveys(tb testing.TB, n int, survey func(k int) (*wake.Plane, measure.Options), count func(r *measure.Result)) {
	var mu sync.Mutex
	grid.Parallel(n, func(k int) {
		r, err := measure.Take(survey(k))
		mu.Lock()
		defer mu.Unlock()
		if err != nil {
			tb.Error(err)
			return
		}
		count(r.Result)
	})
}

// coverage runs the trials and counts how often the stated interval holds the
// truth, in per cent by quantity.
func coverage(tb testing.TB, c trial, trials int, seed uint64) map[string]float64 {
	drag, region, y, z, areas := truth()
	held := map[string]float64{}
	surveys(tb, trials, func(k int) (*wake.Plane, measure.Options) {
		return c.survey(rand.New(rand.NewPCG(seed, uint64(k))), 0)
	}, func(res *measure.Result) {
		count := func(name string, got, want float64, b uncertainty.Budget) {
			if math.Abs(got-want) <= b.Expanded {
				held[name] += 100 / float64(trials)
			}
		}
		g := res.Regions[0]
		count("drag", quoted(res), drag, *res.Uncertainty.DragArea)
		count("region drag", *g.DragArea, region, *g.Uncertainty.DragArea)
		count("centroid y", res.Wake.Centroid[0], y, res.Uncertainty.Centroid[0])
		count("centroid z", res.Wake.Centroid[1], z, res.Uncertainty.Centroid[1])
		for k, a := range res.Wake.Areas {
			count([]string{"area 0.25", "area 0.32"}[k], a.Area, areas[k], res.Uncertainty.Areas[k])
		}
	})
	return held
}

// quoted is the drag area that the result quotes.
func quoted(r *measure.Result) float64 {
	area, _, _ := r.Drag.Quoted()
	return area
}

// coverageCases are the errors of the coverage tests. Where each survey is measured many
// times over, its samples are fewer.
var coverageCases = []struct {
	name string
	c    trial
}{
	{"independent", trial{white: 0.004}},
	{"reference and lengths", trial{white: 0.002, speed: 1e-4, density: 0.002, pressure: 5e-5, scale: 0.004, side: 25}},
}

// TestCoverage: the stated 95 % interval holds the truth in 95 of a hundred surveys, within
// three standard errors of the share.
func TestCoverage(t *testing.T) {
	for k, c := range coverageCases {
		// Surveys that are measured many times over are fewer.
		trials := []int{200, 120}[k]
		if gridtest.Large() {
			trials = 1000
		}
		off := 300 * math.Sqrt(0.05*0.95/float64(trials))
		seed := uint64(100 + k)
		held := coverage(t, c.c, trials, seed)
		t.Logf("errors %s: %v", c.name, held)
		for _, q := range []string{"drag", "region drag", "centroid y", "centroid z", "area 0.25", "area 0.32"} {
			if !(math.Abs(held[q]-95) <= off+1e-9) {
				t.Errorf("seed %d, errors %s: the interval of the %s holds the truth in %.1f %% of the surveys", seed, c.name, q, held[q])
			}
		}
	}
}

// TestWakeOnlyCoverage: where the window does not close, since the pressure is off, the
// wake-only drag is quoted, and its interval holds the truth. The wake has p = p∞ and no
// cross-flow, so that u* = U and the wake integral is that of the momentum.
func TestWakeOnlyCoverage(t *testing.T) {
	const trials = 100
	drag, _, _, _, _ := truth()
	c := trial{white: 0.002, pressure: 0.004, scale: 0.002}
	held, quotedWake := 0, 0
	surveys(t, trials, func(k int) (*wake.Plane, measure.Options) {
		p, opt := c.survey(rand.New(rand.NewPCG(400, uint64(k))), 0)
		opt.Section, opt.Regions, opt.Thresholds = [2]float64{}, nil, []float64{0.25}
		return p, opt
	}, func(res *measure.Result) {
		if res.Drag.Headline == measure.ByWakeOnly {
			quotedWake++
			if math.Abs(res.Drag.WakeOnly.DragArea-drag) <= res.Uncertainty.DragArea.Expanded {
				held++
			}
		}
	})
	share := 100 * float64(held) / float64(quotedWake)
	t.Logf("wake-only drag quoted in %d of %d surveys, held in %.1f %%", quotedWake, trials, share)
	if quotedWake < trials/2 {
		t.Fatalf("wake-only drag is quoted in %d of %d surveys", quotedWake, trials)
	}
	// Three standard errors of the share below 95.
	if least := 95 - 300*math.Sqrt(0.05*0.95/float64(quotedWake)); share < least || share > 99.5 {
		t.Errorf("the interval of the wake-only drag holds the truth in %.1f %% of %d surveys", share, quotedWake)
	}
}

// item finds one of a budget by its name.
func item(t *testing.T, b uncertainty.Budget, name string) uncertainty.Item {
	t.Helper()
	k := slices.IndexFunc(b.Items, func(it uncertainty.Item) bool { return it.Name == name })
	if k < 0 {
		t.Fatalf("no %s among %+v", name, b.Items)
	}
	return b.Items[k]
}

// TestCurvature: without scatter, an integral over a box is off by what its budget says of the
// curvature; of areas TestStraightLevelLinesOfShapes says as much.
func TestCurvature(t *testing.T) {
	c := trial{}
	p, opt := c.survey(rand.New(rand.NewPCG(1, 1)), 0)
	opt.Regions[0].Box = grid.Box{Min: grid.Point{X: coverY, Y: coverZ}, Max: grid.Point{X: 0.3, Y: 0.2}}
	res := mustTake(t, p, opt)
	// ∫∫ of the two Gaussians over the box in error functions.
	part := func(sigma float64) float64 {
		f := func(hi, at float64) float64 { return math.Erf((hi-at)/(sigma*math.Sqrt2)) / 2 }
		return 2 * math.Pi * sigma * sigma * f(0.3, coverY) * f(0.2, coverZ)
	}
	want := 2*coverEps*part(coverSigma) - 2*coverEps*coverEps*part(coverSigma/math.Sqrt2)
	off := math.Abs(*res.Regions[0].DragArea - want)
	if said := 2 * item(t, *res.Regions[0].Uncertainty.DragArea, "curvature between samples").Standard; !(said >= off && said <= 1.5*off) {
		t.Errorf("the region's drag is off by %.3g m2, twice the budget's item is %.3g", off, said)
	}
}

// TestSensitivities: those found by measuring again are the closed ones.
func TestSensitivities(t *testing.T) {
	c := trial{}
	p, opt := c.survey(rand.New(rand.NewPCG(1, 1)), 0)
	opt.Uncertainty = measure.Inputs{TotalPressure: 1e-5, Pressure: 1e-5, Scale: 1e-4, Position: 1e-3}
	res := mustTake(t, p, opt)
	find := func(b uncertainty.Budget, name string) float64 { return *item(t, b, name).Sensitivity }
	d := *res.Uncertainty.DragArea
	// p∞ over q = ½ acts on the whole window, and pt∞ is not in the momentum integral; a
	// scale acts on the area twice.
	for _, x := range []struct {
		name      string
		got, want float64
	}{
		{"drag by pressure", find(d, "reference pressure"), 2 * 1.6 * 1.6},
		{"drag by total pressure", find(d, "reference total pressure"), 0},
		{"drag by scale", find(d, "position scale"), 2 * res.Drag.Momentum.DragArea},
		{"centroid by position", find(res.Uncertainty.Centroid[0], "position along the first axis"), 1},
		{"area by scale", find(res.Uncertainty.Areas[0], "position scale"), 2 * (res.Wake.Areas[0].Area + res.Wake.Areas[0].Corrected)},
	} {
		if math.Abs(x.got-x.want) > 1e-6*math.Abs(x.want) {
			t.Errorf("%s: %.9g, %.9g is expected", x.name, x.got, x.want)
		}
	}
}

// TestLostInput: where an input that is off takes a number away, what the number's budget
// lacks is not known. A total pressure as uncertain as the whole loss leaves the weight
// without a positive sum, and so without a centroid.
func TestLostInput(t *testing.T) {
	p, opt := trial{}.survey(rand.New(rand.NewPCG(1, 1)), 0)
	// The loss is ∫(1−u²)dS, the total pressure acts on 2.56 of the window over q = 1/2.
	loss := 2 * math.Pi * coverSigma * coverSigma * (2*coverEps - coverEps*coverEps/2)
	for u, want := range map[float64]string{1e-4: uncertainty.Stated, loss / 2 / 2.56: uncertainty.Unknown} {
		opt.Uncertainty = measure.Inputs{TotalPressure: u, Speed: 1e-6}
		res := mustTake(t, p, opt)
		if how := uncertainty.StateOf(uncertainty.Reference, res.Uncertainty.Centroid[0].Items).How; how != want {
			t.Errorf("u of pt∞ %g: the reference of the centroid is %s, not %s", u, how, want)
		}
	}
}
