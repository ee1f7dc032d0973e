package report

import (
	"io"
	"math"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/force"
	"wakeledger/wake/measure"
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
			v.Regions = []compare.RegionDelta{{Name: "wheel", Delta: sampleDelta(-0.03, 0.002, uncertainty.NotJudged)}, {Name: "Side", Delta: sampleDelta(0.01, 0.02, uncertainty.NotResolved)}}
			v.Exchange = &parts.Ledger{Breakdowns: []parts.Breakdown{{By: "structures", Entries: []parts.Entry{{Name: "wheel", Delta: -0.07}}}, {By: "regions", Rest: &parts.Entry{Name: "rest", Delta: -0.05}}}}
		}
	}
	o.ByPart = []study.ForceLedger{{Configuration: variant, Ledger: &force.Ledger{Parts: []force.Change{told("body", 1.5, 1.51, 0.02, uncertainty.NotResolved)}, Total: told("total", 2, 2.01, 0.02, uncertainty.NotResolved)}}}
	const want = "In the wake (far wake, x = 2.91 m), m²: wheel box −0.0300 ± at least 0.0045 not judged, Side box +0.010 ± 0.045 not resolved, outside the boxes −0.050 not judged"
	if got := wakeStory(o, variant); got != want {
		t.Error(got)
	}
	v := variantOf(stationOf(o, o.Headline), variant)
	v.Regions[0].Delta.Verdict = uncertainty.NotResolved
	if got := wakeStory(o, variant); got != "In the wake (far wake, x = 2.91 m): no box is resolved" {
		t.Error(got)
	}
	v.Regions[0].Delta.Verdict = uncertainty.NotJudged
	names := map[string]bool{}
	for _, s := range storyFigure(o).Shapes {
		names[s.Text] = true
	}
	for _, want := range []string{"vehicle, from the force", "body", "total", "wheel box", "Side box", "whole plane"} {
		if !names[want] {
			t.Errorf("the chart does not have %q", want)
		}
	}
	// A summary names what the study does without, since its notes are elsewhere.
	o.Warnings = []wake.Warning{{Code: "no-station", Where: "stray.csv", Text: "the plane at x = 4 m belongs to no station and is left out"}}
	if text := strings.Join(strings.Fields(write(t, func(w io.Writer) error { return StudySummary(w, o) })), " "); strings.Count(text, want) != 1 || strings.Count(text, "Force by part") != 1 ||
		!strings.Contains(text, "stray.csv: the plane at x = 4 m belongs") || strings.Contains(text, "On the study") {
		t.Errorf("the summary tells it otherwise: %s", text)
	}
}

// How far a part moved is by one measure, with its ± and without a sign; where others differ, how far they go, and that the ±
// is at least that where it does not hold them.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		moves   []float64 // mm inboard, the headline first
		agree   bool
		verdict string
		want    string
	}{
		{[]float64{21, 87}, false, uncertainty.Resolved, "21.0 ± at least 3.8 mm inboard (edge; 2 measures disagree: 21.0 to 87.0)"},
		{[]float64{-54, -11}, false, uncertainty.NotJudged, "54 mm outboard (edge; 2 measures disagree: 11 to 54)"},
		{[]float64{30.4, 31}, true, uncertainty.Resolved, "30.4 ± 3.8 mm inboard"}, {[]float64{-30.4}, true, uncertainty.NotJudged, "30 mm outboard"},
		{[]float64{0.7, 1, 14}, false, uncertainty.NotJudged, "0.7 mm inboard (edge; 3 measures disagree: 0.7 to 14.0)"},
		{nil, true, uncertainty.NotResolved, "not measured"}, {[]float64{-3, 5}, false, uncertainty.NotResolved, "3.0 ± at least 3.8 mm outboard (edge; 2 measures disagree: −5.0 to 3.0)"},
	} {
		s := &shift.Shift{Agree: c.agree, Judgement: judged(c.verdict, 0.012)}
		if c.moves != nil && math.Abs(c.moves[0]) < 1 {
			s.Judgement = judged(c.verdict, 0.0004)
		}
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

// A row of a short table has the move of a part to a side where nothing is inboard, and says so, and its span
// has the decimals of the move, which lies in it.
func TestPartRows(t *testing.T) {
	side := func(name string, agree bool, mm ...float64) *shift.Shift {
		s := &shift.Shift{A: name, Agree: agree, Judgement: judged(uncertainty.NotJudged, 0.0004)}
		for _, x := range mm {
			m := shift.Move{Measure: shift.MeasureEdge, Lateral: -x / 1000, LengthBudget: uncertainty.LengthBudget{Expanded: 0.0003}}
			if name != "centre mid" {
				m.Inboard = ptr(x / 1000)
			}
			s.Moves = append(s.Moves, m)
		}
		s.Headline = &s.Moves[0]
		return s
	}
	v := &compare.Variant{Survey: &measure.Result{}, Structures: &compare.Structures{Shifts: []*shift.Shift{side("centre mid", true, -0.94), side("left low", false, -1.02, 0.4)}}}
	var got []string
	for _, r := range variantFindings("", v, &notes{}).Rows.Rows {
		got = append(got, r[0]+" "+r[4])
	}
	if want := "part: centre mid (to the right) +0.94, part: left low −1.02 (−1.02 to 0.40)"; strings.Join(got, ", ") != want {
		t.Error(got)
	}
}
