package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// meanVarianceAR1 is the variance of the mean of n values over that of one, if the
// correlation of values k apart is ρᵏ: the sum (1/n)[1 + 2Σ(1−k/n)ρᵏ].
func meanVarianceAR1(n int, rho float64) float64 {
	m := float64(n)
	return ((1+rho)/(1-rho) - 2*rho*(1-math.Pow(rho, m))/(m*(1-rho)*(1-rho))) / m
}

// The values of check 44 of the method, and the closed form as the limit of ever finer
// steps of an autoregressive series.
func TestMeanVariance(t *testing.T) {
	near(t, "AR(1) ρ=0.9 N=1000", meanVarianceAR1(1000, 0.9), 0.01882, 1e-8)
	near(t, "T=100 Ti=0.5", MeanVariance(100, 0.5), 0.00995, 1e-8)
	for _, T := range []float64{0.01, 0.5, 3, 40, 1e5} {
		const n = 200000
		near(t, "as the limit of AR(1)", MeanVariance(T, 1), meanVarianceAR1(n, math.Exp(-T/n)), 1e-5)
	}
	for _, v := range []float64{MeanVariance(math.NaN(), 1), MeanVariance(1, -1)} {
		if !math.IsNaN(v) {
			t.Errorf("%v, want NaN for what has no meaning", v)
		}
	}
	near(t, "Ti = 0", MeanVariance(10, 0), 0, 0)
	near(t, "T = 0", MeanVariance(0, 1), 1, 0)
	near(t, "T near 0", MeanVariance(1e-6, 1), 1, 1e-6)
}

func numbers(n int) []int64 {
	out := make([]int64, n)
	for i := range out {
		out[i] = int64(i + 1)
	}
	return out
}

// ar1 draws a stationary record with unit variance and mean 5.
func ar1(r *rand.Rand, n int, rho float64) []float64 {
	x := make([]float64, n)
	v := r.NormFloat64()
	for i := range x {
		x[i] = 5 + v
		v = rho*v + math.Sqrt(1-rho*rho)*r.NormFloat64()
	}
	return x
}

// twoStates switches between 5 ± 1, each state lasting 1/p values on the mean, with noise
// of a fifth. Its correlation falls as (1−2p)^k.
func twoStates(r *rand.Rand, n int, p float64) []float64 {
	x := make([]float64, n)
	state := 1.0
	if r.IntN(2) == 0 {
		state = -1
	}
	for i := range x {
		x[i] = 5 + state + 0.2*r.NormFloat64()
		if r.Float64() < p {
			state = -state
		}
	}
	return x
}

// TestTimeScaleKnown: the autocorrelation of a whole number of periods of a cosine is
// (1 − k/N) cos(2πk/P); its integral to the first zero is known.
func TestTimeScaleKnown(t *testing.T) {
	const P, N = 200, 200 * 50
	x := make([]float64, N)
	for i := range x {
		x[i] = math.Cos(2 * math.Pi * float64(i) / P)
	}
	// With w = 2π/P the sum over N − k pairs is
	//   c(k) = (N−k)/2 cos wk − cos w sin wk / (2 sin w),
	// whose zero is at P/4 less about 1/N of it. The trapezoidal rule takes w/12 away.
	w := 2 * math.Pi / P
	want := 1/w - (P/4/w-1/(w*w))/N - 1/(w*math.Tan(w))/N - w/12
	// Last, the correction for the mean, which is zero here: v adds v·P/4 − v·(scale) to
	// first order, with v = 2·scale/N of the variance.
	want += 2 * want / N * (P/4 - want)
	near(t, "time scale of a cosine", TimeScale(numbers(N), x), want, 2e-3)
	// No correlation: ½, whatever the sign of the neighbours' covariance.
	near(t, "time scale of alternating values", TimeScale(numbers(4), []float64{1, -1, 1, -1}), 0.5, 0)
	near(t, "time scale of a constant", TimeScale(numbers(3), []float64{2, 2, 2}), 0.5, 0)
}

// TestTimeScaleGaps: taking whole periods out of a long cosine leaves the scale, within
// what the ends of the pieces bring (1/w²N each); so does taking it in means of 2.
func TestTimeScaleGaps(t *testing.T) {
	const P, N = 200, 200 * 150
	var index []int64
	var x []float64
	for i := range N {
		if i < N/3 || i >= 2*N/3 {
			index = append(index, int64(i+1))
			x = append(x, math.Cos(2*math.Pi*float64(i)/P))
		}
	}
	if len(x) <= mostValues {
		t.Fatal("the record is not taken in means")
	}
	near(t, "time scale with a gap", TimeScale(index, x), P/(2*math.Pi), 0.2)
	// Had the gap been closed up, neighbours across it would count as such.
	if got := TimeScale([]int64{1, 2, 5, 6, 9, 10}, []float64{1, 1, -1, -1, 1, 1}); !(got > 0.5) {
		t.Errorf("time scale of equal neighbours is %g, want more than 0.5", got)
	}
}

// TestBlocksCover: the interval from leaving out blocks holds the true mean in 92 to 97
// of a hundred records that are 15 or more times as long as twice the integral time
// scale. At 10 times, the shortest that are judged, the time scale itself is a third off,
// and the records that are judged are those in which it looks short: of all records no
// more than 10 in a hundred may be judged and missed (two states then switch nine times in
// a record). Shorter ones are refused as a rule. No more than 6 in a hundred of the steady
// records are said to drift.
func TestBlocksCover(t *testing.T) {
	if testing.Short() {
		t.Skip("60,000 records take two seconds, many more under the race detector")
	}
	const seed, runs = 20, 6000
	const rho, p = 0.8, 0.1 // both have the time scale (1+0.8)/(1−0.8)/2 = 4.5
	const scale = 4.5
	for name, draw := range map[string]func(r *rand.Rand, n int) []float64{
		"AR(1)":      func(r *rand.Rand, n int) []float64 { return ar1(r, n, rho) },
		"two states": func(r *rand.Rand, n int) []float64 { return twoStates(r, n, p) },
	} {
		r := rand.New(rand.NewPCG(seed, uint64(len(name))))
		for _, lengths := range []float64{4, 10, 15, 30, 100} {
			n := int(lengths * 2 * scale)
			held, judged, drifts := 0, 0, 0
			var least, off []float64
			for range runs {
				m := NewTimeMean(numbers(n), draw(r, n), nil)
				if m.AtLeast != nil {
					least, off = append(least, *m.AtLeast), append(off, m.Mean-5)
				}
				switch {
				case m.Doubt == RecordDrifts:
					drifts++
					continue
				case m.Doubt != "":
					continue
				}
				judged++
				if math.Abs(m.Mean-5) <= *m.Expanded {
					held++
				}
			}
			// Where it is open the scatter of the blocks is a lower bound of the right order; of
			// records that are nearly long enough those are open that scatter much.
			if len(least) > runs/10 {
				bound := floats.Norm(least, 2) / floats.Norm(off, 2)
				t.Logf("%s, n/2Ti = %g: the lower bound is %.2f of the true scatter", name, lengths, bound)
				if most := map[bool]float64{true: 1.02, false: 1.2}[lengths < 15]; !(0.5 < bound && bound < most) {
					t.Errorf("seed %d: %s, n/2Ti = %g: the lower bound is %.2f of the true scatter", seed, name, lengths, bound)
				}
			}
			share := 100 * float64(held) / float64(judged)
			t.Logf("%s, n/2Ti = %g: %d of %d judged, %d drift, the interval holds the mean in %.1f %%", name, lengths, judged, runs, drifts, share)
			if float64(drifts) > 0.06*runs {
				t.Errorf("seed %d: %s, n/2Ti = %g: %d of %d steady records drift", seed, name, lengths, drifts, runs)
			}
			switch {
			case lengths < 10:
				if judged > runs/5 {
					t.Errorf("%d of %d records that are too short are judged", judged, runs)
				}
			case !(share >= 92 && share <= 97):
				t.Errorf("seed %d: %s, n/2Ti = %g: %.1f %%", seed, name, lengths, share)
			}
		}
	}
}

// TestBlocksCoverSlow: changes that are slow, and weak beside shedding or noise, show in no zero of
// the autocorrelation; the intervals hold the mean as said of those that are judged. One spike, or
// one burst, is told as such.
func TestBlocksCoverSlow(t *testing.T) {
	const seed, runs = 7771, 500
	slow := func(r *rand.Rand, n int, scale, of float64, fast func(i int) float64) []float64 {
		x := ar1(r, n, math.Exp(-1/scale))
		for i := range x {
			x[i] = of*(x[i]-5) + fast(i)
		}
		return x
	}
	shedding := func(r *rand.Rand, n int) []float64 {
		at := 2 * math.Pi * r.Float64()
		return slow(r, n, 60, 0.2, func(i int) float64 { return math.Sin(2*math.Pi*float64(i)/24.3 + at) })
	}
	noise := func(r *rand.Rand, n int) []float64 {
		return slow(r, n, 60, 0.3, func(int) float64 { return r.NormFloat64() })
	}
	for _, c := range []struct {
		name            string
		draw            func(r *rand.Rand, n int) []float64
		n, judged, held int // per cent
		bursts          [2]int
	}{
		{"shedding", shedding, 1000, 70, 82, [2]int{0, 2}}, {"shedding", shedding, 4000, 90, 92, [2]int{0, 2}},
		{"noise", noise, 1000, 80, 86, [2]int{0, 2}}, {"noise", noise, 4000, 90, 93, [2]int{0, 2}},
		{"a spike", func(r *rand.Rand, n int) []float64 {
			return slow(r, n, 3, 1, func(i int) float64 { return map[bool]float64{true: 1000}[i == n/3] })
		}, 2000, 95, 0, [2]int{95, 100}},
	} {
		judged, held, bursts := 0, 0, 0
		for k := range runs {
			m := NewTimeMean(numbers(c.n), c.draw(rand.New(rand.NewPCG(seed, uint64(k))), c.n), nil)
			if m.Burst != nil {
				bursts++
			}
			if m.Standard != nil {
				judged++
				if math.Abs(m.Mean) <= *m.Expanded {
					held++
				}
			}
		}
		t.Logf("%s, %d values: %d of %d judged, %d held, %d told as a burst", c.name, c.n, judged, runs, held, bursts)
		if judged < c.judged*runs/100 || held < c.held*judged/100 || bursts < c.bursts[0]*runs/100 || bursts > c.bursts[1]*runs/100 {
			t.Errorf("seed %d: %s, %d values: %d of %d judged, %d held, %d told as a burst; want %+v", seed, c.name, c.n, judged, runs, held, bursts, c)
		}
	}
}

// TestDrift: a line through a record is found in 95 of a hundred, by its slope where it is
// small in a long record, else by the length of its time scale. A weaker one lengthens the
// time scale, and widens the interval by it.
func TestDrift(t *testing.T) {
	const seed, runs = 3, 200
	for _, c := range []struct {
		n           int
		rho, change float64 // standard deviations from end to end
		slope       bool
	}{{4000, 0, 0.35, true}, {600, 0.5, 3, false}} {
		r := rand.New(rand.NewPCG(seed, 0))
		found := 0
		for range runs {
			x := ar1(r, c.n, c.rho)
			for i := range x {
				x[i] += c.change * float64(i) / float64(c.n)
			}
			m := NewTimeMean(numbers(c.n), x, nil)
			if m.Doubt == RecordDrifts || m.Doubt != "" && !c.slope {
				found++
			}
		}
		if found < 95*runs/100 {
			t.Errorf("seed %d: a drift by %g was found in %d of %d records", seed, c.change, found, runs)
		}
	}
}

// TestTimeMeanCases: records of few values and of one value; a block of stretches is as
// good as one of single values; the standard uncertainty is that of the formula.
func TestTimeMeanCases(t *testing.T) {
	for _, c := range []struct {
		x     []float64
		doubt string
		mean  float64
	}{
		{nil, RecordShort, math.NaN()}, {[]float64{3}, RecordShort, 3}, {[]float64{1, 2, 3}, RecordShort, 2},
		{make([]float64, 7), RecordShort, 0}, {make([]float64, 9), RecordConstant, 0}, {make([]float64, 400), RecordConstant, 0},
	} {
		m := NewTimeMean(numbers(len(c.x)), c.x, nil)
		if m.Doubt != c.doubt || m.Mean != c.mean && !math.IsNaN(c.mean) || (m.Standard == nil) != (c.doubt != "") {
			t.Errorf("%v: %+v", c.x, m)
		}
	}
	const seed = 7 // with 4 the record looks slow
	x := ar1(rand.New(rand.NewPCG(seed, 0)), 4000, 0)
	m := NewTimeMean(numbers(4000), x, nil)
	// 20 blocks of 200 without correlation: the scatter of their means, but for what they share.
	var means []float64
	for k := range 20 {
		means = append(means, stat.Mean(x[200*k:200*k+200], nil))
	}
	near(t, "u from 20 equal blocks", *m.Standard, stat.StdDev(means, nil)/math.Sqrt(20), 0.01**m.Standard)
	stretches := make([]int64, 20)
	for i := range stretches {
		stretches[i] = 200
	}
	near(t, "u from 20 stretches", *NewTimeMean(numbers(4000), x, stretches).Standard, *m.Standard, 1e-12)
}

// TestStatesFalseAlarm: of steady records, autoregressive or skewed by an exponential
// function of one, or of an oscillation in noise, no more than 1 % are told as two states.
func TestStatesFalseAlarm(t *testing.T) {
	const seed, runs = 2, 200
	for _, c := range []struct {
		name string
		n    int
		rho  float64
		of   func(i int, v float64) float64
	}{
		{"white", 60, 0, nil}, {"AR(1), 0.5", 90, 0.5, nil}, {"AR(1), 0.8", 270, 0.8, nil}, {"AR(1), 0.95", 400, 0.95, nil},
		{"skewed", 270, 0.8, func(i int, v float64) float64 { return math.Exp(v / 2) }},
		{"oscillating", 400, 0.5, func(i int, v float64) float64 { return 5*math.Sin(float64(i)/5) + v }},
	} {
		r := rand.New(rand.NewPCG(seed, 0))
		told := 0
		for range runs {
			x := ar1(r, c.n, c.rho)
			for i := range x {
				if c.of != nil {
					x[i] = c.of(i, x[i]-5)
				}
			}
			if NewStates(numbers(c.n), x, TimeScale(numbers(c.n), x)) != nil {
				told++
			}
		}
		if told > runs/100 {
			t.Errorf("seed %d, %s: %d of %d records are told as two states", seed, c.name, told, runs)
		}
	}
}

// TestStates: of records that switch at random the states, their means and shares are found;
// the interval of the share holds it in nine of ten.
func TestStates(t *testing.T) {
	const seed, runs, n, up = 6, 100, 1500, 0.03
	r := rand.New(rand.NewPCG(seed, 0))
	told, held, right := 0, 0, 0
	for range runs {
		// Up with 3 %, down with 6 %: a third of the time below.
		x := make([]float64, n)
		truth := make([]int, n)
		state := 0
		for i := range x {
			x[i], truth[i] = 2+0.1*float64(state)+0.02*r.NormFloat64(), state
			if p := up * float64(2-state); r.Float64() < p {
				state = 1 - state
			}
		}
		s := NewStates(numbers(n), x, TimeScale(numbers(n), x))
		if s == nil {
			continue
		}
		told++
		for i, k := range s.Of {
			if k == truth[i] {
				right++
			}
		}
		if s.ShareExpanded != nil && math.Abs(s.State[0].Share-1.0/3) <= *s.ShareExpanded {
			held++
		}
		near(t, "lower state", s.State[0].Mean, 2, 0.006)
		near(t, "upper state", s.State[1].Mean, 2.1, 0.006)
		near(t, "shares", s.State[0].Share+s.State[1].Share, 1, 1e-12)
	}
	if told < 95*runs/100 || right < told*n*98/100 || held < 88*told/100 {
		t.Errorf("seed %d: %d of %d told, %d values of %d right, %d shares held", seed, told, runs, right, told*n, held)
	}
}
