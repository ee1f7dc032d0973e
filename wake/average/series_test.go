package average

import (
	"math"
	"math/rand/v2"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.12g, want %.12g within %g", what, got, want, tol)
	}
}

// The values of check 44 of the method: closed forms for an exponential
// correlation, by hand.
func TestMeanVariancePublished(t *testing.T) {
	near(t, "AR(1) ρ=0.9 N=1000", MeanVarianceAR1(1000, 0.9), 0.01882, 1e-8)
	near(t, "its effective number", 1/MeanVarianceAR1(1000, 0.9), 53.13496, 1e-5)
	near(t, "its asymptote", 1000*(1-0.9)/(1+0.9), 52.63158, 1e-5)
	near(t, "OU T=100 Ti=0.5", MeanVarianceOU(100, 0.5), 0.00995, 1e-8)
}

// The closed form against the sum that it stands for, and the OU formula against
// the AR(1) of ever finer steps.
func TestMeanVarianceSums(t *testing.T) {
	for _, n := range []int{1, 2, 3, 17, 400} {
		for _, rho := range []float64{-1, -0.7, 0, 0.3, 0.9, 0.999, 1 - 1e-7, 1 - 1e-10, 1} {
			sum := 1.0
			for k := 1; k < n; k++ {
				sum += 2 * (1 - float64(k)/float64(n)) * math.Pow(rho, float64(k))
			}
			want := sum / float64(n)
			if got := MeanVarianceAR1(n, rho); !(math.Abs(got-want) <= 2e-8) {
				t.Errorf("n=%d ρ=%v: %.12g, the sum is %.12g", n, rho, got, want)
			}
		}
	}
	for _, T := range []float64{1e-6, 0.01, 0.5, 3, 40, 1e5} {
		const n = 200000
		// ρ = exp(−Δ/Ti) with Δ = T/n; the difference falls as 1/n².
		want := MeanVarianceAR1(n, math.Exp(-T/n))
		near(t, "OU as the limit of AR(1)", MeanVarianceOU(T, 1), want, 2e-6)
	}
	for _, v := range []float64{MeanVarianceOU(math.NaN(), 1), MeanVarianceOU(1, -1), MeanVarianceAR1(0, 0.5), MeanVarianceAR1(5, math.NaN()), MeanVarianceAR1(5, 1.5)} {
		if !math.IsNaN(v) {
			t.Errorf("%v, want NaN for what has no meaning", v)
		}
	}
	near(t, "OU with Ti = 0", MeanVarianceOU(10, 0), 0, 0)
	near(t, "OU with T = 0", MeanVarianceOU(0, 1), 1, 0)
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

// TestTimeScaleKnown: the autocorrelation of a whole number of periods of a
// cosine is (1 − k/N) cos(2πk/P); its integral to the first zero is known.
func TestTimeScaleKnown(t *testing.T) {
	const P, N = 200, 200 * 50
	x := make([]float64, N)
	for i := range x {
		x[i] = math.Cos(2 * math.Pi * float64(i) / P)
	}
	got, rho := newAutocovariance(numbers(N), [][]float64{x}, false).timeScale()
	// With w = 2π/P the sum over N − k pairs is
	//   c(k) = (N−k)/2 cos wk − cos w sin wk / (2 sin w),
	// whose zero is at P/4 less about 1/N of it. The trapezoidal rule takes w/12 away.
	w := 2 * math.Pi / P
	want := 1/w - (P/4/w-1/(w*w))/N - 1/(w*math.Tan(w))/N - w/12
	// Last, the correction for the mean, which is nought here: v adds
	// v·P/4 − v·(scale) to first order, with v = 2·scale/N of the variance.
	want += 2 * want / N * (P/4 - want)
	near(t, "time scale of a cosine", got, want, 2e-3)
	near(t, "its first correlation", rho, math.Cos(w), 1e-3)
	// No correlation: ½, whatever the sign of the neighbours' covariance.
	got, _ = newAutocovariance(numbers(4), [][]float64{{1, -1, 1, -1}}, false).timeScale()
	near(t, "time scale of alternating values", got, 0.5, 0)
	got, _ = newAutocovariance(numbers(3), [][]float64{{2, 2, 2}}, false).timeScale()
	near(t, "time scale of a constant", got, 0.5, 0)
}

// TestTimeScaleGaps: taking whole periods out of a long cosine leaves the scale,
// within what the ends of the pieces bring (1/w²N each).
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
	got, _ := newAutocovariance(index, [][]float64{x}, false).timeScale()
	near(t, "time scale with a gap", got, P/(2*math.Pi), 0.2)
	// Had the gap been closed up, neighbours across it would count as such.
	got, _ = newAutocovariance([]int64{1, 2, 5, 6, 9, 10}, [][]float64{{1, 1, -1, -1, 1, 1}}, false).timeScale()
	if !(got > 0.5) {
		t.Errorf("time scale of equal neighbours is %g, want more than 0.5", got)
	}
}

// TestStatisticsCover draws many records of known mean: the stated interval must
// hold it about as often as it says, and the cross-checks must agree with the
// truth.
func TestStatisticsCover(t *testing.T) {
	const seed, trials = 5, 400
	for _, c := range []struct {
		n      int
		rho    float64
		lo, hi float64
	}{
		{1000, 0, 0.93, 0.97}, {1000, 0.9, 0.91, 0.97}, {400, 0.6, 0.92, 0.97}, {55, 0, 0.92, 0.98}, {55, 0.5, 0.88, 0.98},
	} {
		r := rand.New(rand.NewPCG(seed, uint64(c.n)))
		hits, differ := 0, 0
		var ratio, batch float64
		batches := 0
		truth := math.Sqrt(MeanVarianceAR1(c.n, c.rho))
		for range trials {
			s := newStatistics(numbers(c.n), ar1(r, c.n, c.rho))
			if math.Abs(s.Mean-5) <= *s.Expanded {
				hits++
			}
			if s.Halves.Differ {
				differ++
			}
			ratio += s.AR1.Standard / truth / trials
			if s.Batches != nil {
				batch += s.Batches.Standard / truth
				batches++
			}
		}
		share := float64(hits) / trials
		t.Logf("n=%d ρ=%g: coverage %.3f, halves differ %.3f, AR(1) %.3f, batches %.3f of the true standard (%d)", c.n, c.rho, share, float64(differ)/trials, ratio, batch/float64(batches), batches)
		if !(c.lo <= share && share <= c.hi) {
			t.Errorf("n=%d ρ=%g (seed %d): %.3f of the intervals hold the mean, want %g to %g", c.n, c.rho, seed, share, c.lo, c.hi)
		}
		if f := float64(differ) / trials; !(f <= 0.10) {
			t.Errorf("n=%d ρ=%g (seed %d): the halves of a steady record differ in %.3f of the cases", c.n, c.rho, seed, f)
		}
		near(t, "AR(1) standard over the truth", ratio, 1, 0.15)
		if batches > trials/2 {
			near(t, "batch standard over the truth", batch/float64(batches), 1, 0.15)
		}
	}
}

// TestSlowSwitching: a record that changes state half way is found.
func TestSlowSwitching(t *testing.T) {
	const seed = 3
	r := rand.New(rand.NewPCG(seed, 0))
	found := 0
	for range 100 {
		x := ar1(r, 400, 0.5)
		for i := 200; i < 400; i++ {
			x[i] += 1.5
		}
		if newStatistics(numbers(400), x).Halves.Differ {
			found++
		}
	}
	if found < 99 {
		t.Errorf("a switch of 1.5 standard deviations was found in %d of 100 records", found)
	}
	if h := newStatistics(numbers(5), []float64{1, 2, 3, 4, 5}).Halves; h != nil {
		t.Errorf("halves of five values: %+v", h)
	}
}
