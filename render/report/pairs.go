package report

import (
	"slices"

	"wakeledger/grid"
	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// pairTable lists the changes of drag between any two of three or more configurations: those of
// one station, and those pooled over several.
func pairTable(pairs []compare.Between, pooled []study.Pooled) *Table {
	t := NewTable("variant", "minus", ">Δ, m²", ">±", "verdict", ">pooled, m²", ">±", "verdict", "stations")
	if len(pairs) < 2 {
		return t
	}
	for _, b := range pairs {
		cells := append([]string{clean(b.Of), clean(b.Minus)}, changed(b.Delta)...)
		if p := pooledOf(pooled, b.Of, b.Minus); p != nil {
			cells = append(append(cells, areaCells(p.Difference, p.Expanded, p.Judgement)...), agreement(p, b.Delta.Expanded))
		}
		t.Add(cells...)
	}
	return t
}

func pooledOf(list []study.Pooled, of, minus string) *study.Pooled {
	if i := slices.IndexFunc(list, func(p study.Pooled) bool { return p.Of == of && p.Minus == minus }); i >= 0 {
		return &list[i]
	}
	return nil
}

// studyPairs is pairTable of a study at the quoted station.
func studyPairs(o *study.Outcome) *Table {
	st := stationOf(o, o.Headline)
	if st == nil || st.Comparison == nil {
		return &Table{}
	}
	t := pairTable(st.Comparison.Pairs, o.Pooled).titled("Any two configurations, m² of drag area at "+clean(st.Name), "")
	if len(o.Pooled) > 0 && len(t.Rows) > 0 {
		t.Foot = "Pooled over all stations whose window holds the wake. " + whyWider
	}
	return t
}

// whyWider is why stations together need not know a change better than one of them.
const whyWider = "Errors common to a run's stations (time average, run to run, reference) do not shrink with their number, and each station adds its own: the pooled ± can exceed that of one."

// agreement says how the stations of a pooled change stand to each other: beside what is of each by
// itself, and where that is too little, beside the ± of the quoted change.
func agreement(p *study.Pooled, quoted float64) string {
	lo, hi := p.Difference, p.Difference
	for _, s := range p.Stations {
		lo, hi = min(lo, s.Difference), max(hi, s.Difference)
	}
	switch {
	case p.Agree:
		return "agree"
	case hi-lo <= quoted:
		return "agree within ±"
	}
	return "differ"
}

// pooledFinding is the change of a variant over all closing stations; none where there is one station.
func pooledFinding(o *study.Outcome, configuration string, quoted *compare.Delta) []finding {
	p := pooledOf(o.Pooled, configuration, o.Baseline)
	if p == nil || quoted == nil {
		return nil
	}
	names := grid.Fill(len(p.Stations), func(i int) string { return p.Stations[i].Station })
	b := uncertainty.Budget(p.AreaBudget)
	s := "pooled over " + joinNames(names) + ": " + p.Number(p.Difference, &b, sentenceArea) + ": " + clean(p.Verdict)
	if p.ChiSquare != nil {
		s += "; the stations " + agreement(p, quoted.Expanded)
	}
	return []finding{{"", clean(p.Verdict), s}}
}
