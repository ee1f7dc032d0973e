package shift

import (
	"strings"
	"testing"

	"wakeledger/wake/uncertainty"
)

// A move has its size and its direction, never a sign, and measures of which none is beyond its
// uncertainty are none; a part's drag is no finding.
func TestSentenceWords(t *testing.T) {
	move := func(measure string, inboard float64) Move {
		return Move{Measure: measure, Inboard: &inboard, Lateral: inboard, LengthBudget: uncertainty.LengthBudget{Expanded: 0.0233}, Judgement: uncertainty.Judgement{Verdict: uncertainty.NotResolved}}
	}
	area := -0.07
	for want, moves := range map[string][]Move{
		"With fairing, a move of the wheel at x = −0.62 m is not resolved: 18 ± 23 mm outboard against bare (95 %; one measure alone).":                                                                                       {move(MeasureCentroid, -0.018)},
		"lies 12 ± 23 mm inboard (edge) of where it is with bare; the 2 measures do not agree, from 3.0 mm (profile) to 12 mm (edge): not resolved, all 2 measures go that way, none of them beyond their uncertainty (95 %)": {move(MeasureEdge, 0.012), move(MeasureProfile, 0.003)},
	} {
		s := &Shift{A: "wheel", Position: -0.62, Moves: moves, Headline: &moves[0], Agree: len(moves) == 1, DragArea: &area, Judgement: uncertainty.Judgement{Verdict: uncertainty.NotResolved}}
		if got := s.Sentence("fairing", "bare", ""); !strings.Contains(got, want) || strings.Contains(got, "m²") {
			t.Errorf("%q, want %q", got, want)
		}
		s.Headline.Items = []uncertainty.Item{{Category: uncertainty.Sampling, Kind: uncertainty.Random, Standard: 0.011}}
		s.Headline.Standard, s.Headline.Coverage = 0.011, 2.1
		if got := s.sentence(); strings.Contains(got, "times as many samples") != s.Agree {
			t.Errorf("finer planes settle measures that do not agree: %q", got)
		}
	}
}
