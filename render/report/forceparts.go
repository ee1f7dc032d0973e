package report

import (
	"fmt"
	"math"

	"wakeledger/wake/force"
	"wakeledger/wake/study"
)

// forcePartsTitle heads the ledger of a variant's force by part of the vehicle.
func forcePartsTitle(variant, baseline string) string {
	return "Force by part, " + variant + " minus " + baseline + ", m² of drag area"
}

// forceParts is that ledger: parts, what a device carries itself and does to the rest, and the
// total; empty for none.
func forceParts(l *force.Ledger) *Table {
	g := NewTable("part", ">baseline", ">variant", ">change", ">±", ">% of total", "verdict", ">record needed")
	if l == nil {
		return g
	}
	d := decimalsFor(l.Total.Expanded, areaDecimals)
	mean := func(v *float64) string {
		if v == nil {
			return "–"
		}
		return fixed(*v, d)
	}
	row := func(name string, c *force.Change, delta float64) {
		percent := ""
		if c.Percent != nil {
			percent = signed(*c.Percent, 1)
		}
		u, needs := expandedText(c.Expanded, d), ""
		if c.Needed > 0 {
			u, needs = "", fmt.Sprintf("%.0f s", c.Needed)
		}
		g.Add(name, mean(c.Baseline), mean(c.Variant), signed(delta, d), u, percent, c.Verdict, needs)
	}
	for i, delta := range roundedParts(l, d) {
		row(clean(l.Parts[i].Name), &l.Parts[i], delta)
	}
	row("total", &l.Total, l.Total.Delta)
	if l.Itself != nil {
		row("  the device itself", l.Itself, l.Itself.Delta)
		row("  all else", l.Others, l.Others.Delta)
	}
	return g
}

// roundedParts are the changes of the parts, rounded to decimals so that they add up to the rounded
// total: each is the difference of rounded running sums.
func roundedParts(l *force.Ledger, decimals int) []float64 {
	var out []float64
	var sum, printed float64
	scale := math.Pow(10, float64(decimals))
	for _, c := range l.Parts {
		sum += c.Delta
		delta := math.Round(sum*scale)/scale - printed
		printed += delta
		out = append(out, delta)
	}
	return out
}

// forcePartTables are the ledgers of all variants of a study.
func forcePartTables(o *study.Outcome) []namedGrid {
	var out []namedGrid
	for _, l := range o.ByPart {
		out = append(out, namedGrid{forcePartsTitle(clean(l.Configuration), clean(o.Baseline)), forceParts(l.Ledger)})
	}
	return out
}

type namedGrid struct {
	title string
	grid  *Table
}

// forceSummary has all variants of a study in one table: the baseline's parts and their changes,
// with ± where they are judged.
func forceSummary(o *study.Outcome) *Table {
	if len(o.ByPart) == 0 {
		return forceTable(o)
	}
	head := []string{"part", ">" + clean(o.Baseline)}
	var names []string
	cells := map[string][]string{}
	base := map[string]string{}
	const decimals = areaDecimals - 1
	row := func(v int, c *force.Change, delta float64) {
		if cells[c.Name] == nil {
			names, cells[c.Name] = append(names, c.Name), make([]string, len(o.ByPart))
		}
		if c.Baseline != nil {
			base[c.Name] = fixed(*c.Baseline, decimals)
		}
		s := signed(delta, decimals) + ", not judged"
		if c.Needed == 0 {
			s = signed(delta, decimals) + " ± " + expandedText(c.Expanded, decimals)
		}
		cells[c.Name][v] = s
	}
	for v, l := range o.ByPart {
		head = append(head, ">"+clean(l.Configuration))
		for i, d := range roundedParts(l.Ledger, decimals) {
			row(v, &l.Parts[i], d)
		}
	}
	for v, l := range o.ByPart {
		row(v, &l.Total, l.Total.Delta)
	}
	t := NewTable(head...)
	for _, n := range names {
		t.Add(append([]string{clean(n), base[n]}, cells[n]...)...)
	}
	return t
}
