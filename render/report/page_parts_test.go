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
		A: "right low outer", B: "right low outer", Position: position, Side: "right", Threshold: 0.1, Agree: true, Width: 0.2,
		DragArea: ptr(-0.0519), Judgement: uncertainty.Judgement{Verdict: uncertainty.Resolved},
		Headline: &shift.Move{Inboard: ptr(0.017), Fraction: ptr(0.085), LengthBudget: uncertainty.LengthBudget{States: []uncertainty.State{{Category: uncertainty.RunToRun, How: uncertainty.Unknown}}}},
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
	first, second := sampleMove(-0.58), sampleMove(2.91)
	for k, m := range []*shift.Shift{first, second} {
		o.Stations[k].Comparison.Variants[0].Structures = &compare.Structures{
			Match: &parts.Matching{Pairs: []parts.MatchPair{{A: m.A, B: m.B, Overlap: 0.93, Distance: 0.0309, Score: 0.97}}}, Shifts: []*shift.Shift{m},
			Foremost: []string{m.A},
		}
	}
	o.Paths = []study.Paths{{Configuration: "bare", Paths: []parts.Path{{Name: "right low outer", End: "right low outer merges into centre low (94 % of its area)", Points: []parts.PathPoint{
		{Position: -0.58, Structure: "right low outer", Centroid: [2]float64{0.987, 0.711}, Spread: [2]float64{0.187, 0.451}, Area: 0.962, DragArea: ptr(0.5880), RightEdge: ptr(1.371)},
		{Position: 2.91, Structure: "right mid outer", Centroid: [2]float64{1.341, 0.151}, Spread: [2]float64{0.281, 0.112}, Area: 0.384, DragArea: ptr(0.1602)},
	}}}}}
	o.Moves = []study.PathMoves{{Configuration: "fairing", Moves: []study.PathShift{{Name: "right low outer", Points: []*shift.Shift{first, second}}}}}
	return o
}

// The page's section on the parts of the wake has the path with its stations, and its end; the findings have the moves at the foremost station, and the stations the moves at each.
func TestPagePartsSection(t *testing.T) {
	page := pageOf(t, partsOutcome())
	m := regexp.MustCompile(`(?s)<section id="parts".*?</section>`).FindString(page)
	if m == "" {
		t.Fatal("no section of the parts")
	}
	_, text := parsePage(t, m)
	text = strings.Join(strings.Fields(text), " ")
	for _, w := range []string{
		"Parts of the wake along x", "bare:", "right low outer (right mid outer)", "0.987", "1.371", "1.341", "0.588", "0.160",
		"bare: after x = 2.91 m right low outer merges into centre low",
	} {
		if !strings.Contains(text, w) {
			t.Errorf("the section lacks %q:\n%s", w, text)
		}
	}
	_, text = parsePage(t, page)
	text = strings.Join(strings.Fields(text), " ")
	for _, w := range []string{"Moves of the parts, fairing minus bare, mm inboard", "centroid", "edge", "profile", "registration", "+14 ± 10", "+24 ± 10", "+34 ± 10", "+44 ± 10", "−0.052", "right low outer at x = −0.58 m: 17.0 ± 0.0 mm inboard", "8.5 % of the width of 0.2 m"} {
		if !strings.Contains(text, w) {
			t.Errorf("the page lacks %q", w)
		}
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
