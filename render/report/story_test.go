package report

import (
	"io"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/compare"
	"wakeledger/wake/force"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// told is a change of a part for a ledger.
func told(name string, base, variant, u float64, verdict string) force.Change {
	return force.Change{Name: name, Baseline: &base, Variant: &variant, Delta: variant - base, AreaBudget: uncertainty.AreaBudget{Expanded: u}, Judgement: uncertainty.Judgement{Verdict: verdict}}
}

// The wake's side of it: regions with their verdicts, then the rest, whose change nothing judges.
func TestStory(t *testing.T) {
	o := sampleOutcome()
	variant := ""
	for i := range o.Stations {
		st := &o.Stations[i]
		if st.Name == o.Headline {
			variant = st.Variants[0]
			v := &st.Comparison.Variants[0]
			v.Regions = []compare.RegionDelta{{Name: "wheel", Delta: change(-0.03, 0.002, uncertainty.NotJudged)}, {Name: "Side", Delta: change(0.01, 0.02, uncertainty.NotResolved)}}
			v.Exchange = &parts.Ledger{Breakdowns: []parts.Breakdown{{By: "structures", Entries: []parts.Entry{{Name: "wheel", Delta: -0.07}}}, {By: "regions", Rest: &parts.Entry{Name: "rest", Delta: -0.05}}}}
		}
	}
	o.ByPart = []study.ForceLedger{{Configuration: variant, Ledger: &force.Ledger{Parts: []force.Change{told("body", 1.5, 1.51, 0.02, uncertainty.NotResolved)}, Total: told("total", 2, 2.01, 0.02, uncertainty.NotResolved)}}}
	const want = "In the wake (far wake, x = 2.91 m): not resolved: Side box +0.010 ± 0.045 m²; wheel box −0.030 ± at least 0.005 m² (not judged); outside the boxes −0.050 m² (not judged)"
	if got := wakeStory(o, variant); got != want {
		t.Error(got)
	}
	f := storyFigure(o)
	if f == nil {
		t.Fatal("no chart")
	}
	names := map[string]bool{}
	for _, s := range f.drawing.shapes {
		names[s.Text] = true
		for _, p := range s.Points {
			if !(p[0] >= -1 && p[0] <= f.drawing.w+1 && p[1] >= -1 && p[1] <= f.drawing.h+1) {
				t.Errorf("%q at %v leaves the box of %g × %g", s.Class, p, f.drawing.w, f.drawing.h)
			}
		}
	}
	for _, want := range []string{"body", "total", "wheel box", "Side box", "outside the boxes", "whole plane", "resolved", "not resolved", "not judged"} {
		if !names[want] {
			t.Errorf("the chart does not have %q", want)
		}
	}
	if text := strings.Join(strings.Fields(write(t, func(w io.Writer) error { return StudySummary(w, o) })), " "); strings.Count(text, want) != 1 || strings.Count(text, "Force by part") != 1 {
		t.Errorf("the summary tells it otherwise: %s", text)
	}
	o.ByPart = nil
	if storyFigure(o) != nil {
		t.Error("a chart without a force by part")
	}
}

// Of very many parts the largest are drawn, and what the others are together.
func TestStoryOfManyParts(t *testing.T) {
	var cs []force.Change
	for i := range 60 {
		cs = append(cs, told(string(rune('A'+i)), 1, 1+0.001*float64(i), 0.0001, uncertainty.Resolved))
	}
	l := &force.Ledger{Parts: cs, Total: told("total", 2, 3.77, 0.02, uncertainty.Resolved)}
	o := &study.Outcome{Baseline: "bare", Configurations: []study.ConfigurationOutcome{{Name: "fairing"}}, ByPart: []study.ForceLedger{{Configuration: "fairing", Ledger: l}}}
	f := storyFigure(o)
	var texts []string
	for _, s := range f.drawing.shapes {
		texts = append(texts, s.Text)
	}
	if f.drawing.h > 500 || !slices.Contains(texts, "48 others") || !slices.Contains(texts, "+1.128") {
		t.Errorf("height %g, %q", f.drawing.h, texts)
	}
}

// How far a part moved is by one measure, with its ± and without a sign; where others differ, how far they go.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		moves   []float64 // mm inboard, the headline first
		agree   bool
		verdict string
		want    string
	}{
		{[]float64{21, 87}, false, uncertainty.Resolved, "21.0 ± 3.8 mm inboard (edge; 2 measures do not agree: 21 to 87)"},
		{[]float64{-54, -11}, false, uncertainty.NotJudged, "54 mm outboard (edge; 2 measures do not agree: 11 to 54)"},
		{[]float64{30.4, 31}, true, uncertainty.Resolved, "30.4 ± 3.8 mm inboard"}, {[]float64{-30.4}, true, uncertainty.NotJudged, "30 mm outboard"},
		{nil, true, uncertainty.NotResolved, "not measured"}, {[]float64{-3, 5}, false, uncertainty.NotResolved, "3.0 ± 3.8 mm outboard (edge; 2 measures do not agree: −5 to 3)"},
	} {
		s := &shift.Shift{Agree: c.agree, Judgement: judged(c.verdict, 0.012)}
		for _, mm := range c.moves {
			s.Moves = append(s.Moves, shift.Move{Measure: shift.MeasureEdge, Inboard: ptr(mm / 1000), LengthBudget: uncertainty.LengthBudget{Expanded: 0.0038}})
		}
		if len(s.Moves) > 0 {
			s.Headline = &s.Moves[0]
		}
		if got := distance(s); got != c.want {
			t.Errorf("%v: %q, want %q", c.moves, got, c.want)
		}
	}
}
