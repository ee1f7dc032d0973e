package report

import (
	"bytes"
	"strings"
	"testing"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Any two of three configurations are told in the ledger, on the page and in CSV, pooled where they are;
// two configurations, and one station, have no such table.
func TestPairs(t *testing.T) {
	o := sampleOutcome()
	c := stationsInOrder(o)[0].Comparison
	delta := func(d float64, verdict string) *compare.Delta {
		return &compare.Delta{DragArea: d, Budget: uncertainty.Budget{Standard: 0.01, Expanded: 0.02, Coverage: 2}, Judgement: uncertainty.Judgement{Verdict: verdict}}
	}
	c.Pairs = []compare.Between{{Of: "fairing", Minus: "bare", Delta: delta(-0.0873, uncertainty.Resolved)}}
	if p := studyPairs(o); p.Shown() != nil {
		t.Errorf("two configurations: %v", p.Rows)
	}
	c.Pairs = append(c.Pairs, compare.Between{Of: "flare", Minus: "fairing", Delta: delta(0.2425, uncertainty.Resolved)})
	chi := 11.8
	o.Pooled = []study.Pooled{{
		Of: "flare", Minus: "fairing", Difference: 0.2431, ChiSquare: &chi, Stations: []study.PooledStation{{Station: "far", Difference: 0.242}, {Station: "rear", Difference: 0.250}},
		AreaBudget: uncertainty.AreaBudget{Standard: 0.01, Expanded: 0.024, Coverage: 2.4}, Judgement: uncertainty.Judgement{Verdict: uncertainty.NotResolved},
	}}
	var text, page, csv bytes.Buffer
	if err := StudyText(&text, o); err != nil {
		t.Fatal(err)
	}
	if err := PairsCSV(&csv, o); err != nil {
		t.Fatal(err)
	}
	if err := Page(&page, o, nil, nil); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"  fairing  bare     −0.087  0.020  resolved\n",
		"  flare    fairing  +0.242  0.020  resolved      +0.243  0.024  not resolved  agree within ±\n",
		"do not shrink with their number",
	} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("the ledger lacks %q", want)
		}
	}
	if !strings.Contains(page.String(), "<caption><span>Any two configurations, m² of drag area at "+o.Headline) {
		t.Error("the page lacks the table")
	}
	if rows := strings.Split(csv.String(), "\r\n"); len(rows) != 5 || !strings.HasPrefix(rows[3], "pooled,flare,fairing,not resolved,,0.2431,0.01,0.024,2.4,0.219") || !strings.HasSuffix(rows[3], ",,11.8") {
		t.Errorf("%q", rows)
	}
	o.Baseline, o.Pooled[0].Minus, o.Pooled[0].Expanded = "fairing", "fairing", 0.024
	for quoted, want := range map[float64]string{
		0.02:  "pooled over far, rear: +0.243 ± 0.024 m²: not resolved; the stations agree within ±",
		0.002: "pooled over far, rear: +0.243 ± 0.024 m²: not resolved; the stations differ",
		0.03:  "pooled over far, rear: +0.243 ± 0.024 m²: not resolved; the stations agree within ±",
	} {
		d := delta(0.24, uncertainty.Resolved)
		d.Expanded = quoted
		if got := pooledFinding(o, "flare", d); !strings.HasPrefix(got[0].Text, want) {
			t.Errorf("beside ± %g: %q", quoted, got)
		}
	}
}
