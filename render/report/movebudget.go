package report

import (
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake/compare"
	"wakeledger/wake/uncertainty"
)

// moveItems are the columns of a move's budget: items by name, and categories.
var moveItems = []struct {
	head string
	of   func(uncertainty.Item) bool
}{
	{">noise", itemNamed("sample noise")}, {">level", itemNamed("zero level of the weight")}, {">threshold", itemNamed("threshold")}, {">sampling", itemNamed("sampling distance")},
	{">border", itemNamed("border to neighbours")}, {">rows", itemNamed("rows of the height band")}, {">fit", itemNamed("sub-cell fit")},
	{">reference", inCategory(uncertainty.Reference)}, {">time", inCategory(uncertainty.TimeAverage)}, {">runs", inCategory(uncertainty.RunToRun)},
}

func itemNamed(name string) func(uncertainty.Item) bool {
	return func(it uncertainty.Item) bool { return it.Name == name }
}

func inCategory(c uncertainty.Category) func(uncertainty.Item) bool {
	return func(it uncertainty.Item) bool { return it.Category == c && it.Standard > 0 }
}

// moveBudgetTable lists the items of every move of every part. A column without any
// is left out.
func moveBudgetTable(s *compare.Structures) *Table {
	g := NewTable("part and measure")
	for _, i := range moveItems {
		g.heads(i.head)
	}
	g.heads(">in all")
	if s == nil {
		return g
	}
	for _, m := range s.Shifts {
		if len(m.Moves) > 0 {
			g.Add(clean(m.A) + ":")
		}
		for _, v := range m.Moves {
			cells := []string{"  " + v.Measure}
			for _, i := range moveItems {
				var of []float64
				for _, it := range v.Items {
					if i.of(it) {
						of = append(of, it.Standard)
					}
				}
				cell := ""
				if of != nil {
					cell = fixed(1000*floats.Norm(of, 2), 1)
				}
				cells = append(cells, cell)
			}
			g.Add(append(cells, fixed(1000*v.Standard, 1))...)
		}
	}
	return g
}

// moveBudgetWords says what those budgets do not hold.
func moveBudgetWords(s *compare.Structures) string {
	if s == nil {
		return ""
	}
	var out []string
	for _, m := range s.Shifts {
		if m.Headline == nil {
			continue
		}
		if c := stateWords(m.Headline.States); c != "" && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return strings.Join(out, "; elsewhere: ")
}
