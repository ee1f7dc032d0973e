package structure

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/wake/measure"
)

// PairShift sets the inboard moves of a left and a right structure side by side.
type PairShift struct {
	Left  *Shift `json:"left"`
	Right *Shift `json:"right"`
	// Moves holds, for each measure that both have, left, right and their mean.
	Moves []PairMove `json:"moves"`
	// Headline is that of the two headlines; nil unless both have one.
	Headline *PairMove `json:"headline,omitempty"`
	Text     string    `json:"text"`
}

// PairMove is an inboard move, m, on either side, and the symmetric mean ½(Left +
// Right) with its standard and expanded uncertainty. Agree says whether the sides
// differ by no more than the expanded uncertainty of their difference. If they do
// not, Standard is half their difference: what the mean stands for is then no better
// known than that.
type PairMove struct {
	Measure  string  `json:"measure"`
	Left     float64 `json:"left_inboard_m"`
	Right    float64 `json:"right_inboard_m"`
	Mean     float64 `json:"mean_inboard_m"`
	Standard float64 `json:"standard_m"`
	Expanded float64 `json:"expanded_m"`
	Agree    bool    `json:"agree"`
}

// Pair combines the moves of the two sides, taken as independent. Shifts without a
// side have no inboard move and are left out.
func Pair(left, right *Shift) *PairShift {
	p := &PairShift{Left: left, Right: right, Moves: []PairMove{}}
	both := func(l, r Move) (PairMove, bool) {
		if l.Inboard == nil || r.Inboard == nil {
			return PairMove{}, false
		}
		u, d := math.Hypot(l.Standard, r.Standard), math.Abs(*l.Inboard-*r.Inboard)
		m := PairMove{Measure: l.Measure, Left: *l.Inboard, Right: *r.Inboard, Mean: (*l.Inboard + *r.Inboard) / 2, Agree: d <= measure.Coverage*u}
		m.Standard = u / 2
		if !m.Agree {
			m.Standard = d / 2
		}
		m.Expanded = measure.Coverage * m.Standard
		return m, true
	}
	for _, l := range left.Moves {
		for _, r := range right.Moves {
			if l.Measure != r.Measure {
				continue
			}
			if m, ok := both(l, r); ok {
				p.Moves = append(p.Moves, m)
			}
		}
	}
	if left.Headline != nil && right.Headline != nil {
		if m, ok := both(*left.Headline, *right.Headline); ok {
			p.Headline = &m
		}
	}
	p.Text = p.sentence()
	return p
}

// sentence gives the symmetric means and says where the sides differ.
func (p *PairShift) sentence() string {
	moves, what := p.Moves, "symmetric mean of left and right, inboard: "
	if p.Headline != nil {
		moves = []PairMove{*p.Headline}
	}
	var means, differ []string
	for _, m := range moves {
		means = append(means, fmt.Sprintf("%s %s ± %s mm", m.Measure, mm(m.Mean), mmUnsigned(m.Expanded)))
		if !m.Agree {
			differ = append(differ, fmt.Sprintf("%s (left %s, right %s)", m.Measure, mm(m.Left), mm(m.Right)))
		}
	}
	switch {
	case len(moves) == 0:
		return "no measure has an inboard move on both sides"
	case len(differ) == 0:
		return what + strings.Join(means, ", ") + "; the sides agree"
	case len(differ) < len(moves):
		what += strings.Join(means, ", ") + "; the sides agree but for "
	default:
		what += strings.Join(means, ", ") + "; the sides differ in "
	}
	return what + strings.Join(differ, ", ") + ", which differ by more than their uncertainty; that does not hold the time average, and the flow is not symmetric to it"
}
