package uncertainty

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// References:
//
//	[ashman]  K. M. Ashman, C. M. Bird, S. E. Zepf, Detecting bimodality in astronomical
//	          datasets, Astron. J. 108 (1994) 2348 (from memory).

// States is what a record says that switches between two states.
type States struct {
	// State has the lower one first.
	State [2]OneState `json:"state"`
	// ShareExpanded is the expanded uncertainty of the shares of time, by leaving out blocks;
	// nil where the record is too short for it.
	ShareExpanded *float64 `json:"share_expanded,omitempty"`
	Switches      int      `json:"switches"`
	// Separation is D = √2 |m₂ − m₁| / √(s₁² + s₂²) of two normal distributions [ashman].
	Separation float64 `json:"separation"`
	// Of is the state of each value, 0 or 1.
	Of []int `json:"-"`
}

// OneState is one of two: its share of the time, the mean of its values, and how long it
// lasts on the mean, in steps.
type OneState struct {
	Share float64 `json:"share"`
	TimeMean
	Stay float64 `json:"-"`
}

// Two states are told where all of these hold: G, twice the logarithm of the likelihood
// ratio of two normal distributions to one, over 2·T_i (the values of a correlated record
// count as n/2T_i independent ones), is above ratioOfOne; the two are apart by D of
// separation or more, with leastShare of the time in each; and a stay in each lasts longer
// than stayScales integral time scales of what varies within the states. A regular
// oscillation, of which the stays are alike, is not one of two states.
//
// ratioOfOne is what 1 % of steady autoregressive records exceed, by simulation
// (TestStatesFalseAlarm); separation is where the sum of two equal normal distributions has
// two clear peaks [ashman].
const (
	ratioOfOne = 12
	separation = 2.5
	leastShare = 0.05
	stayScales = 4 // values without any memory stay as long, two steps
	// Of fewStays and more a standard deviation below alike of their mean is an oscillation's.
	// It is 1 for switches that come by chance.
	fewStays = 6
	alike    = 0.5
)

// mostFitted bounds the work on a fit: longer records are taken by every k-th value.
const mostFitted = 2000

// NewStates finds two states in the record x with the numbers index, which has the integral
// time scale; nil where there are none.
func NewStates(index []int64, x []float64, scale float64) *States {
	n := len(x)
	if n < 4*FewBlocks || !(stat.Variance(x, nil) > 0) {
		return nil
	}
	every := (n + mostFitted - 1) / mostFitted
	some := make([]float64, 0, mostFitted)
	for i := 0; i < n; i += every {
		some = append(some, x[i])
	}
	f := fitTwo(some)
	// The fit has counted each of some as one.
	if f == nil || f.ratio/max(2*scale/float64(every), 1) < ratioOfOne || f.separation() < separation || min(f.share, 1-f.share) < leastShare {
		return nil
	}
	s := &States{Separation: f.separation(), Of: f.states(x)}
	within := make([]float64, n)
	share := make([]float64, n)
	var of [2][]float64
	var numbers [2][]int64
	var stays []float64 // but for the last one, of which the end is not seen
	since := 0
	for i, k := range s.Of {
		if i > 0 && s.Of[i-1] != k {
			stays = append(stays, float64(i-since))
			since = i
		}
		of[k], numbers[k] = append(of[k], x[i]), append(numbers[k], index[i])
		within[i], share[i] = x[i]-f.mean[k], float64(k)
	}
	s.Switches = len(stays)
	if m, sd := stat.MeanStdDev(stays, nil); s.Switches == 0 || s.Switches >= fewStays && sd < alike*m {
		return nil
	}
	least := TimeScale(index, within)
	for k := range s.State {
		o := &s.State[k]
		o.Share, o.Stay = float64(len(of[k]))/float64(n), 2*float64(len(of[k]))/float64(s.Switches+1)
		if !(o.Stay > stayScales*least) {
			return nil
		}
		o.TimeMean = *NewTimeMean(numbers[k], of[k], nil)
	}
	s.ShareExpanded = NewTimeMean(index, share, nil).Expanded
	return s
}

// Sentence says what the record does; unit is that of its mean.
func (s *States) Sentence(unit string) string {
	mean := func(o *OneState) string {
		if o.Expanded == nil {
			return fmt.Sprintf("%.4f %s", o.Mean, unit)
		}
		return fmt.Sprintf("%.4f ± %.4f %s", o.Mean, *o.Expanded, unit)
	}
	share := fmt.Sprintf("%.0f %%", 100*s.State[0].Share)
	if s.ShareExpanded != nil {
		share = fmt.Sprintf("%.0f ± %.0f %%", 100*s.State[0].Share, 100**s.ShareExpanded)
	}
	return fmt.Sprintf("the record is in two states: %s of the time at %s, the rest at %s; it switches %d times", share, mean(&s.State[0]), mean(&s.State[1]), s.Switches)
}

// two is a mixture of two normal distributions; share is that of the first.
type two struct {
	share    float64
	mean, sd [2]float64
	ratio    float64 // twice the logarithm of the likelihood over that of one distribution
}

func (f *two) separation() float64 {
	return math.Sqrt2 * math.Abs(f.mean[1]-f.mean[0]) / math.Hypot(f.sd[0], f.sd[1])
}

// likelihoods are those of x in each state, times its share, over a common factor.
func (f *two) likelihoods(x float64) (a, b float64) {
	z0, z1 := (x-f.mean[0])/f.sd[0], (x-f.mean[1])/f.sd[1]
	return f.share / f.sd[0] * math.Exp(-z0*z0/2), (1 - f.share) / f.sd[1] * math.Exp(-z1*z1/2)
}

// fitTwo fits a mixture by expectation and maximisation, from the values below and above the
// middle of the quartiles; nil where one of the two dies out.
func fitTwo(x []float64) *two {
	sorted := slices.Sorted(slices.Values(x))
	low, high := stat.Quantile(0.25, stat.Empirical, sorted, nil), stat.Quantile(0.75, stat.Empirical, sorted, nil)
	m, sd := stat.MeanStdDev(x, nil)
	f := &two{share: 0.5, mean: [2]float64{low, high}, sd: [2]float64{sd / 2, sd / 2}}
	for range 60 {
		var w, s, q [2]float64
		for _, v := range x {
			a, b := f.likelihoods(v)
			if a+b == 0 {
				a, b = 0.5, 0.5
			}
			for k, p := range [2]float64{a / (a + b), b / (a + b)} {
				w[k] += p
				s[k] += p * (v - m)
				q[k] += p * (v - m) * (v - m)
			}
		}
		before := f.mean
		for k := range w {
			if w[k] < 2 {
				return nil
			}
			d := s[k] / w[k]
			f.mean[k] = m + d
			// A spike of equal values is no state.
			f.sd[k] = math.Max(math.Sqrt(math.Max(q[k]/w[k]-d*d, 0)), 0.02*sd)
		}
		f.share = w[0] / (w[0] + w[1])
		if math.Abs(f.mean[0]-before[0])+math.Abs(f.mean[1]-before[1]) < 1e-4*sd {
			break
		}
	}
	if f.mean[0] > f.mean[1] {
		f.mean[0], f.mean[1] = f.mean[1], f.mean[0]
		f.sd[0], f.sd[1], f.share = f.sd[1], f.sd[0], 1-f.share
	}
	one := stat.PopStdDev(x, nil)
	for _, v := range x {
		a, b := f.likelihoods(v)
		z := (v - m) / one
		f.ratio += 2 * (math.Log(math.Max(a+b, math.SmallestNonzeroFloat64)) + math.Log(one) + z*z/2)
	}
	return f
}

// states puts each value into one: a state is left where the other is nine times as likely.
func (f *two) states(x []float64) []int {
	const sure = 9
	out := make([]int, len(x))
	now := -1
	for i, v := range x {
		a, b := f.likelihoods(v)
		switch {
		case now < 0 && a >= b, a > sure*b:
			now = 0
		case now < 0, b > sure*a:
			now = 1
		}
		out[i] = now
	}
	return out
}
