package force

import (
	"math"

	"wakeledger/wake/uncertainty"
)

// StartUp is the beginning of a record that was left out. Rule is "stated", or "found" by
// findStart; Mean is that of the values left out, m².
type StartUp struct {
	Rule   string  `json:"rule"`
	Until  float64 `json:"until_s"`
	Values int     `json:"values"`
	Mean   float64 `json:"mean_m2"`
}

// A start-up has a mean that differs from that of the rest by more than clear standard
// uncertainties, and values that lie further than wide standard deviations of the rest from
// its mean: a slow change within the fluctuations is no start-up but part of the record. Of
// 1,000 steady records 3 at most lose values for nothing.
const (
	clear = 5
	wide  = 2
)

// findStart is the number of values that a start-up has, at most half of the record; 0
// where there is none. It is the number d with the least standard error of the mean of the
// rest if its values were independent,
//
//	min over d of Σ_{i≥d} (x_i − m_d)² / (n − d)²
//
// (marginal standard error rule: K. P. White, Simulation 69 (1997) 323, from memory), and
// counts where what it leaves out differs from the rest as said at clear and wide, with the
// variance and time scale of the rest. A start-up is there from the first value on: half of the
// first half of what it leaves out lies further than wide standard deviations away, which one
// spike makes no record do. Where the minimum is at the last d that is tried the rule has no
// answer, since it would be further on, or is in a change of the whole record.
func findStart(index []int64, x []float64) int {
	n := len(x)
	if n < 4*uncertainty.FewBlocks {
		return 0
	}
	// From the end: means and squares of the rest, by Welford's recurrence.
	var m, sq float64
	best, least := 0, math.Inf(1)
	for i := n - 1; i >= 0; i-- {
		k := float64(n - i)
		d := x[i] - m
		m += d / k
		sq += d * (x[i] - m)
		if i <= n/2 && sq/(k*k) < least {
			best, least = i, sq/(k*k)
		}
	}
	if best == 0 || best == n/2 {
		return 0
	}
	rest := uncertainty.NewSample(x[best:])
	scale := uncertainty.TimeScale(index[best:], x[best:])
	u := rest.SD * math.Sqrt(uncertainty.MeanVariance(float64(best), scale)+uncertainty.MeanVariance(float64(n-best), scale))
	first, away := x[:(best+1)/2], 0
	for _, v := range first {
		if math.Abs(v-rest.Mean) > wide*rest.SD {
			away++
		}
	}
	if !(math.Abs(mean(x[:best])-rest.Mean) > clear*u && 2*away > len(first)) {
		return 0
	}
	return best
}
