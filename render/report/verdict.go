package report

import (
	"math"
	"strings"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// verdictSentence puts what is known of a variant's drag into one sentence. Its
// verdict is that of the quoted station; without one, what the regions say.
func verdictSentence(o *study.Outcome, configuration string) sentenceView {
	base := clean(o.Baseline)
	for _, r := range ledgerRows(o) {
		if r.station.Name != o.Headline || clean(r.configuration) != configuration || r.region != nil || r.delta == nil {
			continue
		}
		d := r.delta
		size := signedPlusMinus(d.DragArea, d.Expanded, areaDecimals, "m² of drag area")
		if d.Percent != nil {
			size += ", " + signed(*d.Percent, 1) + " %"
		}
		if d.Counts != nil {
			size += ", " + signed(*d.Counts, countDecimals) + " counts"
		}
		if d.Verdict == uncertainty.NotJudged {
			size = strings.Replace(size, " ± "+fixed(d.Expanded, decimalsFor(d.Expanded, areaDecimals)), "", 1)
		}
		s := sentenceView{Verdict: clean(d.Verdict), Firm: firm(d.Verdict)}
		if d.Percent != nil {
			s.Size = signed(*d.Percent, 1) + " %"
		}
		what, more := "drag", "more"
		if r.method() == "velocity_only" {
			what = "momentum deficit (no drag: the pressure is not known)"
		}
		if math.Signbit(d.DragArea) {
			more = "less"
		}
		switch d.Verdict {
		case uncertainty.Resolved:
			s.Text = configuration + " has " + more + " " + what + " than " + base + ": " + size
		case uncertainty.NotJudged:
			s.Text = configuration + " shows " + more + " " + what + " than " + base + ": " + size + ". Whether that is real is not judged: " + uncertainty.Words(d.Missing) + " not known"
		default:
			s.Text = configuration + " and " + base + " cannot be told apart by their " + what + ": " + size + ", which lies within the uncertainty"
		}
		for _, f := range o.Forces {
			if f.Station == o.Headline && clean(f.Configuration) == configuration && f.Delta != nil {
				s.Text += "; the force changes by " + signed(f.Delta.Force, decimalsFor(f.Delta.Expanded, areaDecimals)) + " m², and they " + clean(f.Delta.Verdict)
			}
		}
		s.Text += "."
		return s
	}
	moved, seen, judged := 0, 0, 0
	for _, r := range ledgerRows(o) {
		if clean(r.configuration) == configuration && r.region != nil && r.delta != nil {
			if seen++; firm(r.delta.Verdict) {
				moved++
			}
			if r.delta.Verdict != uncertainty.NotJudged {
				judged++
			}
		}
	}
	switch {
	case seen == 0:
		return sentenceView{Text: "No change of drag can be stated for " + configuration + "; the notes say why."}
	case judged < seen && moved == 0:
		return sentenceView{Text: "No total drag of " + configuration + " can be compared, and of its regions " + thousands(seen-judged) + " of " + thousands(seen) + " are not judged."}
	case moved == 0:
		return sentenceView{Text: "No total drag of " + configuration + " can be compared, and no change of a region is larger than its uncertainty."}
	}
	return sentenceView{Text: "No total drag of " + configuration + " can be compared; the local drag of " + thousands(moved) + " of " + thousands(seen) + " regions changes by more than its uncertainty."}
}
