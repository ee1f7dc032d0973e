package report

import (
	"strconv"

	"wakeledger/wake/measure"
)

// partTable lists the parts of a wake that were found in the field, highest peak first, with their rule; "mirror"
// is the number of the part that this one is a mirror image of. of follows its title.
func partTable(r *measure.Result, of string) *Table {
	g := NewTable(">no", "part", ">drag", ">area", ">y", ">z", ">σy", ">σz", ">peak", ">Γ", ">persists", ">mirror")
	number := map[string]string{}
	for i, t := range r.Structures {
		number[t.Name] = strconv.Itoa(i + 1)
	}
	for _, t := range r.Structures {
		g.Add(number[t.Name], clean(t.Name), optional(t.DragArea, areaDecimals), fixed(t.Area, 3),
			fixed(t.Centroid[0], lengthDecimals), fixed(t.Centroid[1], lengthDecimals), fixed(t.Spread[0], lengthDecimals), fixed(t.Spread[1], lengthDecimals),
			fixed(t.Peak, 3), known(t.Circulation, 1, signed, 2), fixed(100*t.Persistence, 0)+" %", number[t.MirrorOf])
	}
	foot := ""
	if rule := r.StructureRule; rule != nil && len(g.Rows) > 0 {
		if rule.Rest != nil {
			g.Add("", "outside all", fixed(*rule.Rest, areaDecimals))
		}
		words := typeset(rule.Text)
		if rule.Weight != "" {
			words = "weight " + clean(rule.Weight) + " counted from " + short(rule.Level) + ", its mean on the open edge; " + words
		}
		foot = "rule: " + words + "; persists: the share of its peak by which the threshold can fall before the part merges"
	}
	return g.titled("Parts of the wake, found from the field (m, m²; Γ is the circulation, m²/s)"+of, foot).detailed()
}
