package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"wakeledger/wake/statistics"
)

// The number of Monte Carlo trials that may be asked for.
const leastTrials, mostTrials = 200, 1_000_000

// MonteCarlo is a quantity's distribution by trials, beside its budget.
type MonteCarlo struct {
	Trials int `json:"trials"`
	// Mean and Standard are those of the trials, Interval holds 95 % of them with as
	// many below as above.
	Mean     float64    `json:"mean"`
	Standard float64    `json:"standard"`
	Interval [2]float64 `json:"interval"`
	// Agrees says whether both ends lie within Tolerance of the budget's interval:
	// half a unit in the first significant digit of the standard uncertainty.
	Agrees    bool    `json:"agrees"`
	Tolerance float64 `json:"tolerance"`
	Text      string  `json:"text"`
}

// Simulate measures the survey again Trials times, each time with every stated
// input of reference and position drawn from a normal distribution, and returns
// the change of the headline numbers. What is common to several surveys is drawn
// alike in trial n of each; what is independent depends on the survey's number in
// the comparison. The draws hang on these numbers alone. nil without trials or
// inputs.
func (m *Measurement) Simulate(survey int) ([]Vector, error) {
	u := m.opt.Uncertainty
	in := u.inputs()
	if u.Trials == 0 || len(in) == 0 {
		return nil, nil
	}
	out, errs := make([]Vector, u.Trials), make([]error, u.Trials)
	workers := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for k := range workers {
		wg.Go(func() {
			for t := k; t < u.Trials; t += workers {
				common := rand.New(rand.NewPCG(seed+1, uint64(t)))
				own := rand.New(rand.NewPCG(seed+2+uint64(survey), uint64(t)))
				opt, p := m.opt, m.Plane
				for _, x := range in {
					z, zi := common.NormFloat64(), own.NormFloat64()
					if x.kind == Independent {
						z = zi
					}
					p = x.apply(p, &opt, z*x.standard)
				}
				opt.Uncertainty, opt.bare, opt.geometry = Inputs{}, true, m.geometry
				r, err := Take(p, opt)
				if err != nil {
					errs[t] = err
					continue
				}
				v := m.Layout.vector(r.Result)
				for i := range v {
					v[i] -= m.Values[i]
				}
				out[t] = v
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
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
		r := rand.New(rand.NewPCG(seed+1_000_003, uint64(t)))
		x := value
		if change != nil {
			x += change[t]
		}
		for _, it := range b.Items {
			if change != nil && it.Simulated {
				continue
			}
			x += it.Standard * it.draw(r)
		}
		if math.IsNaN(x) {
			return nil
		}
		v[t] = x
	}
	s := statistics.NewSample(v)
	slices.Sort(v)
	mc := &MonteCarlo{Trials: trials, Mean: s.Mean, Standard: s.SD, Interval: [2]float64{quantile(v, 0.025), quantile(v, 0.975)}}
	mc.Tolerance = tolerance(b.Standard)
	lo, hi := value-b.Expanded, value+b.Expanded
	mc.Agrees = math.Abs(mc.Interval[0]-lo) <= mc.Tolerance && math.Abs(mc.Interval[1]-hi) <= mc.Tolerance
	mc.Text = fmt.Sprintf("%d trials: standard deviation %.3g, 95 %% in [%.4g, %.4g]; the budget says [%.4g, %.4g], ", trials, mc.Standard, mc.Interval[0], mc.Interval[1], lo, hi)
	if mc.Agrees {
		mc.Text += fmt.Sprintf("which agrees within %.1g", mc.Tolerance)
	} else {
		mc.Text += fmt.Sprintf("further off than %.1g: the interval of the trials is the one to quote", mc.Tolerance)
	}
	return mc
}

// draw is a random number of zero mean with the item's distribution.
func (it *Item) draw(r *rand.Rand) float64 {
	switch {
	case it.Distribution == Rectangular:
		return math.Sqrt(3) * (2*r.Float64() - 1)
	case it.DOF != nil && *it.DOF < statistics.FewDOF:
		// A normal over the root of χ²/ν, χ² from ν normals where ν is whole, else by the
		// quantile.
		q := r.Float64()
		if q == 0 {
			q = 0.5
		}
		return math.Copysign(statistics.StudentFactor(math.Abs(2*q-1), *it.DOF), q-0.5)
	}
	return r.NormFloat64()
}

// quantile is the value below which the part q of the sorted values lies, between
// neighbours linearly.
func quantile(v []float64, q float64) float64 {
	x := q*float64(len(v)) - 0.5
	i := min(max(int(math.Floor(x)), 0), len(v)-2)
	return v[i] + (v[i+1]-v[i])*(x-float64(i))
}

// tolerance is half a unit in the first significant digit of u.
func tolerance(u float64) float64 {
	if u == 0 {
		return 0
	}
	return math.Pow(10, math.Floor(math.Log10(u))) / 2
}
