package uncertainty

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Seed starts every random sequence of the program: the same data give the same
// numbers.
const Seed = 20080078

// MonteCarlo is a quantity's distribution by trials, beside its budget.
type MonteCarlo struct {
	Trials int `json:"trials"`
	// Mean and Standard are those of the trials, Interval holds 95 % of them with as
	// many below as above.
	Mean     float64    `json:"mean"`
	Standard float64    `json:"standard"`
	Interval [2]float64 `json:"interval"`
	// Agrees says whether both ends lie within Tolerance of the budget's interval, half a unit in
	// the first significant digit of the standard uncertainty, or no further than so few trials
	// leave them open: some hundred draws of a wide distribution do not fix its ends.
	Agrees    bool    `json:"agrees"`
	Tolerance float64 `json:"tolerance"`
	Text      string  `json:"text"`
}

// NewMonteCarlo sets the distribution of value beside its budget: in each trial
// the change that Simulate found (nil: none) and a draw of each item that it did
// not simulate, from Student's distribution where the item has few degrees of
// freedom, from a rectangular one where it says so, else from a normal one. nil
// where a trial has no number.
//
// Source: JCGM 101:2008, 6.4, 7.7 and, for the comparison, 8.2. A trial number
// below 10⁴ leaves the ends of the interval uncertain by some per cent.
func NewMonteCarlo(value float64, change []float64, trials int, b *Budget) *MonteCarlo {
	if trials == 0 {
		return nil
	}
	v := make([]float64, trials)
	for t := range v {
		r := rand.New(rand.NewPCG(Seed+1_000_003, uint64(t)))
		x := value
		if change != nil {
			x += change[t]
		}
		for _, it := range b.Items {
			if change != nil && it.How == Stated && it.Input != nil {
				continue // drawn by Simulate
			}
			x += it.Standard * it.draw(r)
		}
		if math.IsNaN(x) {
			return nil
		}
		v[t] = x
	}
	s := NewSample(v)
	slices.Sort(v)
	mc := &MonteCarlo{Trials: trials, Mean: s.Mean, Standard: s.SD, Interval: [2]float64{stat.Quantile(0.025, stat.LinInterp, v, nil), stat.Quantile(0.975, stat.LinInterp, v, nil)}}
	mc.Tolerance = math.Pow(10, math.Floor(math.Log10(b.Standard))) / 2
	lo, hi := value-b.Expanded, value+b.Expanded
	// holds says whether an end of the budget's interval may be the quantile p of such trials: it lies
	// between two of them, by the binomial distribution of how many are below.
	holds := func(end, p float64) bool {
		n := float64(trials)
		by := 2 * math.Sqrt(n*p*(1-p))
		at := func(k float64) float64 { return v[min(max(int(k), 0), trials-1)] }
		return at(n*p-by)-mc.Tolerance <= end && end <= at(n*p+by)+mc.Tolerance
	}
	mc.Agrees = holds(lo, 0.025) && holds(hi, 0.975)
	says := "further off than %.1g: the interval of the trials is the one to quote"
	if mc.Agrees {
		says = "which agrees within %.1g"
	}
	mc.Text = fmt.Sprintf("%d trials: standard deviation %.3g, 95 %% in [%.4g, %.4g]; the budget says [%.4g, %.4g], "+says, trials, mc.Standard, mc.Interval[0], mc.Interval[1], lo, hi, mc.Tolerance)
	return mc
}

// draw is a random number of zero mean with the item's distribution.
func (it *Item) draw(r *rand.Rand) float64 {
	switch {
	case it.Distribution == Rectangular:
		return math.Sqrt(3) * (2*r.Float64() - 1)
	case it.DOF != nil && *it.DOF < FewDOF:
		return distuv.StudentsT{Sigma: 1, Nu: *it.DOF, Src: r}.Rand()
	}
	return r.NormFloat64()
}
