package uncertainty

import (
	"math"
	"strings"
)

// The kinds of an item.
const (
	Random      = "random"
	Common      = "common"
	Independent = "independent"
)

// manyDOF: degrees of freedom beyond this are as good as none to count.
const manyDOF = 1000

// Rectangular is the word for a distribution that is flat between two limits,
// √3 standard uncertainties from the middle (JCGM 100:2008, 4.3.7).
const Rectangular = "rectangular"

// Budget is a list of contributions and what they come to.
type Budget struct {
	// Standard is the root sum of squares of the items.
	Standard float64 `json:"standard"`
	// Expanded is Coverage × Standard.
	Expanded float64 `json:"expanded"`
	Coverage float64 `json:"coverage"`
	// DOF is the effective degrees of freedom; nil means they are taken as large.
	DOF   *float64 `json:"dof,omitempty"`
	Items []Item   `json:"items"`
	// Covers says in words what the budget holds and what it does not.
	Covers string `json:"covers"`
	// MonteCarlo is there where trials were asked for.
	MonteCarlo *MonteCarlo `json:"monte_carlo,omitempty"`
}

// Item is one contribution, as a standard uncertainty in the quantity's unit.
type Item struct {
	Name string `json:"name"`
	// Kind is random, common (cancels between configurations surveyed alike) or
	// independent.
	Kind     string  `json:"kind"`
	Standard float64 `json:"standard"`
	// DOF are the degrees of freedom; nil means that they are taken as large.
	DOF *float64 `json:"dof,omitempty"`
	// Distribution is "rectangular" where it is; else normal, or Student's.
	Distribution string `json:"distribution,omitempty"`
	// Input is the standard uncertainty of a stated input in Unit, Sensitivity what the
	// quantity changes by for one Unit, from measuring again with the input off to both
	// sides. Bent is given where the two sides differ by more than a tenth: how far
	// their middle lies from the quantity.
	Input       *float64 `json:"input,omitempty"`
	Unit        string   `json:"input_unit,omitempty"`
	Sensitivity *float64 `json:"sensitivity,omitempty"`
	Bent        *float64 `json:"not_linear,omitempty"`
	// Cancelled, in the budget of a difference, is what a common item would be if it
	// were not common: the part that cancels is what Standard falls short of it.
	Cancelled *float64 `json:"without_cancelling,omitempty"`
	// Simulated items are drawn as inputs in a Monte Carlo trial.
	Simulated bool `json:"-"`
	// Whole is what Standard was before the part that other items stand for was taken off
	// it (WithoutKnownScatter); 0 where nothing was.
	Whole float64 `json:"-"`
}

// NewBudget combines independent items by the root of the sum of squares, with
// the effective degrees of freedom and the coverage factor that belongs to them:
// 2, or Student's t below ten.
func NewBudget(items ...Item) Budget {
	b := Budget{Items: items}
	u, c, dof := make([]float64, len(items)), make([]float64, len(items)), make([]float64, len(items))
	for k, it := range items {
		u[k], c[k], dof[k] = it.Standard, 1, math.Inf(1)
		if it.DOF != nil {
			dof[k] = *it.DOF
		}
	}
	b.Standard = Propagate(c, u, nil)
	nu := EffectiveDOF(u, dof)
	b.Coverage = Coverage(nu)
	if nu < manyDOF {
		b.DOF = &nu
	}
	b.Expanded = b.Coverage * b.Standard
	b.Covers = covers(items)
	return b
}

// sources are what a budget can hold, in words, each with the beginning of the
// names of its items.
var sources = []struct{ words, prefix string }{
	{"the solver", "solution"},
	{"the reference", "reference"},
	{"positions", "position"},
	{"the time average", "time average"},
	{"repeats", "repeats"},
}

// covers says what a budget does not hold.
func covers(items []Item) string {
	var out []string
next:
	for _, s := range sources {
		for _, it := range items {
			if strings.HasPrefix(it.Name, s.prefix) {
				continue next
			}
		}
		out = append(out, s.words)
	}
	if len(out) == 0 {
		return "it holds every source that this program knows of; the vehicle, the simplified model and the road are not among them"
	}
	return "not in it, since nothing is stated about them: " + strings.Join(out, ", ")
}

// With returns the budget with further items.
func (b *Budget) With(items ...Item) Budget {
	return NewBudget(append(b.Items[:len(b.Items):len(b.Items)], items...)...)
}
