package report

import (
	"fmt"
	"strconv"

	"wakeledger/wake/compare"
	"wakeledger/wake/structure"
)

// structureFindings are the sentences on what became of the parts of the wake: those
// beside the vehicle, left and right together, and parts that come and go.
func structureFindings(s *compare.Structures) []finding {
	if s == nil {
		return nil
	}
	var out []finding
	for _, t := range s.Sentences {
		out = append(out, finding{"", clean(t.Verdict), clean(t.Text)})
	}
	for _, p := range s.Sides {
		out = append(out, finding{clean(p.Left.A) + " and " + clean(p.Right.A) + ": ", "", clean(p.Text)})
	}
	if s.Match != nil {
		for _, e := range s.Match.Events {
			out = append(out, finding{"part of the wake: ", e.Kind, clean(e.Text)})
		}
	}
	return out
}

// moveTable lists the moves of the matched parts in four ways, mm toward the centre
// plane, for parts on it to the right.
func moveTable(s *compare.Structures) *grid {
	g := table(2, "part", ">centroid", ">edge", ">profile", ">registration", "verdict", ">Δ drag m²")
	if s == nil {
		return g
	}
	for _, m := range s.Shifts {
		cells := append([]string{clean(m.A)}, wayCells(m)...)
		cells = append(cells, clean(m.Verdict))
		if m.DragArea != nil {
			cells = append(cells, signed(*m.DragArea, areaDecimals))
		}
		g.add(cells...)
	}
	return g
}

// matchTable lists which part of the variant each part of the baseline is, how well
// they match, and how the moves passed the test of agreement.
func matchTable(s *compare.Structures) *grid {
	g := table(2, "baseline's part", "variant's part", ">overlap", ">apart mm", ">score", ">Birge", ">limit", ">Δ drag %")
	if s == nil || s.Match == nil {
		return g
	}
	for _, p := range s.Match.Pairs {
		cells := []string{clean(p.A), clean(p.B), fixed(p.Overlap, 2), fixed(1000*p.Distance, 1), fixed(p.Score, 2)}
		for _, m := range s.Shifts {
			if m.A != p.A {
				continue
			}
			birge, limit, change := "", "", ""
			if len(m.Moves) > 1 {
				birge, limit = threeDigits(m.Birge), threeDigits(m.Limit)
			}
			if m.DragPercent != nil {
				change = signed(*m.DragPercent, 1)
			}
			cells = append(cells, birge, limit, change)
		}
		g.add(cells...)
	}
	return g
}

// moveTitle heads a moveTable.
func moveTitle(s *compare.Structures, variant, baseline string) string {
	title := "Moves of the parts, " + variant + " minus " + baseline + ", mm inboard (± 95 %)"
	if s == nil {
		return title
	}
	for _, m := range s.Shifts {
		if len(m.Moves) > 0 && m.Moves[0].Inboard == nil {
			return title + "; parts on the centre plane: to the right"
		}
	}
	return title
}

// wayCells prints the four moves, mm with their expanded uncertainties.
func wayCells(m *structure.Shift) []string {
	out := make([]string, 4)
	for k, name := range []string{structure.MeasureCentroid, structure.MeasureEdge, structure.MeasureProfile, structure.MeasureRegistration} {
		for _, v := range m.Moves {
			if v.Measure != name {
				continue
			}
			x := v.Lateral
			if v.Inboard != nil {
				x = *v.Inboard
			}
			d := min(decimalsFor(1000*v.Expanded, 1), 1)
			out[k] = signed(1000*x, d) + " ± " + fixed(1000*v.Expanded, d)
		}
	}
	return out
}

// exchangeTable lists where the drag difference sits: by region and by part, each
// with its rest, and by sector.
func exchangeTable(l *structure.Ledger) *grid {
	g := table(2, "where", ">baseline m²", ">variant m²", ">Δ m²")
	if l == nil {
		return g
	}
	row := func(indent string, e structure.Entry) {
		g.add(indent+clean(e.Name), fixed(e.A, areaDecimals), fixed(e.B, areaDecimals), signed(e.Delta, areaDecimals))
	}
	for _, by := range []struct{ key, head string }{{"regions", "by region"}, {"structures", "by part"}, {"sectors", sectorHead(l)}} {
		b := l.By(by.key)
		if b == nil {
			continue
		}
		g.add(by.head)
		for _, e := range b.Entries {
			row("  ", e)
		}
		if b.Rest != nil {
			row("  ", *b.Rest)
		}
	}
	row("", structure.Entry{Name: "sum of each", A: l.A, B: l.B, Delta: l.Delta})
	return g
}

func sectorHead(l *structure.Ledger) string {
	return fmt.Sprintf("by sector about y = %s m, z = %s m, from +y toward +z", fixed(l.Centre[0], lengthDecimals), fixed(l.Centre[1], lengthDecimals))
}

// cumulativeRows is about how many strips are printed.
const cumulativeRows = 10

// cumulativeTable lists the difference gathered from the lowest y, and from the
// floor, on.
func cumulativeTable(l *structure.Ledger) *grid {
	g := table(2, ">y up to m", ">cumulative Δ m²", ">z up to m", ">cumulative Δ m²")
	if l == nil {
		return g
	}
	ends := func(b *structure.Breakdown) []structure.Entry {
		if b == nil {
			return nil
		}
		step := max(1, len(b.Entries)/cumulativeRows)
		var out []structure.Entry
		for i := step - 1; i < len(b.Entries); i += step {
			out = append(out, b.Entries[i])
		}
		return out
	}
	span, height := ends(l.By("span")), ends(l.By("height"))
	cells := func(list []structure.Entry, i int) [2]string {
		if i >= len(list) || list[i].To == nil || list[i].Cumulative == nil {
			return [2]string{}
		}
		return [2]string{fixed(*list[i].To, lengthDecimals), signed(*list[i].Cumulative, areaDecimals)}
	}
	for i := range max(len(span), len(height)) {
		a, b := cells(span, i), cells(height, i)
		g.add(a[0], a[1], b[0], b[1])
	}
	return g
}

// exchangeWords says what the ledger rests on.
func exchangeWords(l *structure.Ledger) string {
	worst := 0.0
	for _, b := range l.Breakdowns {
		worst = max(worst, b.Residual, -b.Residual)
	}
	return "local drag on the common samples; each breakdown sums to the total to " + strconv.FormatFloat(worst, 'g', 2, 64) + " m²; the local drag of an area is not the drag of what lies upstream of it"
}

// exchange prints the moves of the parts and the ledger of a variant.
func (s *sheet) exchange(v compare.Variant, variant, baseline string) {
	s.table(moveTitle(v.Structures, variant, baseline), moveTable(v.Structures))
	s.table("Matches of the parts, and whether the moves agree (Birge ratio within its limit)", matchTable(v.Structures))
	if l := v.Exchange; l != nil {
		s.table("Where the difference sits, "+variant+" minus "+baseline, exchangeTable(l))
		s.table("Gathered along span and height, "+variant+" minus "+baseline, cumulativeTable(l))
		s.hang(exchangeWords(l), 2, 6)
	}
	if t := v.TopView; t != nil {
		s.table("Edges of the wake, top view, "+variant+" minus "+baseline+", mm inboard", topShiftTable(t))
	}
}

// topShiftTable lists the moves of the edges of a top view.
func topShiftTable(t *structure.TopShift) *grid {
	g := table(2, ">x m", ">left edge", ">right edge", ">change of width")
	mm := func(v *float64) string {
		if v == nil {
			return ""
		}
		return signed(1000**v, 0)
	}
	for _, c := range every(t.Columns, topRows) {
		if c.Left != nil || c.Right != nil {
			g.add(fixed(c.X, lengthDecimals), mm(c.Left), mm(c.Right), mm(c.Width))
		}
	}
	return g
}
