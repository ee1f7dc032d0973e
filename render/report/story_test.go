package report

import (
	"io"
	"regexp"
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

// told is a change of a part for a ledger; NaN, as a nil, is a configuration without it.
func told(name string, base, variant *float64, u float64, verdict string) force.Change {
	c := force.Change{Name: name, Baseline: base, Variant: variant, Judgement: uncertainty.Judgement{Verdict: verdict}}
	for _, x := range []struct {
		v    *float64
		sign float64
	}{{base, -1}, {variant, 1}} {
		if x.v != nil {
			c.Delta += x.sign * *x.v
		}
	}
	c.Expanded = u
	if verdict == uncertainty.NotJudged {
		c.AtLeast, c.Doubt, c.Needed = true, uncertainty.RecordShort, 8.81
	}
	return c
}

func ledgerOf(total float64, verdict string, cs ...force.Change) *force.Ledger {
	l := &force.Ledger{Parts: cs, Total: told("total", ptr(2), ptr(2+total), 0.02, verdict)}
	var alone, both float64
	for _, c := range cs {
		if c.Baseline == nil || c.Variant == nil {
			alone += c.Delta
			l.Itself = &force.Change{Name: "itself"}
		} else {
			both += c.Delta
		}
	}
	if l.Itself != nil && alone != total {
		l.Itself.Delta = alone
		others := told("the rest", ptr(2), ptr(2+both), 0.01, uncertainty.Resolved)
		l.Others = &others
	} else {
		l.Itself = nil
	}
	return l
}

// The paragraph on where the change is has the words that the verdicts allow, whatever the parts
// are called and whichever configuration has them.
func TestStory(t *testing.T) {
	const yes, no, open = uncertainty.Resolved, uncertainty.NotResolved, uncertainty.NotJudged
	for name, c := range map[string]struct {
		l    *force.Ledger
		want string
	}{
		"a device with thrust": {
			ledgerOf(-0.1, yes, told("body", ptr(1.5), ptr(1.6), 0.01, yes), told("front wheels", ptr(0.45), ptr(0.27), 0.02, open), told("device", nil, ptr(-0.02), 0.006, open)),
			"Force by part: The device itself, which bare lacks, pushes forward by 0.020 ± at least 0.006 m² (not judged). Elsewhere 0.180 ± at least 0.020 m² less on the front wheels (not judged), " +
				"0.100 ± 0.010 m² more on the body (resolved); together −0.080 ± 0.010 m² (resolved). In all −0.100 ± 0.020 m² (resolved). 8.9 s of force record would be enough for every part.",
		},
		"a device with drag": {
			ledgerOf(0.01, no, told("body", ptr(1.5), ptr(1.49), 0.02, no), told("device", nil, ptr(0.02), 0.0004, yes)),
			"Force by part: The device itself, which bare lacks, has a drag of 0.020 ± 0.00040 m² (resolved). Elsewhere no resolved change on the body (−0.010 ± 0.020 m²). In all +0.010 ± 0.020 m² (not resolved).",
		},
		"a device without": {
			ledgerOf(0.001, no, told("body", ptr(1.5), ptr(1.5), 0.02, no), told("device", nil, ptr(0.001), 0.004, no)),
			"Force by part: The device itself, which bare lacks, has no resolved drag: +0.001 ± 0.004 m². Elsewhere no resolved change on the body (0.000 ± 0.020 m²). In all +0.001 ± 0.020 m² (not resolved).",
		},
		"what the baseline has alone": {
			ledgerOf(-0.04, yes, told("Zone 3", ptr(1.5), ptr(1.51), 0.002, yes), told("ürn", ptr(0.05), nil, 0.004, yes)),
			"Force by part: The ürn of bare, which fairing lacks, is −0.050 ± 0.004 m² (resolved). Elsewhere 0.010 ± 0.002 m² more on Zone 3 (resolved). In all −0.040 ± 0.020 m² (resolved).",
		},
		"the same parts": {
			ledgerOf(0.03, yes, told("a", ptr(1), ptr(1.01), 0.002, yes), told("b", ptr(1), ptr(1.02), 0, open)),
			"Force by part: 0.020 m² more on the b (not judged), 0.010 ± 0.002 m² more on the a (resolved). In all +0.030 ± 0.020 m² (resolved). 8.9 s of force record would be enough for every part.",
		},
	} {
		o := &study.Outcome{Baseline: "bare", Configurations: []study.ConfigurationOutcome{{Name: "bare"}, {Name: "fairing"}}, ByPart: []study.ForceLedger{{Configuration: "fairing", Ledger: c.l}}}
		if got := story(o, "fairing"); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, c.want)
		}
		if got := story(o, "bare"); got != "" {
			t.Errorf("%s: of the baseline %q", name, got)
		}
	}
}

// The wake's side of it: regions with their verdicts, then the rest, whose change nothing judges.
func TestStoryOfTheWake(t *testing.T) {
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
	o.ByPart = []study.ForceLedger{{Configuration: variant, Ledger: ledgerOf(0.01, uncertainty.NotResolved, told("body", ptr(1.5), ptr(1.51), 0.02, uncertainty.NotResolved))}}
	got := story(o, variant)
	if !regexp.MustCompile(`In the wake \(.*, x = 2\.91 m\) no change is resolved in Side box \+0\.010 ± 0\.045 m²; wheel box −0\.030 ± at least 0\.005 m² \(not judged\); outside the boxes −0\.050 m² \(not judged\)\.`).MatchString(got) {
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
	if n := strings.Count(write(t, func(w io.Writer) error { return StudySummary(w, o) }), "Force by part: "); n != 1 {
		t.Errorf("the summary tells the story %d times", n)
	}
	o.ByPart = nil
	if storyFigure(o) != nil || story(o, variant) != "" {
		t.Error("a story without a force by part")
	}
}

// Of very many parts the largest are told and drawn, and what the others are together.
func TestStoryOfManyParts(t *testing.T) {
	var cs []force.Change
	for i := range 60 {
		cs = append(cs, told(string(rune('A'+i)), ptr(1), ptr(1+0.001*float64(i)), 0.0001, uncertainty.Resolved))
	}
	l := ledgerOf(1.77, uncertainty.Resolved, cs...)
	o := &study.Outcome{Baseline: "bare", Configurations: []study.ConfigurationOutcome{{Name: "fairing"}}, ByPart: []study.ForceLedger{{Configuration: "fairing", Ledger: l}}}
	if got := story(o, "fairing"); strings.Count(got, " more on ") != mostShares || !strings.Contains(got, ", 48 more parts with smaller changes. In all +1.770 ") {
		t.Error(got)
	}
	f := storyFigure(o)
	var texts []string
	for _, s := range f.drawing.shapes {
		texts = append(texts, s.Text)
	}
	if f.drawing.h > 500 || !slices.Contains(texts, "48 others") || !slices.Contains(texts, "+1.128") {
		t.Errorf("height %g, %q", f.drawing.h, texts)
	}
}

// How far a part moved has one sense and no sign, and a range where its measures differ.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		moves   []float64 // mm inboard, the headline first
		agree   bool
		verdict string
		want    string
	}{
		{[]float64{21, 87}, false, uncertainty.Resolved, "21 to 87 mm inboard"}, {[]float64{-54, -11}, false, uncertainty.Resolved, "11 to 54 mm outboard"},
		{[]float64{0.2, -12}, false, uncertainty.NotResolved, "0 to 12 mm outboard"}, {[]float64{30.4, 31}, true, uncertainty.Resolved, "30.4 ± 3.8 mm inboard"},
		{[]float64{-30.4}, true, uncertainty.NotJudged, "30 mm outboard"}, {nil, true, uncertainty.NotResolved, "not measured"}, {[]float64{3, -5}, false, uncertainty.NotResolved, "5 mm outboard to 3 mm inboard"},
	} {
		s := &shift.Shift{Agree: c.agree, Judgement: uncertainty.Judgement{Verdict: c.verdict}}
		for _, mm := range c.moves {
			s.Moves = append(s.Moves, shift.Move{Inboard: ptr(mm / 1000), LengthBudget: uncertainty.LengthBudget{Expanded: 0.0038}})
		}
		if len(s.Moves) > 0 {
			s.Headline = &s.Moves[0]
		}
		if got := distance(s); got != c.want {
			t.Errorf("%v: %q, want %q", c.moves, got, c.want)
		}
	}
}
