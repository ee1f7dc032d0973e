package uncertainty

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// agreeLevel is the probability with which values of one quantity, off by no more than they say,
// pass as agreeing.
const agreeLevel = 0.95

// Pool is one quantity from several values of it that were had in one run.
type Pool struct {
	Value float64
	// Weights, by value, sum to 1.
	Weights []float64
	// ChiSquare is Σ (vᵢ − Value)²/sᵢ² with n−1 degrees of freedom; nil where a value has no
	// uncertainty of its own. Agree: it is within the 95 % point of its distribution.
	ChiSquare *float64
	Agree     bool
	Budget    Budget
}

// NewPool is the mean of values with weights 1/sᵢ², where sᵢ is what is of each by itself, the
// items of Sampling; with equal weights where one has none. The budgets are of the values in
// their order, at least two.
//
// What is of each falls as with independent values, s² = Σ wᵢ²sᵢ². Where the values differ by more
// than that, χ² > n−1, what makes up the scatter of the weighted mean, with n−1 degrees of freedom,
// comes beside it. The time average, what changes from run to run and the reference were one for all
// values: their errors add with their signs, u = Σ wᵢuᵢ, and do not fall with n. Of the first two
// together, since repeats hold both. So do their intervals: the degrees of freedom are those with
// which k·u is Σ wᵢkᵢuᵢ, or less, so that a small uᵢ of few does not pass for one that is well known.
//
// Sources: JCGM 100:2008, 5.2.2; for χ² and the scatter of the weighted mean R. T. Birge, Phys. Rev. 40
// (1932) 207 (from memory).
func NewPool(values []float64, budgets []*Budget) Pool {
	n := len(values)
	p := Pool{Weights: make([]float64, n)}
	own := make([]Budget, n)
	var all []Item
	var sum float64
	for i, b := range budgets {
		own[i] = b.only(Sampling)
		p.Weights[i] = 1 / (own[i].Standard * own[i].Standard)
		sum += p.Weights[i]
		all = append(all, b.Items...)
		for _, s := range b.States {
			if s.How == Unknown {
				all = append(all, Declared(s.Category, Unknown, s.Why))
			}
		}
	}
	var scaled []Item
	for i, v := range values {
		if p.Weights[i] /= sum; math.IsInf(sum, 0) {
			p.Weights[i] = 1 / float64(n)
		}
		p.Value += p.Weights[i] * v
		scaled = append(scaled, Item{Standard: p.Weights[i] * own[i].Standard, DOF: own[i].DOF})
	}
	var chi, outer float64
	free := float64(n - 1)
	for i, v := range values {
		d := v - p.Value
		chi += d * d / (own[i].Standard * own[i].Standard)
		outer += p.Weights[i] * d * d / free
	}
	if !math.IsInf(sum, 0) {
		p.ChiSquare = &chi
		p.Agree = chi <= distuv.ChiSquared{K: free}.Quantile(agreeLevel)
	}
	inner := NewBudget(scaled...)
	items := []Item{{Name: "samples of each station", Kind: Random, Category: Sampling, Standard: inner.Standard, DOF: inner.DOF}}
	if between := outer - inner.Standard*inner.Standard; between > 0 {
		items = append(items, Item{Name: "from station to station", Kind: Random, Category: Sampling, Standard: math.Sqrt(between), DOF: &free})
	}
	for _, c := range Categories {
		if s := StateOf(c, all); c != Sampling || s.How == Unknown {
			why := "as at the stations"
			if c == Sampling && slices.ContainsFunc(all, func(it Item) bool { return it.Name == TurbulenceTerm }) {
				why = TurbulenceTerm
			}
			items = append(items, Declared(c, s.How, why))
		}
	}
	run := RunToRun
	if StateOf(run, all).How == Unknown {
		run = TimeAverage
	}
	items = append(items, p.shared("reference", StateOf(Reference, all), budgets, Reference), p.shared("time average and run to run", StateOf(run, all), budgets, TimeAverage, RunToRun))
	p.Budget = NewBudget(items...)
	return p
}

// shared is the item of what is common to all values, of some categories; it is held as s says.
func (p *Pool) shared(name string, s State, budgets []*Budget, of ...Category) Item {
	it := Item{Name: name + ", common to the stations", Kind: Independent, Category: s.Category, How: s.How}
	var expanded float64
	for i, b := range budgets {
		o := b.only(of...)
		it.Standard += p.Weights[i] * o.Standard
		expanded += p.Weights[i] * o.Expanded
	}
	if k := expanded / it.Standard; k > CoverageNormal*(1+1e-12) {
		it.DOF = new(freedom(k, 0.5, FewDOF))
	}
	return it
}

// only is the budget of the items of some categories.
func (b *Budget) only(of ...Category) Budget {
	return NewBudget(slices.DeleteFunc(slices.Clone(b.Items), func(it Item) bool { return !slices.Contains(of, it.Category) })...)
}
