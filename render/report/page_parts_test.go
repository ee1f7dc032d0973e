package report

import (
	"io"
	"regexp"
	"strings"
	"testing"

	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// sampleMove is a move of the right wheel's part at a station: the four measures with
// a budget of two items each, of which the time average is the larger.
func sampleMove(position float64) *shift.Shift {
	m := &shift.Shift{
		A: "right low outer", B: "right low outer", Position: position, Side: "right", Threshold: 0.1, Birge: 0.7, Limit: 1.61, Agree: true,
		DragArea: ptr(-0.0519), DragPercent: ptr(-8.8), Judgement: uncertainty.Judgement{Verdict: uncertainty.Resolved},
		Headline: &shift.Move{LengthBudget: uncertainty.LengthBudget{States: []uncertainty.State{{Category: uncertainty.RunToRun, How: uncertainty.Unknown}}}},
	}
	for k, name := range []string{shift.MeasureCentroid, shift.MeasureEdge, shift.MeasureProfile, shift.MeasureRegistration} {
		in := 0.0141 + 0.01*float64(k)
		m.Moves = append(m.Moves, shift.Move{
			Measure: name, Lateral: -in, Inboard: &in, LengthBudget: uncertainty.LengthBudget{Standard: 0.005, Expanded: 0.01, Items: []uncertainty.Item{
				{Name: "sample noise", Category: uncertainty.Sampling, Kind: "random", Standard: 0.003}, {Name: "time average", Category: uncertainty.TimeAverage, Kind: "random", Standard: 0.0041 - 0.001*float64(k)},
			}},
		})
	}
	return m
}

// partsOutcome is the sample with parts of the wake at its two stations.
func partsOutcome() *study.Outcome {
	o := sampleOutcome()
	sentence := "With fairing, the right low outer wake at x = −0.58 m lies 17 mm inboard of where it is with bare (± 9 mm, 95 %; all 4 measures agree)."
	first, second := sampleMove(-0.58), sampleMove(2.91)
	for k, m := range []*shift.Shift{first, second} {
		o.Stations[k].Comparison.Variants[0].Structures = &compare.Structures{
			Match: &parts.Matching{Pairs: []parts.MatchPair{{A: m.A, B: m.B, Overlap: 0.93, Distance: 0.0309, Score: 0.97}}}, Shifts: []*shift.Shift{m},
			Sentences: []compare.Sentence{{Structure: m.A, Verdict: m.Verdict, Text: strings.Replace(sentence, "−0.58", []string{"−0.58", "2.91"}[k], 1)}},
		}
	}
	o.Paths = []study.Paths{{Configuration: "bare", Paths: []parts.Path{{Name: "right low outer", Begin: "first station", End: "right low outer merges into centre low (94 % of its area)", Points: []parts.PathPoint{
		{Position: -0.58, Structure: "right low outer", Centroid: [2]float64{0.987, 0.711}, Spread: [2]float64{0.187, 0.451}, Area: 0.962, DragArea: ptr(0.5880), RightEdge: ptr(1.371)},
		{Position: 2.91, Structure: "right mid outer", Centroid: [2]float64{1.341, 0.151}, Spread: [2]float64{0.281, 0.112}, Area: 0.384, DragArea: ptr(0.1602)},
	}}}}}
	o.Moves = []study.PathMoves{{Configuration: "fairing", Moves: []*shift.PathShift{{
		Name: "right low outer", Points: []*shift.Shift{first, second}, Resolved: []bool{true, false}, LastResolved: ptr(-0.58),
		Text: "right low outer: its centroid's move is resolved up to x = −0.58 m and no longer from x = 2.91 m on",
	}}}}
	o.TopChecks = []study.TopCheck{{Configuration: "fairing", Station: "behind the front wheel", TopView: "top", Structure: "right low outer", TopCheck: shift.TopCheck{Text: "right edge at x = −0.58 m: +34 ± 20 mm inboard: they agree"}}}
	o.SamePlaces = []study.SamePlace{{Configuration: "fairing", Stations: [2]string{"window", "section"}, SamePlace: shift.SamePlace{Text: "right low outer at x = 2.91 m: resolved by window, not judged, changed shape by section"}}}
	return o
}

// The page's section on the parts of the wake has the sentences on each configuration,
// the path with its stations and its end, the four measures of the move along it, and
// the top views' edges; the stations have the moves at each.
func TestPagePartsSection(t *testing.T) {
	page := pageOf(t, partsOutcome())
	m := regexp.MustCompile(`(?s)<section id="parts".*?</section>`).FindString(page)
	if m == "" {
		t.Fatal("no section of the parts")
	}
	_, text := parsePage(t, m)
	text = strings.Join(strings.Fields(text), " ")
	for _, w := range []string{
		"With fairing, the right low outer wake at x = −0.58 m lies 17 mm inboard", "With fairing, the right low outer wake at x = 2.91 m lies 17 mm inboard", "resolved",
		"Parts of the wake along x", "bare:", "right low outer (right mid outer)", "0.987", "1.371", "1.341", "0.588", "0.160",
		"right low outer, fairing minus bare, mm inboard", "centroid", "edge", "profile", "registration",
		"+14 ± 10", "+24 ± 10", "+34 ± 10", "+44 ± 10", "−0.052",
		"resolved up to x = −0.58 m and no longer from x = 2.91 m on",
		"bare: after x = 2.91 m right low outer merges into centre low",
		"Edges in top views beside those in cross-flow planes", "right edge at x = −0.58 m: +34 ± 20 mm inboard: they agree", topCheckNote,
		"fairing, right low outer at x = 2.91 m: resolved by window, not judged, changed shape by section",
	} {
		if !strings.Contains(text, w) {
			t.Errorf("the section lacks %q:\n%s", w, text)
		}
	}
	if stations := page[strings.Index(page, `id="stations"`):]; !strings.Contains(stations, "Moves of the parts") {
		t.Error("the stations lack the moves of the parts")
	}
	if strings.Contains(pageOf(t, sampleOutcome()), `id="parts"`) {
		t.Error("a section of parts where there are none")
	}
}

func pageOf(t *testing.T, o *study.Outcome) string {
	t.Helper()
	var b strings.Builder
	if err := Page(&b, o, samplePictures(t), nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A measure has one row for each part: the headline is one of them where the measures differ.
func TestMovesCSVHasNoRowTwice(t *testing.T) {
	o := sampleOutcome()
	st := &o.Stations[0]
	x := 0.02
	edge, all := shift.Move{Measure: shift.MeasureEdge, Inboard: &x}, shift.Move{Measure: "weighted mean", Inboard: &x}
	st.Comparison.Variants[0].Structures = &compare.Structures{Shifts: []*shift.Shift{{A: "wheel", B: "wheel", Moves: []shift.Move{edge}, Headline: &edge}, {A: "roof", B: "roof", Moves: []shift.Move{edge}, Headline: &all}}}
	rows := strings.Split(write(t, func(w io.Writer) error { return MovesCSV(w, o) }), "\r\n")
	if len(rows) != 5 || !strings.Contains(rows[1], "wheel,wheel,edge") || !strings.Contains(rows[2], "roof,roof,edge") || !strings.Contains(rows[3], "roof,roof,weighted mean") {
		t.Errorf("%q", rows)
	}
}
