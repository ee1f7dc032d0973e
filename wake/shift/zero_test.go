package shift

import (
	"strings"
	"testing"

	"wakeledger/wake/uncertainty"
)

// A change that rounds to zero has no sign.
func TestSentenceOfNoDrag(t *testing.T) {
	area, percent, zero := -0.00001, -0.3, 0.0
	m := Move{Measure: MeasureCentroid, Inboard: &zero}
	s := &Shift{A: "wheel", Moves: []Move{m}, Headline: &m, Agree: true, DragArea: &area, DragPercent: &percent, Judgement: uncertainty.Judgement{Verdict: uncertainty.NotResolved}}
	if got := s.Sentence("fairing", "bare", ""); !strings.HasSuffix(got, "; local drag in this wake: ±0.0000 m² (±0 %).") {
		t.Error(got)
	}
}
