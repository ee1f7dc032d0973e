package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// areaCoverage counts, by threshold, how often the stated interval of an area holds the
// true one, in per cent, and how often the survey warns that scatter reaches a threshold.
func areaCoverage(t testing.TB, noise float64, thresholds []float64, trials int, seed uint64) (held []float64, warned int) {
	held = make([]float64, len(thresholds))
	surveys(t, trials, func(k int) (*wake.Plane, measure.Options) {
		p, opt := trial{white: noise}.survey(rand.New(rand.NewPCG(seed, uint64(k))), 0)
		opt.Thresholds, opt.Regions = thresholds, nil
		return p, opt
	}, func(res *measure.Result) {
		for i, th := range thresholds {
			// The loss scatters by twice the noise of u.
			if in := res.Wake.Areas[i].InScatter; in && th > 8*noise || !in && th < 3*noise {
				t.Errorf("noise %g, threshold %g: within the scatter %v", noise, th, in)
			}
			want := 2 * math.Pi * coverSigma * coverSigma * math.Log(coverEps/(1-math.Sqrt(1-th)))
			if math.Abs(res.Wake.Areas[i].Area-want) <= res.Uncertainty.Areas[i].Expanded {
				held[i] += 100 / float64(trials)
			}
		}
		if hasWarning(res, "threshold-in-scatter") {
			warned++
		}
	})
	return held, warned
}

// TestAreaCoverage: an area is off by what straight level lines and scatter do on the
// mean, which is left in it, besides its scatter. Whichever of them is the larger, the
// stated interval holds the truth; a threshold that scatter alone exceeds is warned of.
func TestAreaCoverage(t *testing.T) {
	trials := 60
	if gridtest.Large() {
		trials = 150
	}
	// Three standard errors of the share below 95.
	least := 95 - 300*math.Sqrt(0.05*0.95/float64(trials))
	var sum, n float64
	for _, noise := range []float64{0.001, 0.004, 0.01} {
		// The loss scatters by twice the noise of u.
		var th []float64
		for _, x := range []float64{0.02, 0.05, 0.1, 0.15, 0.2, 0.25, 0.32, 0.5, 0.7} {
			if x > 8*noise {
				th = append(th, x)
			}
		}
		held, warned := areaCoverage(t, noise, th, trials, 300)
		for i, x := range th {
			if held[i] < least {
				t.Errorf("noise %g, threshold %g: held in %.1f %% of the surveys", noise, x, held[i])
			}
			sum, n = sum+held[i], n+1
		}
		if warned > 0 {
			t.Errorf("noise %g: %d of %d surveys warn of thresholds that are clear of the scatter", noise, warned, trials)
		}
		if _, warned := areaCoverage(t, noise, []float64{2 * noise}, 10, 300); warned != 10 {
			t.Errorf("noise %g: a threshold within its scatter is warned of in %d of 10 surveys", noise, warned)
		}
	}
	// Above 95 on the mean, as an error of one sign that is well known is held always.
	if mean := sum / n; !(mean >= 94 && mean <= 98.5) {
		t.Errorf("on the mean of all thresholds the truth is held in %.1f %%", mean)
	}
}
