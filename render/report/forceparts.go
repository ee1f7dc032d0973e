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
// total; empty for none. The printed changes of the parts add up to the printed total: each is the difference of
// rounded running sums, at most half a digit from its own rounding.
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
	var sum, printed float64
	scale := math.Pow(10, float64(d))
	for i := range l.Parts {
		c := &l.Parts[i]
		sum += c.Delta
		delta := math.Round(sum*scale)/scale - printed
		printed += delta
		row(clean(c.Name), c, delta)
	}
	row("total", &l.Total, l.Total.Delta)
	if l.Itself != nil {
		row("  the device itself", l.Itself, l.Itself.Delta)
		row("  all else", l.Others, l.Others.Delta)
	}
	return g
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
