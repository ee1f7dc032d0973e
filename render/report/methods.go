package report

import (
	"cmp"
	"slices"

	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// methodTable has each method that gave a number of the study, with its formula and its
// source. The README's table says which were cited from memory.
func methodTable(o *study.Outcome) *Table {
	t := NewTable("method", "formula", "source").titled("Methods", "Axes: x aft, y to the vehicle's right, z up; the origin is on the ground at mid-wheelbase (SAE J1594:2010). Cpt = (pt − p∞)/q, 1 in the free stream; q = ½ρU².").detailed()
	rows := ledgerRows(o)
	for _, m := range measure.Methods {
		gave := func(r ledgerRow) bool {
			_, _, ok := m.Of(cmp.Or(r.result.Drag, &measure.Drag{}))
			return ok
		}
		if slices.ContainsFunc(rows, gave) {
			t.Add(m.Short, m.Formula, m.Source)
		}
	}
	t.Add("uncertainty", "standard uncertainties are added as squares; what is common to two configurations cancels in their difference; 95 % coverage, with Student's t where the degrees of freedom are few; a change is resolved when it is larger than its expanded uncertainty", "JCGM 100:2008 (GUM), sections 5 and G.4")
	return t
}
