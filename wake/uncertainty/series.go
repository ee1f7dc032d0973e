package uncertainty

import "math"

// MeanVarianceAR1 is the variance of the mean of n values of a first-order
// autoregressive series with correlation rho from one to the next, over the
// variance of one value:
//
//	[n(1−ρ²) − 2ρ(1−ρⁿ)] / [n²(1−ρ)²]
//
// It tends to (1+ρ)/(1−ρ)/n for long series. NaN unless n ≥ 1 and |ρ| < 1.
func MeanVarianceAR1(n int, rho float64) float64 {
	if n < 1 || !(math.Abs(rho) < 1) {
		return math.NaN()
	}
	m := float64(n)
	return (m*(1-rho*rho) - 2*rho*(1-math.Pow(rho, m))) / (m * m * (1 - rho) * (1 - rho))
}

// MeanVarianceExponential is the variance of the time mean over T of a process
// with the correlation exp(−|t|/scale), over its variance:
//
//	2(s/T)·[1 − (s/T)(1 − e^{−T/s})]
//
// NaN unless both are positive. Source: Lenschow, Mann & Kristensen 1994 (J.
// Atmos. Oceanic Technol. 11, 661).
func MeanVarianceExponential(T, scale float64) float64 {
	if !(T > 0 && scale > 0) {
		return math.NaN()
	}
	r := scale / T
	return 2 * r * (1 + r*math.Expm1(-1/r))
}

// BatchMeans is the mean of a correlated series with its standard uncertainty
// from the scatter of the means of consecutive batches of equal length, which has
// batches−1 degrees of freedom. The scatter is honest where a batch is much longer
// than the correlation time: Lag is the correlation of neighbouring batch means,
// which is then small.
type BatchMeans struct {
	Mean, Standard, DOF, Lag float64
	// Batches and Length say how the series was cut; what does not fill a batch is
	// left out at the beginning, where a start-up would be.
	Batches, Length int
	// First and Second are the means of the two halves.
	First, Second float64
}

// NewBatchMeans cuts v into batches. Standard and Lag are NaN for fewer than two
// batches' worth of values; batches below 2 is taken as 2. Source: Law 2015,
// Simulation Modeling and Analysis, 9.5 (from memory).
func NewBatchMeans(v []float64, batches int) BatchMeans {
	batches = max(2, batches)
	b := BatchMeans{Mean: math.NaN(), Standard: math.NaN(), DOF: math.NaN(), Lag: math.NaN(), First: math.NaN(), Second: math.NaN()}
	b.Mean = NewSample(v).Mean
	if len(v) < batches {
		return b
	}
	b.Batches, b.Length = batches, len(v)/batches
	used := v[len(v)-batches*b.Length:]
	means := make([]float64, batches)
	for k := range means {
		means[k] = NewSample(used[k*b.Length : (k+1)*b.Length]).Mean
	}
	s := NewSample(means)
	b.Mean, b.Standard, b.DOF = s.Mean, s.Standard(), float64(batches-1)
	b.First, b.Second = NewSample(used[:len(used)/2]).Mean, NewSample(used[len(used)/2:]).Mean
	var num, den float64
	for k, m := range means {
		den += (m - s.Mean) * (m - s.Mean)
		if k > 0 {
			num += (m - s.Mean) * (means[k-1] - s.Mean)
		}
	}
	if den > 0 {
		b.Lag = num / den
	}
	return b
}
