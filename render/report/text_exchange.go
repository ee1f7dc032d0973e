package report

import (
	"slices"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
)

// changeTables are where variants differ from the baseline: how the parts of the wake moved, where the differences of
// drag sit, areas, and what makes up the uncertainty of the changes of drag.
func changeTables(c *compare.Comparison, n []string) (out []*Table) {
	for i, v := range c.Variants {
		of := ", " + n[i+1] + " minus " + n[0]
		out = append(out, moveTable(v.Structures).titled("Moves of the parts"+of+", mm inboard (± 95 %); parts on the centre plane: to the right", "").detailed(),
			exchangeTable(&v).titled("Where the difference sits"+of+", m² of local drag, which is not that of what lies upstream", "").detailed(),
			areaDeltaTable(v.Areas).titled("Areas above a threshold"+of, "").detailed())
		if v.Delta != nil {
			out = append(out, budgetTable("Uncertainty of the change of drag area"+of+", m²", &v.Delta.Budget))
		}
	}
	return out
}

// moveTable lists the moves of the matched parts in four ways, mm toward the centre
// plane, for parts on it to the right, with the verdict on them, and its drag.
func moveTable(s *compare.Structures) *Table {
	g := NewTable("part", ">centroid", ">edge", ">profile", ">registration", ">own samples", "verdict", ">Δ m²")
	if s == nil {
		return g
	}
	for _, m := range s.Shifts {
		cells := []string{clean(m.A)}
		for _, name := range []string{shift.MeasureCentroid, shift.MeasureEdge, shift.MeasureProfile, shift.MeasureRegistration, shift.MeasureOwn} {
			cell := ""
			for _, v := range m.Moves {
				if v.Measure == name {
					x, _ := v.Toward()
					c := moved(x, v.Expanded, v.Judgement)
					cell = c[0] + " ± " + strings.Replace(c[1], "≥ ", "≥", 1) // no room for words
				}
			}
			cells = append(cells, cell)
		}
		drag := known(m.DragArea, 1, signed, areaDecimals-1) // nothing judges it
		if merged(s)[m.A] {
			drag = partsMerged
		}
		g.Add(append(cells, clean(m.Verdict), drag)...)
	}
	return g
}

// partsMerged stands where parts merge or split: the difference between what two of them hold is where
// their border went.
const partsMerged = "merged"

// merged are the baseline's parts, and those of the variant alone, between which parts merge or split.
func merged(s *compare.Structures) map[string]bool {
	out := map[string]bool{}
	if s == nil || s.Match == nil {
		return out
	}
	for _, e := range s.Match.Events {
		if e.Of == "" {
			continue
		}
		out[e.Name] = true
		for _, p := range s.Match.Pairs {
			if p.A == e.Of && e.Kind == "splits" || p.B == e.Of && e.Kind == "merges" {
				out[p.A] = true
			}
		}
	}
	return out
}

func areaDeltaTable(as []compare.AreaDelta) *Table {
	g := NewTable(">threshold", ">Δ m²", ">± m²", "verdict")
	for _, a := range as {
		g.Add(append([]string{short(a.Threshold)}, areaCells(a.Delta, a.Expanded, a.Judgement)...)...)
	}
	return g
}

// exchangeTable lists where the drag difference of a variant sits, by region and by part, each with its rest.
func exchangeTable(v *compare.Variant) *Table {
	g := NewTable("where", ">baseline", ">variant", ">Δ")
	if v.Exchange == nil {
		return g
	}
	const decimals = areaDecimals - 1 // nothing judges them
	borders := merged(v.Structures)
	for _, by := range []string{"regions", "structures"} {
		b := v.Exchange.By(by)
		for i, e := range withRest(b) {
			delta := signed(e.Delta, decimals)
			// The baseline's name stands before the arrow.
			name, _, _ := strings.Cut(e.Name, " → ")
			switch {
			case by == "regions" && i < len(b.Entries):
				e.Name = boxName(e.Name)
			case by == "structures" && borders[strings.TrimSuffix(strings.TrimSuffix(name, " (variant alone)"), " (baseline alone)")]:
				delta = partsMerged
			}
			g.Add(clean(e.Name), fixed(e.A, decimals), fixed(e.B, decimals), delta)
		}
	}
	g.Add("sum of each", fixed(v.Exchange.A, decimals), fixed(v.Exchange.B, decimals), signed(v.Exchange.Delta, decimals))
	return g
}

// withRest are the entries of a breakdown and what is left of it.
func withRest(b *parts.Breakdown) []parts.Entry {
	if b == nil {
		return nil
	}
	out := slices.Clip(b.Entries)
	if b.Rest != nil {
		out = append(out, *b.Rest)
	}
	return out
}
