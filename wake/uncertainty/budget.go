package uncertainty

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// The kinds of an item.
const (
	Random      = "random"
	Common      = "common"
	Independent = "independent"
)

// manyDOF: degrees of freedom beyond this are as good as none to count.
const manyDOF = 1000

// Category is where an error comes from. A budget is complete when each of Categories is
// estimated from data, stated by the user, or declared absent for a reason.
type Category string

// The categories: Sampling is what a plane's own samples leave open on the way to the
// number (their spacing, gaps, the open border, level lines, the choice of method),
// Reference the undisturbed state and the instruments, TimeAverage the finite time of a
// mean, RunToRun what another start, another set-up or another mesh changes.
const (
	Sampling    Category = "sampling"
	Reference   Category = "reference"
	TimeAverage Category = "time average"
	RunToRun    Category = "run to run"
)

// Categories lists all of them in the order in which they are told.
var Categories = []Category{Sampling, Reference, TimeAverage, RunToRun}

// How a category is held, or an item known.
const (
	Estimated = "estimated"
	Stated    = "stated"
	Absent    = "absent"
	Unknown   = "unknown"
)

// State is how a budget holds a category; Why names the items of it.
type State struct {
	Category Category `json:"category"`
	How      string   `json:"how"`
	Why      string   `json:"why,omitempty"`
}

// Rectangular is the word for a distribution that is flat between two limits,
// √3 standard uncertainties from the middle (JCGM 100:2008, 4.3.7).
const Rectangular = "rectangular"

// Budget is a list of contributions and what they come to.
type Budget struct {
	// Standard is the root sum of squares of the items.
	Standard float64 `json:"standard"`
	// Expanded is Coverage × Standard.
	Expanded float64 `json:"expanded"`
	Coverage float64 `json:"coverage,omitempty"`
	// DOF is the effective degrees of freedom; nil means they are taken as large.
	DOF   *float64 `json:"dof,omitempty"`
	Items []Item   `json:"items"`
	// States has one entry for each of Categories, in their order.
	States []State `json:"categories,omitempty"`
	// MonteCarlo is there where trials were asked for.
	MonteCarlo *MonteCarlo `json:"monte_carlo,omitempty"`
}

// LengthBudget is a Budget of a length, m, and AreaBudget one of an area, m²: the keys of
// their JSON say so, and leave out the states, which the items tell. The three convert into
// each other.
type (
	LengthBudget struct {
		Standard   float64     `json:"standard_m"`
		Expanded   float64     `json:"expanded_m"`
		Coverage   float64     `json:"coverage,omitempty"`
		DOF        *float64    `json:"dof,omitempty"`
		Items      []Item      `json:"items"`
		States     []State     `json:"-"`
		MonteCarlo *MonteCarlo `json:"monte_carlo,omitempty"`
	}
	AreaBudget struct {
		Standard   float64     `json:"standard_m2"`
		Expanded   float64     `json:"expanded_m2"`
		Coverage   float64     `json:"coverage,omitempty"`
		DOF        *float64    `json:"dof,omitempty"`
		Items      []Item      `json:"items,omitempty"`
		States     []State     `json:"-"`
		MonteCarlo *MonteCarlo `json:"monte_carlo,omitempty"`
	}
)

// Item is one contribution, as a standard uncertainty in the quantity's unit.
type Item struct {
	Name string `json:"name"`
	// Kind is random, common (cancels between configurations surveyed alike) or
	// independent.
	Kind     string   `json:"kind"`
	Category Category `json:"category"`
	// How is empty for what is estimated from data, else Stated, Absent or Unknown; of
	// the last two Name gives the reason.
	How      string  `json:"how,omitempty"`
	Standard float64 `json:"standard"`
	// HoldsTime: the item is a scatter of repeats, of which each is a time average of its
	// own. Beside it items of TimeAverage would count twice and are left out.
	HoldsTime bool `json:"holds_time_average,omitempty"`
	// Runs, of a scatter of repeats in a difference, is how many there are of each at least.
	Runs int `json:"-"`
	// DOF are the degrees of freedom; nil means that they are taken as large.
	DOF *float64 `json:"dof,omitempty"`
	// Distribution is "rectangular" where it is; else normal, or Student's.
	Distribution string `json:"distribution,omitempty"`
	// Input is the standard uncertainty of a stated input in Unit, Sensitivity what the
	// quantity changes by for one Unit, from measuring again with the input off to both
	// sides.
	Input       *float64 `json:"input,omitempty"`
	Unit        string   `json:"input_unit,omitempty"`
	Sensitivity *float64 `json:"sensitivity,omitempty"`
	// Cancelled, in the budget of a difference, is what a common item would be if it
	// were not common: the part that cancels is what Standard falls short of it.
	Cancelled *float64 `json:"without_cancelling,omitempty"`
	// Whole is what Standard was before the part that other items represent was taken off
	// it (WithoutKnownScatter); 0 where nothing was.
	Whole float64 `json:"-"`
	// Lack is the size of a known error that is left in the value, added up by signs in a budget, and About the standard
	// uncertainty of that size; Standard holds both. Of a difference of two such numbers only
	// About counts, and how far their errors differ.
	Lack  float64 `json:"-"`
	About float64 `json:"-"`
}

// Left is the item of an error of known size b, with the standard uncertainty v, that the samples
// leave in a value; s is as of OffStandard.
func Left(name string, b, s, v float64) Item {
	if b == 0 && s == 0 {
		return Item{Name: name, Category: Sampling, Kind: Independent, Standard: v}
	}
	return Item{Name: name, Category: Sampling, Kind: Independent, Standard: OffStandard(b, s, v), Lack: b, About: v}
}

// HalfWidth is the item of an error of the sampling that lies anywhere within ±width.
func HalfWidth(name string, width float64) Item {
	return Item{Name: name, Category: Sampling, Kind: Independent, Standard: math.Abs(width) / math.Sqrt(3), Distribution: Rectangular}
}

// Declared is an item that says why a category is absent, or not known.
func Declared(c Category, how, why string) Item {
	return Item{Name: why, Kind: Common, Category: c, How: how}
}

// NewBudget combines independent items by the root of the sum of squares, with
// the effective degrees of freedom and the coverage factor that belongs to them, and says
// how each category is held. A category without an item is unknown.
func NewBudget(items ...Item) Budget {
	if slices.ContainsFunc(items, func(it Item) bool { return it.HoldsTime }) {
		items = append(Without(TimeAverage, items), Declared(TimeAverage, Estimated, "in the scatter of repeats"))
	}
	items = addKnown(items)
	b := Budget{Items: items}
	u, dof := make([]float64, len(items)), make([]float64, len(items))
	var squares float64
	for k, it := range items {
		u[k], dof[k] = it.Standard, math.Inf(1)
		if it.DOF != nil {
			dof[k] = *it.DOF
		}
		squares += u[k] * u[k]
	}
	b.Standard = math.Sqrt(squares)
	nu := atLeastEach(u, dof, b.Standard)
	b.Coverage = Coverage(nu)
	if nu < manyDOF {
		b.DOF = &nu
	}
	b.Expanded = b.Coverage * b.Standard
	for _, c := range Categories {
		b.States = append(b.States, StateOf(c, items))
	}
	return b
}

// addKnown gives the items with the known errors that are left in the value added up by their signs: those that
// have a Lack come, by one factor, to what their sum asks for beside the others.
func addKnown(items []Item) []Item {
	var known, squares, about, others float64
	for _, it := range items {
		if it.Lack != 0 {
			known, squares, about = known+it.Lack, squares+it.Standard*it.Standard, math.Hypot(about, it.About)
		} else {
			others = math.Hypot(others, it.Standard)
		}
	}
	if squares == 0 {
		return items
	}
	factor := OffStandard(known, others, about) / math.Sqrt(squares)
	items = slices.Clone(items)
	for k := range items {
		if items[k].Lack != 0 {
			items[k].Standard *= factor
		}
	}
	return items
}

// atLeastEach is the effective degrees of freedom of items whose root sum of squares is u, or
// fewer: so few that the expanded uncertainty is not below that of any item by itself. By the
// formula alone an item with many degrees of freedom that is added to one with a single one
// would make the sum's interval shorter than the one's (from 12.7 u to 3 u, where both
// are alike).
func atLeastEach(each, dof []float64, u float64) float64 {
	nu, least := EffectiveDOF(each, dof), 0.0
	few := nu
	for k, v := range each {
		if e := Coverage(dof[k]) * v; e > least {
			least, few = e, dof[k]
		}
	}
	if !(Coverage(nu)*u < least) {
		return nu
	}
	return freedom(least/u, few, math.Min(nu, FewDOF))
}

// freedom is the degrees of freedom, from lo to hi, whose factor is k. The distribution takes a
// tenth of the time of its inverse.
func freedom(k, lo, hi float64) float64 {
	nu, _ := bisect(lo, hi, 50, func(nu float64) bool { return distuv.StudentsT{Sigma: 1, Nu: nu}.CDF(k) <= 0.975 })
	return nu
}

// Without returns the items of the other categories.
func Without(c Category, items []Item) []Item {
	return slices.DeleteFunc(slices.Clone(items), func(it Item) bool { return it.Category == c })
}

// Only is the budget of a number in which no other category than those of the items can
// play a part; why is the reason.
func Only(why string, items ...Item) Budget {
	items = items[:len(items):len(items)]
	for _, c := range Categories {
		if !slices.ContainsFunc(items, func(it Item) bool { return it.Category == c }) {
			items = append(items, Declared(c, Absent, why))
		}
	}
	return NewBudget(items...)
}

// StateOf says how items hold a category: what is unknown in part is unknown, and what is
// estimated in part is estimated.
func StateOf(c Category, items []Item) State {
	s := State{c, Unknown, ""}
	rank := map[string]int{"": 2, Estimated: 2, Stated: 1, Absent: 0, Unknown: 3}
	best := -1
	for _, it := range items {
		if it.Category != c {
			continue
		}
		if s.Why != "" {
			s.Why += ", "
		}
		s.Why += it.Name
		if r := rank[it.How]; r > best {
			best, s.How = r, it.How
		}
	}
	s.How = cmp.Or(s.How, Estimated)
	return s
}

// With returns the budget with further items.
func (b *Budget) With(items ...Item) Budget {
	return NewBudget(append(b.Items[:len(b.Items):len(b.Items)], items...)...)
}
