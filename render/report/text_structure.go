package report

import (
	"strconv"

	"wakeledger/wake/measure"
)

// structureTitle heads structureTable with its units.
const structureTitle = "Parts of the wake, found from the field (m, m²; Γ is the circulation, m²/s)"

// structureTable lists the parts of a wake that were found in the field, highest
// peak first; "mirror" is the number of the part that this one is a mirror image of.
func structureTable(r *measure.Result) *Table {
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
	if r.StructureRule != nil && r.StructureRule.Rest != nil && len(g.Rows) > 0 {
		g.Add("", "outside all", fixed(*r.StructureRule.Rest, areaDecimals))
	}
	return g
}

// structureWords is the rule that the parts depend on.
func structureWords(r *measure.StructureRule) string {
	s := typeset(r.Text)
	if r.Weight != "" {
		s = "weight " + clean(r.Weight) + " counted from " + short(r.Level) + ", its mean on the open edge; " + s
	}
	return s
}

// partTables are the parts of a wake with their rule; of follows their titles.
func partTables(r *measure.Result, of string) []*Table {
	var out []*Table
	if t := structureTable(r); len(t.Rows) > 0 {
		foot := ""
		if r.StructureRule != nil {
			foot = "rule: " + structureWords(r.StructureRule) + "; persists: the share of its peak by which the threshold can fall before the part merges"
		}
		out = append(out, t.titled(structureTitle+of, foot).detailed())
	}
	return out
}
