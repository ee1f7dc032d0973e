package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
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
				d := min(decimalsFor(1000*v.Expanded, 1), 1)
				out[k] = signed(1000*x, d) + " ± " + atLeast(v.Verdict, fixed(1000*v.Expanded, d))
			}
		}
	}
	shape := ""
	if len(m.Moves) > 0 && !m.Agree {
		shape = "changed"
	}
	drag := known(m.DragArea, 1, signed, areaDecimals)
	if merged(s)[m.A] {
		drag = partsMerged
	}
	return append(out, clean(m.Verdict), shape, drag)
}

// matchTable lists which part of the variant each part of the baseline is, how well
// they match, and how the moves passed the test of agreement.
func matchTable(s *compare.Structures) *Table {
	g := NewTable("baseline's part", "variant's part", ">overlap", ">apart mm", ">score", ">consistency", ">limit", ">Δ drag %")
	if s == nil || s.Match == nil {
		return g
	}
	for _, p := range s.Match.Pairs {
		cells := []string{clean(p.A), clean(p.B), fixed(p.Overlap, 2), fixed(1000*p.Distance, 1), fixed(p.Score, 2)}
		for _, m := range s.Shifts {
			if m.A != p.A {
				continue
			}
			ratio, limit := "", ""
			if len(m.Moves) > 1 {
				ratio, limit = threeDigits(m.Birge), threeDigits(m.Limit)
			}
			cells = append(cells, ratio, limit, known(m.DragPercent, 1, signed, 1))
		}
		g.Add(cells...)
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

// ledgers are the exchanges of the variants that have one, with their names.
func ledgers(c *compare.Comparison, n []string) (list []*parts.Ledger, names []string) {
	for i, v := range c.Variants {
		if v.Exchange != nil {
			list, names = append(list, v.Exchange), append(names, n[i+1])
		}
	}
	return list, names
}

// exchangeTable lists where the drag differences sit: by region and by part, each
// with its rest, and by sector. Entries are the baseline's; those that a variant has
// alone follow.
func exchangeTable(c *compare.Comparison, n []string) *Table {
	list, names := ledgers(c, n)
	head := []string{"where", ">" + n[0] + " m²"}
	for _, name := range names {
		head = append(head, ">Δ "+name)
	}
	g := NewTable(head...)
	if len(list) == 0 {
		return g
	}
	var borders []map[string]bool
	for _, v := range c.Variants {
		if v.Exchange != nil {
			borders = append(borders, merged(v.Structures))
		}
	}
	for _, by := range []struct{ key, head string }{{"regions", "by region"}, {"structures", "by part of the wake"}, {"sectors", "by sector"}} {
		rows := NewTable(head...)
		for k, l := range list {
			b := l.By(by.key)
			for i, e := range withRest(b) {
				// An entry of the baseline has the name before the arrow in all variants.
				name, _, _ := strings.Cut(e.Name, " → ")
				name = strings.TrimSuffix(name, " (baseline alone)")
				if by.key == "regions" && i < len(b.Entries) {
					name = boxName(name)
				}
				row := rows.row("  " + clean(name))
				if row[1] == "" {
					row[1] = fixed(e.A, areaDecimals)
				}
				row[2+k] = signed(e.Delta, areaDecimals)
				if by.key == "structures" && borders[k][strings.TrimSuffix(name, " (variant alone)")] {
					row[2+k] = partsMerged
				}
			}
		}
		if len(rows.Rows) > 0 {
			g.Add(by.head)
			g.Rows = append(g.Rows, rows.Rows...)
		}
	}
	total := []string{"sum of each", fixed(list[0].A, areaDecimals)}
	for _, l := range list {
		total = append(total, signed(l.Delta, areaDecimals))
	}
	g.Add(total...)
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

// sectorWords says what the sectors are counted about.
func sectorWords(l *parts.Ledger) string {
	of := clean(l.CentreOf)
	if of != "" {
		of += ", "
	}
	return fmt.Sprintf("sectors about %sy = %s m, z = %s m, from +y toward +z", of, fixed(l.Centre[0], lengthDecimals), fixed(l.Centre[1], lengthDecimals))
}

// cumulativeRows is about how many strips are printed.
const cumulativeRows = 10

// cumulativeTable lists the differences gathered from the lowest y, and from the
// lowest z, on.
func cumulativeTable(c *compare.Comparison, n []string) *Table {
	list, names := ledgers(c, n)
	head := []string{}
	for _, axis := range []string{"y", "z"} {
		head = append(head, ">"+axis+" up to m")
		for _, name := range names {
			head = append(head, ">Δ "+name)
		}
	}
	g := NewTable(head...)
	ends := func(b *parts.Breakdown) []parts.Entry {
		if b == nil {
			return nil
		}
		step := max(1, len(b.Entries)/cumulativeRows)
		var out []parts.Entry
		for i := step - 1; i < len(b.Entries); i += step {
			out = append(out, b.Entries[i])
		}
		return out
	}
	for i := range cumulativeRows {
		var cells []string
		for _, by := range []string{"span", "height"} {
			for k, l := range list {
				e := ends(l.By(by))
				if i >= len(e) || e[i].To == nil || e[i].Cumulative == nil {
					break
				}
				if k == 0 {
					cells = append(cells, fixed(*e[i].To, lengthDecimals))
				}
				cells = append(cells, signed(*e[i].Cumulative, areaDecimals))
			}
		}
		if len(cells) == len(head) {
			g.Add(cells...)
		}
	}
	return g
}

// exchangeWords says what the ledgers rest on.
func exchangeWords(list []*parts.Ledger) string {
	worst := 0.0
	for _, l := range list {
		for _, b := range l.Breakdowns {
			worst = max(worst, b.Residual, -b.Residual)
		}
	}
	return sectorWords(list[0]) + "; local drag on the common samples; each breakdown sums to the total to " + strconv.FormatFloat(worst, 'g', 2, 64) + " m²; the local drag of an area is not the drag of what lies upstream of it"
}

// changeTables are where variants differ from the baseline: by region, by part of the
// wake, by edges of top views, and where the differences of drag sit.
func changeTables(c *compare.Comparison, n []string) []titled {
	var out []titled
	for i, v := range c.Variants {
		out = append(out, titled{title: "Regions, " + n[i+1] + " minus " + n[0], table: regionDeltaTable(v.Regions)})
	}
	for i, v := range c.Variants {
		pair := n[i+1] + " and " + n[0]
		out = append(out,
			titled{title: moveTitle(v.Structures, n[i+1], n[0]), table: moveTable(v.Structures)},
			titled{title: "What makes up the uncertainty of those moves, standard, mm, " + pair, table: moveBudgetTable(v.Structures), text: moveBudgetWords(v.Structures), detail: true},
			titled{title: "Matches of the parts, " + pair + ", and whether the moves agree (consistency: how far they differ over what their ± allow, within its limit)", table: matchTable(v.Structures), detail: true})
		if t := v.TopView; t != nil {
			out = append(out, titled{title: "Edges of the wake, top view, " + n[i+1] + " minus " + n[0] + ", mm inboard", table: topShiftTable(t)})
		}
	}
	if list, _ := ledgers(c, n); len(list) > 0 {
		out = append(out,
			titled{title: "Where the difference sits, m² of drag area", table: exchangeTable(c, n)},
			titled{title: "The difference gathered along span and height, m²", table: cumulativeTable(c, n), text: exchangeWords(list), detail: true})
	}
	for i, v := range c.Variants {
		out = append(out, titled{title: "Areas above a threshold, " + n[i+1] + " minus " + n[0], table: areaDeltaTable(v.Areas), detail: true})
	}
	return out
}

// changeBudgets are what makes up the uncertainty of the changes of drag.
func changeBudgets(c *compare.Comparison, n []string) []titled {
	var out []titled
	for i, v := range c.Variants {
		if v.Delta != nil {
			out = append(out, budgetTable("Uncertainty of the change of drag area, "+n[i+1]+" minus "+n[0]+", m²", &v.Delta.Budget))
		}
	}
	return out
}

// topShiftTable lists the moves of the edges of a top view.
func topShiftTable(t *shift.TopShift) *Table {
	g := NewTable(">x m", ">left edge", ">right edge", ">change of width")
	for _, c := range every(t.Columns, topRows) {
		if c.Left != nil || c.Right != nil {
			g.Add(fixed(c.X, lengthDecimals), known(c.Left, 1000, signed, 0), known(c.Right, 1000, signed, 0), known(c.Width, 1000, signed, 0))
		}
	}
	return g
}
