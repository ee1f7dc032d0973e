package report

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/uncertainty"
)

// sentenceArea is how drag areas are written in sentences.
var sentenceArea = uncertainty.Format{Scale: 1, Decimals: 5, Unit: "m²"}

// deltaFinding is a change of drag in m², counts and per cent, with its verdict and the reason.
func deltaFinding(where string, d *compare.Delta) finding {
	whole := 0.0
	var also []string
	if d.Counts != nil {
		also = append(also, coefficient(d.Counts, &d.DragArea, d.Expanded, signed, countDecimals)+fmt.Sprintf(" counts of %g", d.CountSize))
	}
	if d.Percent != nil {
		whole = 100 * d.DragArea / *d.Percent
		also = append(also, signed(*d.Percent, 1)+" %")
	}
	s := d.Number(d.DragArea, &d.Budget, sentenceArea)
	if also != nil {
		s += " (" + strings.Join(also, ", ") + ")"
	}
	s += ": " + d.Sentence(d.DragArea, &d.Budget, sentenceArea, whole)
	if d.MonteCarlo != nil {
		s += "; " + d.MonteCarlo.Text
	}
	return finding{where, clean(d.Verdict), clean(s)}
}

// toward is a move of the centroid toward the centre plane, or to the right.
func toward(s *compare.Shift) (x float64, sense string) {
	if s.Inboard != nil {
		return *s.Inboard, "inboard"
	}
	return s.Centroid[0], "right"
}

// moveFormat is the size of a move and how it is written, with the way that it goes.
func moveFormat(x float64, sense string) (float64, uncertainty.Format) {
	ways := map[string][2]string{"inboard": {"inboard", "outboard"}, "right": {"to the right", "to the left"}}[sense]
	if x < 0 {
		ways[0] = ways[1]
	}
	return math.Abs(x), uncertainty.Format{Scale: 1000, Decimals: 1, Unit: "mm", Way: ways[0]}
}

// shiftFinding is a move of the centroid toward the centre plane, or to a side, with its verdict.
func shiftFinding(where string, s *compare.Shift) finding {
	b := uncertainty.Budget(s.LengthBudget)
	x, mm := moveFormat(toward(s))
	if mc := b.MonteCarlo; mc != nil && x != s.Centroid[0] {
		// The trials are of the move to the right.
		in := *mc
		in.Interval = [2]float64{-mc.Interval[1], -mc.Interval[0]}
		b.MonteCarlo = &in
	}
	out := fmt.Sprintf("centroid (%s) %s: %s", s.Weight, s.Number(x, &b, mm), s.Sentence(x, &b, mm, 0))
	if s.CommonInboard != nil {
		out += fmt.Sprintf("; over shared samples %s mm, since the bodies fill different parts of the box", signed(1000**s.CommonInboard, 1))
	}
	return finding{where, clean(s.Verdict), clean(out)}
}
