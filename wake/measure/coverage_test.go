package measure_test

import (
	"math"
	"math/rand/v2"
	"strings"
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
	// held to the truth in TestStraightLevelLines and TestAreaCoverageShapes.
	coverThresholds = []float64{0.25, 0.32}
	coverRegion     = measure.Box{Name: "part", Box: grid.Box{Min: grid.Point{X: 0.06, Y: -0.04}, Max: grid.Point{X: 0.58, Y: 0.48}}}
)

// noWakeOnly is a section that does not hold the window: the wake-only drag, which takes most
// of the time, is left out.
var noWakeOnly = [2]float64{0.1, 0.1}

// trial is a survey with known errors: noise independent from sample to sample,
// noise that neighbours share, and errors of the reference and of lengths.
type trial struct {
	white           float64
	shared, length  float64
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
	if c.shared > 0 {
		s.Col[wake.UU] = make([]float64, n)
	}
	var shared []float64
	if c.shared > 0 {
		shared = waketest.SharedNoise(r, side, 1.6, c.length)
	}
	for i := range n {
		y, z := s.Col[wake.Y][i], s.Col[wake.Z][i]
		s.Col[wake.U][i] += c.white * r.NormFloat64()
		if c.shared > 0 {
			// As turbulence does, the shared errors fade away outside the wake.
			dy, dz := y-coverY, z-coverZ
			fade := math.Exp(-(dy*dy + dz*dz) / (4 * coverSigma * coverSigma))
			s.Col[wake.UU][i] = 50 * c.shared * c.shared * fade * fade
			s.Col[wake.U][i] += c.shared * fade * shared[i]
		}
	}
	if c.shared > 0 {
		opt.Turbulence = "none"
		opt.Uncertainty.EffectiveSamples, opt.Uncertainty.CorrelationLength = 50, c.length
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

// coverage runs the trials and counts how often the stated interval holds the
// truth, in per cent by quantity.
func coverage(tb testing.TB, c trial, trials int, seed uint64) map[string]float64 {
	drag, region, y, z, areas := truth()
	held := map[string]float64{}
	var mu sync.Mutex
	var wg sync.WaitGroup
	const workers = 4
	for w := range workers {
		wg.Go(func() {
			mine := map[string]float64{}
			for t := w; t < trials; t += workers {
				p, opt := c.survey(rand.New(rand.NewPCG(seed, uint64(t))), 0)
				res, err := measure.Measure(p, opt)
				if err != nil {
					tb.Error(err)
					return
				}
				count := func(name string, got, want float64, b uncertainty.Budget) {
					if math.Abs(got-want) <= b.Expanded {
						mine[name]++
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
			}
			mu.Lock()
			for n, v := range mine {
				held[n] += v
			}
			mu.Unlock()
		})
	}
	wg.Wait()
	for n := range held {
		held[n] *= 100 / float64(trials)
	}
	return held
}

// quoted is the drag area that the result quotes.
func quoted(r *measure.Result) float64 {
	if r.Drag.Headline == "wake_only" {
		return r.Drag.WakeOnly.DragArea
	}
	return r.Drag.Momentum.DragArea
}

// coverageCases are the errors of the coverage tests. Where each survey is measured many
// times over, its samples are fewer.
var coverageCases = []struct {
	name string
	c    trial
}{
	{"independent", trial{white: 0.004}},
	{"reference and lengths", trial{white: 0.002, speed: 1e-4, density: 0.002, pressure: 5e-5, scale: 0.004, side: 25}},
	{"shared by neighbours", trial{white: 0.001, shared: 0.004, length: 0.12, side: 25}},
}

// covered fails the test for a quantity whose intervals hold the truth too rarely
// or too often.
func covered(tb testing.TB, name string, seed uint64, held map[string]float64, least, most float64) {
	tb.Helper()
	for _, q := range []string{"drag", "region drag", "centroid y", "centroid z", "area 0.25", "area 0.32"} {
		if !(held[q] >= least && held[q] <= most) {
			tb.Errorf("seed %d, errors %s: the interval of the %s holds the truth in %.1f %% of the surveys", seed, name, q, held[q])
		}
	}
}

// TestCoverage: the stated 95 % interval holds the truth in 95 of a hundred surveys, within
// three standard errors of the share.
func TestCoverage(t *testing.T) {
	for k, c := range coverageCases {
		// Surveys that are measured many times over are fewer.
		trials := []int{200, 120, 100}[k]
		if gridtest.Large() {
			trials = 1000
		}
		off := 300 * math.Sqrt(0.05*0.95/float64(trials))
		seed := uint64(100 + k)
		held := coverage(t, c.c, trials, seed)
		t.Logf("errors %s: %v", c.name, held)
		covered(t, c.name, seed, held, 95-off, 95+off)
	}
}

// BenchmarkCoverage is the longer run: a thousand surveys of each kind.
func BenchmarkCoverage(b *testing.B) {
	for k, c := range coverageCases {
		b.Run(c.name, func(b *testing.B) {
			seed := uint64(200 + k)
			for b.Loop() {
				held := coverage(b, c.c, 1000, seed)
				covered(b, c.name, seed, held, 93, 97)
				for q, v := range held {
					b.ReportMetric(v, strings.ReplaceAll(q, " ", "-")+"-%")
				}
			}
		})
	}
}

// TestStraightLevelLines: without scatter, an area is off by what its budget says of
// the level lines, and an integral over a box by what it says of the curvature.
func TestStraightLevelLines(t *testing.T) {
	c := trial{}
	p, opt := c.survey(rand.New(rand.NewPCG(1, 1)), 0)
	opt.Thresholds = []float64{0.1, 0.2, 0.4, 0.6}
	opt.Regions[0].Box = grid.Box{Min: grid.Point{X: coverY, Y: coverZ}, Max: grid.Point{X: 0.3, Y: 0.2}}
	res, err := measure.Measure(p, opt)
	if err != nil {
		t.Fatal(err)
	}
	item := func(b uncertainty.Budget, name string) float64 {
		for _, it := range b.Items {
			if it.Name == name {
				return it.Standard
			}
		}
		t.Fatalf("no %s among %+v", name, b.Items)
		return 0
	}
	for k, th := range opt.Thresholds {
		want := 2 * math.Pi * coverSigma * coverSigma * math.Log(coverEps/(1-math.Sqrt(1-th)))
		off := math.Abs(res.Wake.Areas[k].Area - want)
		// Twice the item holds what it knows to be there, and up to half more for where the
		// lines of samples meet the level line (phaseVariance) and for the next term.
		if said := 2 * item(res.Uncertainty.Areas[k], "straight level lines"); !(said >= off && said <= 1.5*off) {
			t.Errorf("threshold %g: the area is off by %.3g m2, twice the budget's item is %.3g", th, off, said)
		}
	}
	// ∫∫ of the two Gaussians over the box in error functions.
	part := func(sigma float64) float64 {
		f := func(hi, at float64) float64 { return math.Erf((hi-at)/(sigma*math.Sqrt2)) / 2 }
		return 2 * math.Pi * sigma * sigma * f(0.3, coverY) * f(0.2, coverZ)
	}
	want := 2*coverEps*part(coverSigma) - 2*coverEps*coverEps*part(coverSigma/math.Sqrt2)
	off := math.Abs(*res.Regions[0].DragArea - want)
	if said := 2 * item(*res.Regions[0].Uncertainty.DragArea, "curvature between samples"); !(said >= off && said <= 1.5*off) {
		t.Errorf("the region's drag is off by %.3g m2, twice the budget's item is %.3g", off, said)
	}
}

// TestSensitivities: those found by measuring again are the closed ones.
func TestSensitivities(t *testing.T) {
	c := trial{}
	p, opt := c.survey(rand.New(rand.NewPCG(1, 1)), 0)
	opt.Uncertainty = measure.Inputs{TotalPressure: 1e-5, Pressure: 1e-5, Scale: 1e-4, Position: 1e-3}
	res, err := measure.Measure(p, opt)
	if err != nil {
		t.Fatal(err)
	}
	find := func(b uncertainty.Budget, name string) float64 {
		for _, it := range b.Items {
			if it.Name == name {
				return *it.Sensitivity
			}
		}
		t.Fatalf("no %s", name)
		return 0
	}
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
		{"area by scale", find(res.Uncertainty.Areas[0], "position scale"), 2 * res.Wake.Areas[0].Area},
	} {
		if math.Abs(x.got-x.want) > 1e-6*math.Abs(x.want) {
			t.Errorf("%s: %.9g, %.9g is expected", x.name, x.got, x.want)
		}
	}
}

// TestLostInput: where an input that is off takes a number away, the survey says so, and
// what the number's budget lacks is not known. A
// total pressure as uncertain as the whole loss leaves the weight without a positive sum,
// and so without a centroid.
func TestLostInput(t *testing.T) {
	c := trial{}
	p, opt := c.survey(rand.New(rand.NewPCG(1, 1)), 0)
	opt.Uncertainty = measure.Inputs{TotalPressure: 1e-4, Speed: 1e-6}
	known := ""
	lost := func() string {
		res, err := measure.Measure(p, opt)
		if err != nil {
			t.Fatal(err)
		}
		known = uncertainty.StateOf(uncertainty.Reference, res.Uncertainty.Centroid[0].Items).How
		for _, w := range res.Warnings {
			if w.Code == "budget-lacks-input" {
				return w.Text
			}
		}
		return ""
	}
	if text := lost(); text != "" {
		t.Errorf("a small uncertainty: %s", text)
	}
	if known != uncertainty.Stated {
		t.Errorf("a small uncertainty: the reference of the centroid is %s", known)
	}
	// The loss is ∫(1−u²)dS, the total pressure acts on 2.56 of the window over q = 1/2.
	loss := 2 * math.Pi * coverSigma * coverSigma * (2*coverEps - coverEps*coverEps/2)
	opt.Uncertainty.TotalPressure = loss / 2 / 2.56
	text := lost()
	if known != uncertainty.Unknown {
		t.Errorf("the reference of a centroid that lacks an input is %s", known)
	}
	for _, want := range []string{"reference total pressure", "the centroid of the whole plane"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
}
