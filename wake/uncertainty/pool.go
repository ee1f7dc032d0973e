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
// together, since repeats hold both. From u = Σ aᵢ with degrees of freedom νᵢ, estimated alike,
// 1/√ν = Σ (aᵢ/u)/√νᵢ (our own, from the variance u²/2ν of an estimated u).
//
// Sources: JCGM 100:2008, 5.2.2; for χ² and the scatter of the weighted mean R. T. Birge, Phys. Rev. 40
// (1932) 207 (from memory).
func NewPool(values []float64, budgets []*Budget) Pool {
	n := len(values)
	p := Pool{Weights: make([]float64, n)}
	own, dof := make([]float64, n), make([]float64, n)
	var items []Item
	var sum float64
	for i, b := range budgets {
		own[i], dof[i] = together(b.Items, Sampling)
		p.Weights[i] = 1 / (own[i] * own[i])
		sum += p.Weights[i]
		items = append(items, b.Items...)
		for _, s := range b.States {
			if s.How == Unknown {
				items = append(items, Declared(s.Category, Unknown, s.Why))
			}
		}
	}
	if math.IsInf(sum, 0) || math.IsNaN(sum) {
		for i := range p.Weights {
			p.Weights[i] = 1
		}
		sum = float64(n)
	}
	for i, v := range values {
		p.Weights[i] /= sum
		p.Value += p.Weights[i] * v
	}
	var chi, outer float64
	for i, v := range values {
		d := v - p.Value
		chi += d * d / (own[i] * own[i])
		outer += p.Weights[i] * d * d / float64(n-1)
	}
	free := float64(n - 1)
	if !math.IsInf(chi, 0) && !math.IsNaN(chi) {
		p.ChiSquare = &chi
		p.Agree = chi <= distuv.ChiSquared{K: free}.Quantile(agreeLevel)
	}
	inner := Propagate(p.Weights, own, nil)
	scaled := make([]float64, n)
	for i := range own {
		scaled[i] = p.Weights[i] * own[i]
	}
	out := []Item{{Name: "samples of each station", Kind: Random, Category: Sampling, Standard: inner, DOF: finite(EffectiveDOF(scaled, dof))}}
	if between := outer - inner*inner; between > 0 {
		out = append(out, Item{Name: "from station to station", Kind: Random, Category: Sampling, Standard: math.Sqrt(between), DOF: &free})
	}
	out = append(out, p.shared("reference", budgets, items, Reference), p.shared("run to run and time average", budgets, items, RunToRun, TimeAverage))
	for _, c := range Categories {
		if s := StateOf(c, items); c != Sampling || s.How == Unknown {
			out = append(out, Declared(c, s.How, "as at the stations"))
		}
	}
	p.Budget = NewBudget(out...)
	return p
}

// shared is the item of what is common to all values of the categories.
func (p *Pool) shared(name string, budgets []*Budget, items []Item, of ...Category) Item {
	it := Item{Name: name + ", common to the stations", Kind: Independent}
	// In the first of the categories of which something is known.
	for _, c := range of {
		if s := StateOf(c, items); it.Category == "" && (s.How == Estimated || s.How == Stated) {
			it.Category, it.How = c, s.How
		}
	}
	if it.Category == "" {
		it.Category, it.How = of[0], StateOf(of[0], items).How
	}
	var root float64
	for i, b := range budgets {
		u, dof := together(b.Items, of...)
		it.Standard += p.Weights[i] * u
		root += p.Weights[i] * u / math.Sqrt(dof)
	}
	if root > 0 {
		it.DOF = finite(it.Standard * it.Standard / (root * root))
	}
	return it
}

// together is the root of the sum of squares of the items of some categories, with its
// degrees of freedom.
func together(items []Item, of ...Category) (u, dof float64) {
	var us, dofs []float64
	for _, it := range items {
		if !slices.Contains(of, it.Category) {
			continue
		}
		nu := math.Inf(1)
		if it.DOF != nil {
			nu = *it.DOF
		}
		us, dofs = append(us, it.Standard), append(dofs, nu)
		u = math.Hypot(u, it.Standard)
	}
	return u, EffectiveDOF(us, dofs)
}

// finite is nil for degrees of freedom that are taken as large.
func finite(dof float64) *float64 {
	if dof < manyDOF {
		return &dof
	}
	return nil
}
