package measure

import (
	"math"
	"strings"

	"wakeledger/wake/statistics"
)

// The kinds of an item.
const (
	Random      = "random"
	Common      = "common"
	Independent = "independent"
)

// Coverage is the factor from standard to expanded uncertainty where the degrees of
// freedom are many: about 95 % for a normal distribution. NewBudget takes Student's
// t where they are few.
const Coverage = 2

// manyDOF: degrees of freedom beyond this are as good as none to count.
const manyDOF = 1000

// Rectangular is the word for a distribution that is flat between two limits,
// √3 standard uncertainties from the middle (JCGM 100:2008, 4.3.7).
const Rectangular = "rectangular"

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
	b.Standard = statistics.Propagate(c, u, nil)
	nu := statistics.EffectiveDOF(u, dof)
	b.Coverage = statistics.Coverage(nu)
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

// with returns the budget with further items.
func (b *Budget) with(items ...Item) Budget {
	return NewBudget(append(b.Items[:len(b.Items):len(b.Items)], items...)...)
}
