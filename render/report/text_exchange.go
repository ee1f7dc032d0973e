package report

import (
	"cmp"
	"slices"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
)

// structureFindings say what became of the parts of the wake: those beside the vehicle, and parts
// that come and go.
func structureFindings(s *compare.Structures) []finding {
	if s == nil {
		return nil
	}
	out := foremostMoves(s)
	if s.Match != nil {
		for _, e := range s.Match.Events {
			out = append(out, finding{"part of the wake: ", e.Kind, clean(e.Text)})
		}
	}
	return out
}

// foremostMoves say what became of the parts beside the vehicle that carry drag.
func foremostMoves(s *compare.Structures) (out []finding) {
	for _, name := range s.Foremost {
		m := s.Shift(name)
		out = append(out, finding{clean(name) + " at " + Place("x", m.Position) + ": ", clean(m.Verdict), movedWords(m)})
	}
	return out
}

// moveHead heads the cells of moveCells.
var moveHead = []string{">centroid", ">edge", ">profile", ">registration", "verdict", "shape", ">Δ drag m²"}

// moveTable lists the moves of the matched parts in four ways, mm toward the centre
// plane, for parts on it to the right.
func moveTable(s *compare.Structures) *Table {
	g := NewTable(append([]string{"part"}, moveHead...)...)
	if s != nil {
		for _, m := range s.Shifts {
			g.Add(append([]string{clean(m.A)}, moveCells(m, s)...)...)
		}
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

// moveCells prints the four moves of one of s, mm with their expanded uncertainties, the verdict on
// them, whether the part changed its shape, and its drag.
func moveCells(m *shift.Shift, s *compare.Structures) []string {
	out := make([]string, 4, len(moveHead))
	for k, name := range []string{shift.MeasureCentroid, shift.MeasureEdge, shift.MeasureProfile, shift.MeasureRegistration} {
		for _, v := range m.Moves {
			if v.Measure == name {
				x, _ := v.Toward()
				d := min(digits(1000, v.Expanded, v.Judgement, 1), 1)
				out[k] = signed(1000*x, d) + " ± " + atLeast(v.Verdict, halfWidth(1000*v.Expanded, false, d))
			}
		}
	}
	shape := ""
	if len(m.Moves) > 0 && !m.Agree {
		shape = "changed"
	}
	drag := known(m.DragArea, 1, signed, areaDecimals-1) // nothing judges it
	if merged(s)[m.A] {
		drag = partsMerged
	}
	return append(out, clean(m.Verdict), shape, drag)
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

// exchangeTable lists where the drag differences sit, by region and by part, each with its
// rest. Entries are the baseline's; those that a variant has alone follow.
func exchangeTable(c *compare.Comparison, n []string) *Table {
	g := NewTable("where", ">"+n[0]+" m²")
	for _, name := range n[1:] {
		g.heads(">Δ " + name)
	}
	const decimals = areaDecimals - 1 // nothing judges them
	for _, by := range []struct{ key, head string }{{"regions", "by region"}, {"structures", "by part of the wake"}} {
		rows := &Table{Columns: g.Columns}
		for k, v := range c.Variants {
			if v.Exchange == nil {
				continue
			}
			borders, b := merged(v.Structures), v.Exchange.By(by.key)
			for i, e := range withRest(b) {
				// An entry of the baseline has the name before the arrow in all variants.
				name, _, _ := strings.Cut(e.Name, " → ")
				name = strings.TrimSuffix(name, " (baseline alone)")
				if by.key == "regions" && i < len(b.Entries) {
					name = boxName(name)
				}
				row := rows.row("  " + clean(name))
				row[1] = cmp.Or(row[1], fixed(e.A, decimals))
				row[2+k] = signed(e.Delta, decimals)
				if by.key == "structures" && borders[strings.TrimSuffix(name, " (variant alone)")] {
					row[2+k] = partsMerged
				}
			}
		}
		if len(rows.Rows) > 0 {
			g.Add(by.head)
			g.Rows = append(g.Rows, rows.Rows...)
		}
	}
	for k, v := range c.Variants {
		if v.Exchange != nil {
			total := g.row("sum of each")
			total[1], total[2+k] = fixed(v.Exchange.A, decimals), signed(v.Exchange.Delta, decimals)
		}
	}
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

// changeTables are where variants differ from the baseline: by region, by part of the
// wake, by edges of top views, and where the differences of drag sit.
func changeTables(c *compare.Comparison, n []string) []*Table {
	var out []*Table
	for i, v := range c.Variants {
		out = append(out, regionDeltaTable(v.Regions).titled("Regions, "+n[i+1]+" minus "+n[0], ""))
	}
	for i, v := range c.Variants {
		out = append(out, moveTable(v.Structures).titled(moveTitle(v.Structures, n[i+1], n[0]), ""))
	}
	out = append(out, exchangeTable(c, n).titled("Where the difference sits, m² of local drag, which is not that of what lies upstream", ""))
	for i, v := range c.Variants {
		out = append(out, areaDeltaTable(v.Areas).titled("Areas above a threshold, "+n[i+1]+" minus "+n[0], "").detailed())
	}
	return out
}

// changeBudgets are what makes up the uncertainty of the changes of drag.
func changeBudgets(c *compare.Comparison, n []string) []*Table {
	var out []*Table
	for i, v := range c.Variants {
		if v.Delta != nil {
			out = append(out, budgetTable("Uncertainty of the change of drag area, "+n[i+1]+" minus "+n[0]+", m²", &v.Delta.Budget))
		}
	}
	return out
}
