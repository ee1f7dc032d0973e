package report

import (
	"math"
	"slices"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/uncertainty"
)

// moveBudgetTitle heads moveBudgetTable.
const moveBudgetTitle = "What makes up the uncertainty of those moves, standard, mm"

// moveItems are the items of a move's budget in the order of the columns, with their
// heads.
var moveItems = [][2]string{
	{"sample noise", "noise"}, {"zero level of the weight", "level"}, {"threshold", "threshold"}, {"sampling distance", "sampling"},
	{"border to neighbours", "border"}, {"rows of the height band", "rows"}, {"sub-cell fit", "fit"},
}

// moveCategories are the other columns.
var moveCategories = []struct {
	category uncertainty.Category
	head     string
}{{uncertainty.Reference, ">reference"}, {uncertainty.TimeAverage, ">time"}, {uncertainty.RunToRun, ">runs"}}

// moveBudgetTable lists the items of every move of every part. A column without any
// is left out.
func moveBudgetTable(s *compare.Structures) *Table {
	if s == nil {
		return NewTable()
	}
	var used []string
	filled := map[uncertainty.Category]bool{}
	for _, m := range s.Shifts {
		for _, v := range m.Moves {
			for _, it := range v.Items {
				used = append(used, it.Name)
				filled[it.Category] = filled[it.Category] || it.Standard > 0
			}
		}
	}
	head := []string{"part and measure"}
	items := slices.DeleteFunc(slices.Clone(moveItems), func(i [2]string) bool { return !slices.Contains(used, i[0]) })
	for _, i := range items {
		head = append(head, ">"+i[1])
	}
	for _, c := range moveCategories {
		if filled[c.category] {
			head = append(head, c.head)
		}
	}
	g := NewTable(append(head, ">in all")...)
	for _, m := range s.Shifts {
		if len(m.Moves) > 0 {
			g.Add(clean(m.A) + ":")
		}
		for _, v := range m.Moves {
			cells := []string{"  " + v.Measure}
			for _, i := range items {
				cell := ""
				for _, it := range v.Items {
					if it.Name == i[0] {
						cell = fixed(1000*it.Standard, 1)
					}
				}
				cells = append(cells, cell)
			}
			for _, c := range moveCategories {
				if !filled[c.category] {
					continue
				}
				sq := 0.0
				for _, it := range v.Items {
					if it.Category == c.category {
						sq += it.Standard * it.Standard
					}
				}
				cells = append(cells, fixed(1000*math.Sqrt(sq), 1))
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
