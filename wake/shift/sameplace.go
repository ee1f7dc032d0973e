package shift

import (
	"fmt"
	"strings"
	"wakeledger/wake/parts"
)

// SamePlace sets the moves of one part beside each other as two surveys of one plane
// have it, a window and the whole section say, where their verdicts are not the same.
type SamePlace struct {
	Position float64 `json:"position_m"`
	// A and B are the baseline's names of the part, Levels what its weight is counted
	// from in either survey, and Verdicts what is said of the move.
	A        string     `json:"a"`
	B        string     `json:"b"`
	Levels   [2]float64 `json:"levels"`
	Verdicts [2]string  `json:"verdicts"`
	Text     string     `json:"text"`
}

// NewSamePlace compares the moves first and second of one part, of which a and b are
// the baseline's sets and names what the surveys are called. ok is false where the
// verdicts are the same. The reason that can be told is the zero of the weight: each
// survey counts it from its own open edge, so that one threshold draws the part at
// different levels of the weight as the reference has it.
func NewSamePlace(a, b *parts.Set, first, second *Shift, names [2]string) (p SamePlace, ok bool) {
	if said(first) == said(second) {
		return p, false
	}
	p = SamePlace{Position: first.Position, A: first.A, B: second.A, Levels: [2]float64{a.Level, b.Level}, Verdicts: [2]string{said(first), said(second)}}
	var moves []string
	for _, m := range first.Moves {
		for _, n := range second.Moves {
			if m.Measure == n.Measure {
				x, _ := m.Toward()
				y, _ := n.Toward()
				moves = append(moves, fmt.Sprintf("%s %s ± %s and %s ± %s", m.Measure, mm(x), mmUnsigned(m.Expanded), mm(y), mmUnsigned(n.Expanded)))
			}
		}
	}
	p.Text = trueMinus(fmt.Sprintf("%s at x = %.2f m: %s by %s, %s by %s. Each counts the weight from its own open edge, %+.3f and %+.3f, so that its threshold draws the part at %.3g and %.3g of the weight as the reference has it, over %.3g and %.3g m²",
		p.A, p.Position, p.Verdicts[0], names[0], p.Verdicts[1], names[1], a.Level, b.Level, a.Level+a.Threshold, b.Level+b.Threshold, first.Area, second.Area))
	if len(moves) > 0 {
		_, way := first.Moves[0].Toward()
		p.Text += "; mm " + way[0] + ": " + strings.Join(moves, ", ")
	}
	return p, true
}

// said is the verdict on a move with the remark on its shape.
func said(s *Shift) string {
	if len(s.Moves) > 0 && !s.Agree {
		return s.Verdict + ", changed shape"
	}
	return s.Verdict
}
