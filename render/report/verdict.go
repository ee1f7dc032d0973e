package report

import (
	"cmp"
	"fmt"
	"math"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// verdictSentence puts what is known of a variant's drag into one sentence, and its size in per cent. Its
// verdict is that of the quoted station; without one, what the regions say.
func verdictSentence(o *study.Outcome, configuration string) (f finding, percent string) {
	base := clean(o.Baseline)
	moved, seen, judged := 0, 0, 0
	for _, r := range ledgerRows(o) {
		d := r.delta
		if clean(r.configuration) != configuration || d == nil {
			continue
		}
		if r.region != nil {
			seen++
			if firm(d.Verdict) {
				moved++
			}
			if d.Verdict != uncertainty.NotJudged {
				judged++
			}
			continue
		}
		if r.station.Name != o.Headline {
			continue
		}
		size := d.Number(d.DragArea, &d.Budget, uncertainty.Format{Scale: 1, Decimals: maxDecimals, Unit: "m² of drag area"})
		if d.Percent != nil {
			percent = signed(*d.Percent, 1) + " %"
			size += ", " + percent
		}
		if d.Counts != nil {
			size += ", " + signed(*d.Counts, countDecimals) + " counts"
		}
		what, more := "drag", "more"
		if r.method() == measure.ByVelocityOnly {
			what = "momentum deficit (no drag: the pressure is not known)"
		}
		if math.Signbit(d.DragArea) {
			more = "less"
		}
		f.Verdict = clean(d.Verdict)
		switch d.Verdict {
		case uncertainty.Resolved:
			f.Text = configuration + " has " + more + " " + what + " than " + base + ": " + size
		case uncertainty.NotJudged:
			f.Text = configuration + " shows " + more + " " + what + " than " + base + ": " + size + ". Whether that is real is not judged: " + uncertainty.Words(d.Missing) + " not known"
		default:
			f.Text = "no change of " + what + " from " + base + " to " + configuration + " is resolved: " + size + ", within the uncertainty"
		}
		for _, fc := range o.Forces {
			if fc.Station == o.Headline && clean(fc.Configuration) == configuration && fc.Delta != nil {
				how := map[string]string{"agree": "agrees", "differ": "differs"}[fc.Delta.Verdict]
				f.Text += "; the force " + cmp.Or(how, "changes, not judged beside the wake") + " (" + signed(fc.Delta.Force, decimalsFor(fc.Delta.Expanded, areaDecimals)) + " m²)"
			}
		}
		f.Text += "."
		return f, percent
	}
	of := "No total drag of " + configuration + " can be compared"
	switch {
	case seen == 0:
		f.Text = "No change of drag can be stated for " + configuration + "; the notes say why."
	case judged < seen && moved == 0:
		f.Text = of + ", and of its regions " + thousands(seen-judged) + " of " + thousands(seen) + " are not judged."
	case moved == 0:
		f.Text = of + ", and no change of a region is larger than its uncertainty."
	default:
		f.Text = of + "; the local drag of " + thousands(moved) + " of " + thousands(seen) + " regions changes by more than its uncertainty."
	}
	return f, ""
}

// twoRuns says why the first ± of a change is so wide, where it rests on two runs; empty where none does.
func twoRuns(cs ...*compare.Comparison) string {
	for _, c := range cs {
		if c == nil {
			continue
		}
		for _, v := range c.Variants {
			if d := v.Delta; d != nil && d.DOF != nil && *d.DOF < 1.5 {
				return " ± is at 95 %; k = " + fixed(d.Coverage, 1) + ", not 2, because two runs leave one degree of freedom."
			}
		}
	}
	return ""
}

// leadWords are what stands below a study's title.
func leadWords(o *study.Outcome) string {
	return "Baseline " + clean(o.Baseline) + ". " + headlineWords(o) + twoRuns(comparisons(o)...)
}

// comparisons are those of all stations, the quoted one first.
func comparisons(o *study.Outcome) (cs []*compare.Comparison) {
	for _, st := range stationsInOrder(o) {
		cs = append(cs, st.Comparison)
	}
	return cs
}

// forceWords set the wakes beside the forces in a sentence: how far they are apart in all
// configurations, whether that cancels in the changes, and what it says. Empty without forces.
func forceWords(o *study.Outcome) string {
	if len(o.Forces) == 0 {
		return ""
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	least, most := math.Inf(1), 0.0
	changes, verdicts := 0.0, map[string]bool{}
	for _, f := range o.Forces {
		lo, hi = min(lo, f.Difference), max(hi, f.Difference)
		percent := 100 * math.Abs(f.Difference/f.Force)
		least, most = min(least, percent), max(most, percent)
		verdicts[f.Verdict] = true
		if f.Delta != nil {
			changes = max(changes, math.Abs(f.Delta.Difference))
			verdicts["change "+f.Delta.Verdict] = true
		}
	}
	size := func(a, b float64, decimals int) string {
		x, y := fixed(min(a, b), decimals), fixed(max(a, b), decimals)
		if x == y {
			return y
		}
		return x + " to " + y
	}
	const d = areaDecimals - 1
	s := "The wake reads between " + signed(lo, d) + " and " + signed(hi, d) + " m² beside the force"
	if lo*hi > 0 {
		way := map[bool]string{true: "below", false: "above"}[hi < 0]
		s = "The wake reads " + size(math.Abs(lo), math.Abs(hi), d) + " m² (" + size(least, most, 1) + " %) " + way + " the force"
		if len(o.Forces) > 1 {
			s += " in all configurations"
		}
	}
	switch {
	case !verdicts["differ"] && !verdicts[uncertainty.NotJudged]:
		s += ", within the uncertainty"
	case verdicts["differ"]:
		s += ", more than its uncertainty"
	}
	if lo*hi > 0 && changes < min(math.Abs(lo), math.Abs(hi))/2 && verdicts["change agree"] && !verdicts["change differ"] {
		s += "; it cancels in differences"
	}
	for _, f := range o.Forces {
		if f.Verdict == uncertainty.NotJudged {
			return s + fmt.Sprintf(". Whether it is real is not judged: %s not known.", uncertainty.Words(f.Missing)+map[bool]string{true: " is", false: " are"}[len(f.Missing) == 1])
		}
	}
	return s + "."
}
