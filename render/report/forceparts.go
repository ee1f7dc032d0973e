package report

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake/force"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// forcePartsTitle heads the ledger of a variant's force by part of the vehicle.
func forcePartsTitle(variant, baseline string) string {
	return "Force by part, " + variant + " minus " + baseline + ", m² of drag area"
}

// forceParts is that ledger: parts, the total, and what a device carries itself and does to the
// rest; empty for none. Each column adds up in its last digit.
func forceParts(l *force.Ledger) *Table {
	g := NewTable("part", ">baseline", ">variant", ">change", ">±", ">%", ">counts", "verdict", ">record needed")
	if l == nil {
		return g
	}
	d := decimalsFor(l.Total.Expanded, areaDecimals)
	base, variant, change := partColumn(l, d, fixed, baselineOf), partColumn(l, d, fixed, func(c *force.Change) *float64 { return c.Variant }), partColumn(l, d, signed, deltaOf)
	percent := partColumn(l, 1, signed, func(c *force.Change) *float64 { return c.Percent })
	counts := partColumn(l, countDecimals, signed, func(c *force.Change) *float64 { return c.Counts })
	for i, r := range ledgerLines(l) {
		g.Add(r.name, base[i], variant[i], change[i], strings.Replace(r.expanded(d), "at least", "≥", 1), percent[i], counts[i], r.Verdict, r.needs())
	}
	return g
}

func baselineOf(c *force.Change) *float64 { return c.Baseline }

func deltaOf(c *force.Change) *float64 { return &c.Delta }

// partColumn are the cells of a number of each line, which add up.
func partColumn(l *force.Ledger, decimals int, write func(float64, int) string, of func(*force.Change) *float64) []string {
	values := addingUp(l, decimals, of)
	out := make([]string, len(values))
	for i, r := range ledgerLines(l) {
		switch {
		case of(&l.Total) == nil:
		case of(r.Change) == nil:
			out[i] = "–"
		default:
			out[i] = write(values[i], decimals)
		}
	}
	return out
}

// ledgerLine is a line of the ledger by part as it is printed.
type ledgerLine struct {
	*force.Change
	name string
}

// ledgerLines are the parts and the total, then all but what one of the two has alone, and that
// together where it is more than a part.
func ledgerLines(l *force.Ledger) []ledgerLine {
	var out []ledgerLine
	for i := range l.Parts {
		out = append(out, ledgerLine{&l.Parts[i], clean(l.Parts[i].Name)})
	}
	out = append(out, ledgerLine{&l.Total, "total"})
	if l.Itself != nil {
		var names []string
		for _, c := range l.Parts {
			if c.Baseline == nil || c.Variant == nil {
				names = append(names, clean(c.Name))
			}
		}
		out = append(out, ledgerLine{l.Others, "  all but " + strings.Join(names, ", ")})
		if len(names) > 1 {
			out = append(out, ledgerLine{l.Itself, "  " + strings.Join(names, ", ")})
		}
	}
	return out
}

// expanded is the ± of a line, with more decimals than those given where it would print as zero; "at least" where the
// record knows no more.
func (r *ledgerLine) expanded(decimals int) string {
	if !(r.Expanded > 0) {
		return ""
	}
	s := fixed(r.Expanded, decimals)
	if strings.Trim(s, "0.") == "" {
		s = fixed(r.Expanded, decimalsFor(r.Expanded, decimals))
	}
	if r.AtLeast {
		return "at least " + s
	}
	return s
}

// needs is the length of record that would judge a line, where the one there is too short or drifts.
func (r *ledgerLine) needs() string {
	switch {
	case r.Doubt == "":
		return ""
	case r.Needed == 0:
		return "does not change"
	case r.Doubt == uncertainty.RecordDrifts:
		return "drifts, " + seconds(r.Needed)
	}
	return seconds(r.Needed)
}

// seconds rounds up a time to two digits.
func seconds(t float64) string {
	p := math.Pow(10, math.Floor(math.Log10(t))-1)
	return strconv.FormatFloat(math.Ceil(t/p-1e-9)*p, 'g', 4, 64) + " s"
}

// addingUp is a column of the ledger by part in the order of ledgerLines, rounded so that the parts
// add up to the rounded total: where they do not, those that are rounded furthest go to the other
// side. What one of the two has alone and the rest are the sums of what their parts print.
func addingUp(l *force.Ledger, decimals int, of func(*force.Change) *float64) []float64 {
	scale := math.Pow(10, float64(decimals))
	var out, short []float64
	var total, alone float64
	for i := range l.Parts {
		v := 0.0
		if x := of(&l.Parts[i]); x != nil {
			v = *x * scale
		}
		total += v
		out, short = append(out, math.Round(v)), append(short, v-math.Round(v))
	}
	total = math.Round(total)
	for off := total - floats.Sum(out); math.Abs(off) >= 0.5; off = total - floats.Sum(out) {
		step := math.Copysign(1, off)
		k := 0
		for i := range short {
			if step*short[i] > step*short[k] {
				k = i
			}
		}
		out[k] += step
		short[k] -= step
	}
	for i, c := range l.Parts {
		if c.Baseline == nil || c.Variant == nil {
			alone += out[i]
		}
	}
	out = append(out, total, total-alone, alone)[:len(ledgerLines(l))]
	floats.Scale(1/scale, out)
	return out
}

// forcePartTables are the ledgers of all variants of a study.
func forcePartTables(o *study.Outcome) []*Table {
	var out []*Table
	for _, l := range o.ByPart {
		out = append(out, forceParts(l.Ledger).titled(forcePartsTitle(clean(l.Configuration), clean(o.Baseline)), ""))
	}
	return out
}

// forceSummary has all variants of a study in one table: the baseline's parts and their changes,
// and below it what "at least" means; the force beside the wake without parts.
func forceSummary(o *study.Outcome) *Table {
	if len(o.ByPart) == 0 {
		return forceTable(o)
	}
	const decimals = areaDecimals - 1
	t := NewTable("part", ">"+clean(o.Baseline)).titled("Force by part, m² of drag area: "+clean(o.Baseline)+", and the changes", "")
	for _, l := range o.ByPart {
		t.heads(">" + clean(l.Configuration))
	}
	needed := 0.0
	for v, l := range o.ByPart {
		base, delta := partColumn(l.Ledger, decimals, fixed, baselineOf), partColumn(l.Ledger, decimals, signed, deltaOf)
		for i, r := range ledgerLines(l.Ledger)[:len(l.Parts)+1] {
			cells := t.row(r.name)
			if r.Baseline != nil {
				cells[1] = base[i]
			}
			cells[2+v] = delta[i]
			if u := r.expanded(decimals); u != "" {
				cells[2+v] += " ± " + u
			}
			if r.AtLeast {
				needed = max(needed, r.Needed)
			}
		}
	}
	// The total last, whatever parts a later variant has.
	k := slices.IndexFunc(t.Rows, func(r []string) bool { return r[0] == "total" })
	t.Rows = append(slices.Delete(slices.Clone(t.Rows), k, k+1), t.Rows[k])
	t.Foot = "± is by the force's own records; the wake's change above has a ± of its own."
	if needed > 0 {
		t.Foot += " ± at least: not judged, since the record is too short for this part or drifts; " + seconds(needed) + " would be enough for all."
	}
	return t
}
