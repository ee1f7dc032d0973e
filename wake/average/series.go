package average

import (
	"math"

	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

// References:
//
//	[lenschow]  D. H. Lenschow, J. Mann, L. Kristensen, How long is long enough when
//	            measuring fluxes and other turbulence statistics, J. Atmos. Oceanic
//	            Technol. 11 (1994) 661.
//	[jcgm100]   JCGM 100:2008, Guide to the expression of uncertainty in measurement,
//	            G.3 (t-factor) and G.6.

// MeanVarianceOU is the variance of the mean of a continuous record of length T
// over that of its values, if the correlation falls as exp(−τ/Ti) [lenschow]:
//
//	2(Ti/T) [1 − (Ti/T)(1 − e^(−T/Ti))]
//
// It is 1 for T → 0 and 2Ti/T for T → ∞; Ti = 0 gives 0. NaN gives NaN, and so do
// negative times.
func MeanVarianceOU(T, Ti float64) float64 {
	if !(T >= 0 && Ti >= 0) {
		return math.NaN()
	}
	switch {
	case Ti == 0:
		return 0
	case T == 0 || math.IsInf(Ti, 1):
		return 1
	}
	r := Ti / T
	if r > 1e4 {
		// The bracket is a difference of nearly equal numbers: its series is
		// (1/2r)(1 − 1/3r + …).
		return 1 - 1/(3*r)
	}
	return 2 * r * (1 + r*math.Expm1(-1/r))
}

// MeanVarianceAR1 is the variance of the mean of n values over that of one, if the
// correlation of values k apart is ρᵏ:
//
//	(1/n) [(1+ρ)/(1−ρ) − 2ρ(1−ρⁿ)/(n(1−ρ)²)]
//
// the sum (1/n)[1 + 2Σ(1−k/n)ρᵏ] in closed form. It tends to (1+ρ)/(n(1−ρ)); ρ = 1
// gives 1. n < 1 and |ρ| > 1 give NaN.
func MeanVarianceAR1(n int, rho float64) float64 {
	if n < 1 || !(math.Abs(rho) <= 1) {
		return math.NaN()
	}
	m := float64(n)
	if d := 1 - rho; d > 1e-4/m {
		return ((1+rho)/d - 2*rho*(1-math.Pow(rho, m))/(m*d*d)) / m
	}
	// Near ρ = 1 the closed form loses its digits. To first order in 1−ρ it is
	// 1 − (1−ρ)(n²−1)/3n.
	return 1 - (1-rho)*(m*m-1)/(3*m)
}

// autocovariance gives the covariance of pairs k numbers apart, pooled over several
// records with the same numbers:
//
//	c(k) = (1 − k/L) · mean over pairs of Σ (x(t)−m)(x(t+k)−m)
//
// where L is the span of the numbers and m the mean of the record, or of the half
// in which t lies. Without gaps this is the usual (1/N)Σ. Gaps only take pairs
// away. ok is false where there are no pairs.
type autocovariance struct {
	index  []int64
	dev    [][]float64 // deviations, record by record
	length float64     // number of values behind each mean
}

// newAutocovariance takes deviations from the mean of each record; halves takes
// those from the means of the first and second half instead.
func newAutocovariance(index []int64, records [][]float64, halves bool) *autocovariance {
	a := &autocovariance{index: index, length: float64(len(index))}
	cuts := []int{0, len(index)}
	if halves {
		cuts = []int{0, len(index) / 2, len(index)}
		a.length /= 2
	}
	for _, x := range records {
		d := make([]float64, len(x))
		for c := range len(cuts) - 1 {
			lo, hi := cuts[c], cuts[c+1]
			m := mean(x[lo:hi])
			for i := lo; i < hi; i++ {
				d[i] = x[i] - m
			}
		}
		a.dev = append(a.dev, d)
	}
	return a
}

func (a *autocovariance) at(k int64) (c float64, ok bool) {
	var sum quad.Sum
	pairs := 0
	j := 0
	for i := range a.index {
		for j < len(a.index) && a.index[j] < a.index[i]+k {
			j++
		}
		if j == len(a.index) {
			break
		}
		if a.index[j] != a.index[i]+k {
			continue
		}
		pairs++
		for _, d := range a.dev {
			sum.Add(d[i] * d[j])
		}
	}
	if pairs == 0 {
		return 0, false
	}
	span := float64(a.index[len(a.index)-1] - a.index[0] + 1)
	return sum.Value() / float64(pairs) * (1 - float64(k)/span), true
}

// timeScale is the integral time scale in numbers: the integral of the
// autocorrelation r(k) by the trapezoidal rule from 0 to its first zero, where it
// is taken as linear between the last positive and the first other value. It is at
// least ½, that of values without correlation. rho is r(1).
//
// Deviations from the mean of the record itself, not from the true mean, lower
// every covariance by about the variance v of that mean, hence
//
//	r(k) = (c(k) + v) / (c(0) + v),  v = (c(0) + v) · MeanVarianceOU(L, scale)
//
// with L the length that each mean is taken over and the scale that v = 0 gives.
// Without the correction the scale of short records reads low. It is made once:
// made again with its own result it can run away on a short record, where the
// correlation stays near nought for long.
//
// A record that does not change has the scale ½.
func (a *autocovariance) timeScale() (scale, rho float64) {
	c0, _ := a.at(0)
	if !(c0 > 0) {
		return 0.5, 0
	}
	var known []float64 // c(1), c(2), … as far as they were needed
	ended := false      // no pairs after them
	round := func(v float64) (scale, rho float64) {
		last := 1.0
		for k := 0; ; k++ {
			if k == len(known) && !ended {
				c, ok := a.at(int64(k + 1))
				if ok {
					known = append(known, c)
				}
				ended = !ok
			}
			if k == len(known) {
				return scale + last/2, rho
			}
			r := (known[k] + v) / (c0 + v)
			if k == 0 {
				rho = r
			}
			if !(r > 0) {
				return scale + last/2*last/(last-r), rho
			}
			scale += (last + r) / 2
			last = r
		}
	}
	scale, _ = round(0)
	ratio := min(MeanVarianceOU(a.length, max(scale, 0.5)), 0.5)
	scale, rho = round(c0 * ratio / (1 - ratio))
	return max(scale, 0.5), rho
}

func mean(x []float64) float64 {
	var s quad.Sum
	for _, v := range x {
		s.Add(v)
	}
	return s.Value() / float64(len(x))
}

// variance is the mean square deviation, over n.
func variance(x []float64) float64 {
	m := mean(x)
	var s quad.Sum
	for _, v := range x {
		s.Add((v - m) * (v - m))
	}
	return s.Value() / float64(len(x))
}

// effective is the number of independent values that n values with the integral
// time scale are worth to their mean, by MeanVarianceOU for a record of length n.
// It lies between 1 and n.
func effective(n int, scale float64) float64 {
	return min(max(1/MeanVarianceOU(float64(n), scale), 1), float64(n))
}

// standard is the standard uncertainty of a mean from the variance over n of its
// values. A mean of N_eff independent values takes away 1/N_eff of the variance,
// hence N_eff−1.
func standard(variance, effective float64) float64 {
	return math.Sqrt(variance / max(effective-1, minDoF))
}

// minDoF bounds the degrees of freedom from below, for records that are hardly
// longer than their time scale; such are warned about.
const minDoF = 1

// Statistics are those of the mean of a time series. Times are in numbers of
// snapshots.
type Statistics struct {
	// Mean of N values, its standard and its expanded uncertainty for 95 %, with the
	// factor and the degrees of freedom N_eff − 1. Not given for fewer than two
	// values.
	Mean     float64  `json:"drag_area_m2"`
	Standard *float64 `json:"standard,omitempty"`
	Expanded *float64 `json:"expanded,omitempty"`
	Coverage *float64 `json:"coverage,omitempty"`
	DoF      *float64 `json:"dof,omitempty"`
	// Deviation is the standard deviation of the values.
	Deviation float64 `json:"standard_deviation"`
	Scale     float64 `json:"time_scale_snapshots"`
	// ScaleSeconds is the same in s, where the time step is known.
	ScaleSeconds *float64 `json:"time_scale_s,omitempty"`
	Effective    float64  `json:"effective_number"`
	AR1          *AR1     `json:"ar1,omitempty"`
	Batches      *Batches `json:"batches,omitempty"`
	Halves       *Halves  `json:"halves,omitempty"`
}

// AR1 is the cross-check by the correlation of neighbours alone.
type AR1 struct {
	Rho       float64 `json:"rho"`
	Effective float64 `json:"effective_number"`
	Standard  float64 `json:"standard"`
}

// Batches is the cross-check by means of consecutive parts, which needs no
// correlation.
type Batches struct {
	Number   int     `json:"number"`
	Length   int     `json:"length"`
	Standard float64 `json:"standard"`
}

// Halves compares the first and second half. Expanded is the uncertainty for 95 %
// of the difference if the flow has one state, from the scatter and the time scale
// within the halves.
type Halves struct {
	First      float64 `json:"first_m2"`
	Second     float64 `json:"second_m2"`
	Difference float64 `json:"difference_m2"`
	Expanded   float64 `json:"expanded"`
	Differ     bool    `json:"differ"`
}

// Batches are at least batchScales time scales long, so that their means hardly
// correlate (those of an exponential by 1/2·batchScales at most), and there are
// from minBatches to maxBatches.
const (
	batchScales = 5
	minBatches  = 4
	maxBatches  = 20
)

// minHalves is the fewest values whose halves are compared.
const minHalves = 8

// newStatistics works out the statistics of a series; index holds the numbers of
// its values, in order.
func newStatistics(index []int64, x []float64) Statistics {
	n := len(x)
	s := Statistics{Mean: mean(x), Scale: 0.5, Effective: 1}
	if n < 2 {
		return s
	}
	v := variance(x)
	s.Deviation = math.Sqrt(v * float64(n) / float64(n-1))
	var rho float64
	s.Scale, rho = newAutocovariance(index, [][]float64{x}, false).timeScale()
	s.Effective = effective(n, s.Scale)
	u, dof := standard(v, s.Effective), max(s.Effective-1, minDoF)
	k := uncertainty.Coverage(max(dof, minDoF))
	e := k * u
	s.Standard, s.DoF, s.Coverage, s.Expanded = &u, &dof, &k, &e
	rho = min(max(rho, 0), 1)
	ar := min(max(1/MeanVarianceAR1(n, rho), 1), float64(n))
	s.AR1 = &AR1{Rho: rho, Effective: ar, Standard: standard(v, ar)}
	s.Batches = newBatches(x, s.Scale)
	s.Halves = newHalves(index, x)
	return s
}

// newBatches is nil where the series is too short. Values that do not fill a batch
// are left out at the beginning.
func newBatches(x []float64, scale float64) *Batches {
	n := len(x)
	length := int(math.Ceil(max(batchScales*scale, float64(n)/maxBatches)))
	number := n / length
	if number < minBatches {
		return nil
	}
	means := make([]float64, number)
	for b := range means {
		lo := n - (number-b)*length
		means[b] = mean(x[lo : lo+length])
	}
	return &Batches{Number: number, Length: length, Standard: math.Sqrt(variance(means) / float64(number-1))}
}

// newHalves is nil where the series is too short.
func newHalves(index []int64, x []float64) *Halves {
	n := len(x)
	if n < minHalves {
		return nil
	}
	a, b := x[:n/2], x[n/2:]
	h := &Halves{First: mean(a), Second: mean(b)}
	h.Difference = h.Second - h.First
	scale, _ := newAutocovariance(index, [][]float64{x}, true).timeScale()
	ea, eb := effective(len(a), scale), effective(len(b), scale)
	u := math.Hypot(standard(variance(a), ea), standard(variance(b), eb))
	h.Expanded = uncertainty.Coverage(max(ea+eb-2, minDoF)) * u
	h.Differ = math.Abs(h.Difference) > h.Expanded
	return h
}
