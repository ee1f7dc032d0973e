package report

import (
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// methodTable has each method that gave a number of the study, with its formula and its
// source. The README's table says which were cited from memory.
func methodTable(o *study.Outcome) *Table {
	t := NewTable("method", "formula", "source").titled("Methods", "Axes: x aft, y to the vehicle's right, z up; the origin is on the ground at mid-wheelbase (SAE J1594:2010). Cpt = (pt − p∞)/q, 1 in the free stream; q = ½ρU².").detailed()
	gave := map[string]bool{}
	for _, r := range ledgerRows(o) {
		for _, m := range measure.Methods {
			if r.result.Drag != nil {
				_, _, ok := m.Of(r.result.Drag)
				gave[m.Key] = gave[m.Key] || ok
			}
		}
	}
	for _, m := range measure.Methods {
		if gave[m.Key] {
			t.Add(m.Short, m.Formula, m.Source)
		}
	}
	t.Add("uncertainty", "standard uncertainties are added as squares; what is common to two configurations cancels in their difference; 95 % coverage, with Student's t where the degrees of freedom are few; a change is resolved when it is larger than its expanded uncertainty", "JCGM 100:2008 (GUM), sections 5 and G.4")
	return t
}
