package uncertainty

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wakeledger/grid/gridtest"
)

var near = gridtest.Near

// of is the budget of items with these standard uncertainties.
func of(u []float64) Budget {
	var items []Item
	for _, v := range u {
		items = append(items, Item{Standard: v})
	}
	return NewBudget(items...)
}

// JCGM 100:2008, example H.1: the four combined contributions to an end gauge, nm.
func TestGaugeBlock(t *testing.T) {
	u, dof := []float64{25, 9.7, 2.9, 16.6}, []float64{18, 25.6, 50, 2}
	uc := of(u).Standard
	near(t, "u_c", uc, 31.7, 0.05)
	nu := EffectiveDOF(u, dof)
	near(t, "ν_eff", nu, 16.77, 0.01)
	// The guide truncates the degrees of freedom, and rounds u_c to 32 nm.
	t99 := distuv.StudentsT{Sigma: 1, Nu: math.Floor(nu)}.Quantile(0.995)
	near(t, "t99(16)", t99, 2.921, 0.0005)
	near(t, "U99", t99*math.Round(uc), 93, 0.5)
}

// JCGM 100:2008, G.4.1 (values from memory): 0.25, 0.57, 0.82 % from 10, 5 and 15
// observations.
func TestEffectiveDOF(t *testing.T) {
	u, dof := []float64{0.25, 0.57, 0.82}, []float64{9, 4, 14}
	uc, nu := of(u).Standard, EffectiveDOF(u, dof)
	near(t, "u_c", uc, 1.03, 0.005)
	near(t, "ν_eff", nu, 19.0, 0.05)
	near(t, "t95", Coverage(nu), 2.09, 0.005)
	near(t, "U", Coverage(nu)*uc, 2.2, 0.05)

	if got := EffectiveDOF([]float64{1, 0}, []float64{7, 3}); got != 7 {
		t.Errorf("one contribution with 7 degrees of freedom gives %g", got)
	}
	if got := EffectiveDOF([]float64{1e-100, 1e-100}, []float64{4, 4}); math.Abs(got-8) > 1e-12 {
		t.Errorf("two small equal contributions with 4 degrees of freedom give %g, 8 is expected", got)
	}
	if got := EffectiveDOF([]float64{1, 2}, []float64{math.Inf(1), math.Inf(1)}); !math.IsInf(got, 1) {
		t.Errorf("known contributions give %g degrees of freedom", got)
	}
	if got := EffectiveDOF([]float64{1}, []float64{0}); !math.IsNaN(got) {
		t.Errorf("no degree of freedom gives %g", got)
	}
}

// Student's t for 95 %, as every table prints it, below 30 degrees of freedom.
func TestCoverage(t *testing.T) {
	for nu, want := range map[float64]float64{2: 4.303, 3: 3.182, 4: 2.776, 5: 2.571, 7: 2.365, 9: 2.262, 10: 2.228, 20: 2.086, 29.999: 2.042, 30: 2, 1000: 2, math.Inf(1): 2} {
		near(t, "coverage factor", Coverage(nu), want, 0.0005)
	}
	if !math.IsNaN(Coverage(0)) || !math.IsNaN(Coverage(math.NaN())) {
		t.Error("a coverage factor without degrees of freedom")
	}
}

// Pooling and a trend, exactly: two samples of the same spread, a straight line
// with a known scatter.
func TestPooledAndTrend(t *testing.T) {
	sd, dof := Pooled(NewSample([]float64{1, 3}), NewSample([]float64{10, 14, 12}), NewSample([]float64{9}))
	// Squares about the means: 2 and 8, with 1 + 2 degrees of freedom.
	near(t, "pooled sd", sd, math.Sqrt(10.0/3), 1e-12)
	near(t, "dof", dof, 3, 0)
	for _, v := range [][]float64{{1}, {2, 2}, {0.3, 0.1 + 0.2}} {
		if _, dof := Pooled(NewSample(v)); dof != 0 {
			t.Errorf("%v have %g degrees of freedom", v, dof)
		}
	}
}

// Celik et al. 2008, table 1: three results, cell numbers in two dimensions.
func TestGridConvergencePublished(t *testing.T) {
	for _, c := range []struct {
		cells, f         [3]float64
		p, ext, eext, gc float64 // the last two in per cent
		oscillatory      bool
	}{
		{[3]float64{18000, 8000, 4500}, [3]float64{6.063, 5.972, 5.863}, 1.5340, 6.1685, 1.710, 2.175, false},
		{[3]float64{18000, 4500, 980}, [3]float64{10.7880, 10.7250, 10.6050}, 0.7519, 10.8801, 0.846, 1.067, false},
		{[3]float64{18000, 4500, 980}, [3]float64{6.0042, 5.9624, 6.0909}, 1.5077, 6.0269, 0.377, 0.472, true},
	} {
		var h [3]float64
		for k, n := range c.cells {
			h[k] = 1 / math.Sqrt(n)
		}
		g, err := NewGridConvergence(h[:], c.f[:])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "order", g.Order, c.p, 0.0005)
		near(t, "extrapolated", g.Extrapolated, c.ext, 0.0005)
		near(t, "e_ext", 100*math.Abs(c.f[0]/g.Extrapolated-1), c.eext, 0.001)
		near(t, "GCI", *g.Index, c.gc, 0.001)
		if g.Oscillatory != c.oscillatory || g.Fallback+g.Doubt != "" {
			t.Errorf("oscillatory %v, fall-back %q, doubt %q", g.Oscillatory, g.Fallback, g.Doubt)
		}
	}
}

// NASA/NPARC tutorial on spatial convergence: pressure recovery on three grids.
func TestGridConvergenceTutorial(t *testing.T) {
	f := []float64{0.97050, 0.96854, 0.96178}
	g, err := NewGridConvergence([]float64{1, 2, 4}, f)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "p", g.Order, 1.786170, 3e-5)
	near(t, "f0", g.Extrapolated, 0.971300, 3e-5)
	near(t, "GCI12", *g.Index, 0.1031, 5e-5)
	coarse := g.Factor * (1 - f[2]/f[1]) / (math.Pow(2, g.Used) - 1)
	near(t, "GCI23", 100*coarse, 0.3562, 1e-4)
	near(t, "ratio", math.Pow(2, g.Used)**g.Index/100/coarse, 0.997980, 3e-5)
}

// Exact power laws give back their order and limit; what is no convergence falls
// back and says so.
func TestGridConvergenceLimits(t *testing.T) {
	const seed = 3
	r := rand.New(rand.NewPCG(seed, 0))
	for range 200 {
		p, f0, c := 0.7+2.2*r.Float64(), 1+r.Float64(), r.NormFloat64()
		h := []float64{1, 1.3 + r.Float64(), 0}
		h[2] = h[1] * (1.3 + r.Float64())
		f := make([]float64, 3)
		for k := range f {
			f[k] = f0 + c*math.Pow(h[k], p)
		}
		g, err := NewGridConvergence(h, f)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(g.Order-p) > 1e-6 || math.Abs(g.Extrapolated-f0) > 1e-6*(1+math.Abs(c)) {
			t.Fatalf("seed %d: order %.9f for %.9f, limit %.9f for %.9f", seed, g.Order, p, g.Extrapolated, f0)
		}
	}
	two, err := NewGridConvergence([]float64{1, 2}, []float64{1.00, 1.03})
	if err != nil || two.Factor != 3 || two.Used != 2 || two.Fallback != "no order observed: 2 and a factor of 3 are taken" {
		t.Errorf("two meshes: %+v, %v", two, err)
	}
	near(t, "two meshes, extrapolated", two.Extrapolated, 0.99, 1e-12)
	near(t, "two meshes, index", *two.Index, 100*3*0.03/3, 1e-12)
	for want, f := range map[string][]float64{"no order observed: 2 and a factor of 3 are taken": {0, 1, 1.04}, "the observed order 16 is not within 0.5 to 3: 3 and a factor of 3 are taken": {1, 1.01, 1.21}} {
		if g, err := NewGridConvergence([]float64{1, 1.2, 1.44}, f); err != nil || g.Fallback != want || g.Doubt == "" || (g.Index == nil) != (f[0] == 0) {
			t.Errorf("%v: %+v, want %q", f, g, want)
		}
	}
	if g, _ := NewGridConvergence([]float64{1, 2, 4}, []float64{1.00, 1.03, 1.04}); g.Factor != 3 || g.Fallback == "" {
		t.Errorf("diverging results: %+v", g)
	}
	if g, _ := NewGridConvergence([]float64{1, 2, 4}, []float64{1, 1, 1.04}); g.Factor != 3 || g.Standard != 0 {
		t.Errorf("two equal results: %+v", g)
	}
	for _, bad := range [][2][]float64{{{1}, {1}}, {{2, 1}, {1, 2}}, {{1, 2}, {1, math.NaN()}}, {{0, 1}, {1, 2}}} {
		if _, err := NewGridConvergence(bad[0], bad[1]); err == nil {
			t.Errorf("%v is accepted", bad)
		}
	}
}

// An uncertainty that is added never shortens the interval, whatever its degrees of freedom.
func TestBudgetNotShortenedByAnItem(t *testing.T) {
	one, few := 1.0, 4.0
	for _, first := range []*float64{nil, &few, &one} {
		for _, size := range []float64{0.01, 0.5, 1, 1.4, 3, 20} {
			a := Item{Name: "a", Category: RunToRun, Standard: 0.0013, DOF: first}
			b := Item{Name: "b", Category: Sampling, Standard: size * 0.0013}
			apart, both := NewBudget(a), NewBudget(a, b)
			if !(both.Expanded >= apart.Expanded*(1-1e-12)) || !(both.Expanded >= 2*b.Standard) {
				t.Errorf("%v: ± %g with an item of %g, %g without", first, both.Expanded, b.Standard, apart.Expanded)
			}
			nu := math.Inf(1)
			if both.DOF != nil {
				nu = *both.DOF
			}
			if math.Abs(both.Coverage-Coverage(nu)) > 1e-9 {
				t.Errorf("k = %g, of ν = %g it is %g", both.Coverage, nu, Coverage(nu))
			}
		}
	}
}

// Trials of a budget's own items agree with it however few they are; those of another
// distribution, twice as wide, do not.
func TestFewTrialsDecideNothing(t *testing.T) {
	for _, trials := range []int{100, 200, 300, 500, 5000} {
		for _, dof := range []float64{1, 2, 100} {
			b := NewBudget(Item{Name: "repeats", Kind: Random, Standard: 1, DOF: &dof})
			if mc := NewMonteCarlo(0, nil, trials, &b); !mc.Agrees {
				t.Errorf("ν = %g: %s", dof, mc.Text)
			}
			wide := make([]float64, trials)
			for k := range wide {
				wide[k] = 40 * b.Expanded * (float64(k)/float64(trials) - 0.5)
			}
			if mc := NewMonteCarlo(0, wide, trials, &b); mc.Agrees {
				t.Errorf("ν = %g, with changes of ±%.3g: %s", dof, wide[0], mc.Text)
			}
		}
	}
}

// A list with fewer digits, fewer decimals or cut off is a copy, and neither itself, which Copied tells, nor another run.
func TestRounded(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 0))
	var lists [5][]float64
	for range 1000 {
		x := math.Round(1e6*(25+8*r.NormFloat64())) / 1e6
		four, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 3, 64), 64)
		for k, v := range []float64{x, four, math.Round(10*x) / 10, math.Floor(10*x) / 10, math.Round(100*(x+0.02*r.NormFloat64())) / 100} {
			lists[k] = append(lists[k], v)
		}
	}
	for k, want := range []bool{false, true, true, true, false} {
		if Rounded(lists[0], lists[k]) != want || Rounded(lists[k], lists[0]) != want {
			t.Errorf("list %d: %v is expected", k, want)
		}
	}
}

// TestKnownErrorsAddUp: of errors of known size that are left in a value, of one sign or of two, beside a
// scatter, U holds what they come to in 95 of a hundred draws.
func TestKnownErrorsAddUp(t *testing.T) {
	const draws = 40000
	r := rand.New(rand.NewPCG(71, 1))
	for _, c := range []struct{ one, other, about, scatter float64 }{
		{1, 1, 0.1, 1}, {1, -1, 0.3, 0.5}, {2, -0.5, 0.2, 0.4}, {2, 1, 0.2, 0.4}, {-1, 0.9, 0.1, 0.1},
	} {
		b := NewBudget(Item{Name: "scatter", Category: Sampling, Kind: Random, Standard: c.scatter},
			Left("one", c.one, c.scatter, c.about), Left("other", c.other, c.scatter, c.about))
		held, squares := 0, 0.0
		for range draws {
			if off := c.one + c.other + c.scatter*r.NormFloat64() + c.about*(r.NormFloat64()+r.NormFloat64()); math.Abs(off) <= b.Expanded {
				held++
			}
		}
		for _, it := range b.Items {
			squares += it.Standard * it.Standard
		}
		if share := 100 * float64(held) / draws; math.Abs(share-95) > 1 || math.Abs(squares-b.Standard*b.Standard) > 1e-12 {
			t.Errorf("errors of %g and %g, scatter %g: held in %.1f %%; the items' squares are %.6g, the sum's %.6g", c.one, c.other, c.scatter, share, squares, b.Standard*b.Standard)
		}
	}
}
