package shift

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake/uncertainty"
)

// PairShift sets the inboard moves of a left and a right structure side by side.
type PairShift struct {
	Left  *Shift `json:"left"`
	Right *Shift `json:"right"`
	// Moves holds, for each measure that both have, left, right and their mean.
	Moves []PairMove `json:"moves"`
	// Headline is that of the two headlines; nil unless both have one.
	Headline *PairMove `json:"headline,omitempty"`
	// Asymmetry is by how much further from the centre plane the right structure's
	// centroid lies than the left one's in the baseline, before any change, m; nil where
	// the moves are not those of structures.
	Asymmetry *float64 `json:"baseline_asymmetry_m,omitempty"`
	Text      string   `json:"text"`
}

// PairMove is an inboard move, m, on either side, and the symmetric mean ½(Left +
// Right) with its budget and what is to be said of it. Difference is the standard
// uncertainty of Left − Right, Apart its expanded one, and Agree says whether the sides
// differ by no more than that. If they do not, half their difference takes the place of the
// sampling in the budget: the mean is then no better known than that.
type PairMove struct {
	Measure string  `json:"measure"`
	Left    float64 `json:"left_inboard_m"`
	Right   float64 `json:"right_inboard_m"`
	Mean    float64 `json:"mean_inboard_m"`
	uncertainty.LengthBudget
	uncertainty.Judgement
	Difference float64 `json:"difference_standard_m"`
	Apart      float64 `json:"difference_expanded_m"`
	Agree      bool    `json:"agree"`
}

// Pair combines the moves of the two sides. They are taken as independent but for
// the time average: of the same planes, its errors on the left and on the right go
// together as far as the draws say. Shifts without a side have no inboard move and
// are left out.
func Pair(left, right *Shift) *PairShift {
	p := &PairShift{Left: left, Right: right, Moves: []PairMove{}}
	if l, r := left.from, right.from; l != nil && r != nil {
		d := math.Abs(r[0]) - math.Abs(l[0])
		p.Asymmetry = &d
	}
	both := func(l, r Move) (PairMove, bool) {
		if l.Inboard == nil || r.Inboard == nil {
			return PairMove{}, false
		}
		// Inboard is to the right on the left and to the left on the right.
		common := -together(l.time, r.time)
		m := PairMove{Measure: l.Measure, Left: *l.Inboard, Right: *r.Inboard, Mean: (*l.Inboard + *r.Inboard) / 2}
		apart := uncertainty.Only("of one pair of planes", sides(l, r, 1, -2*common)...)
		m.Difference, m.Apart = apart.Standard, apart.Expanded
		m.Agree = uncertainty.Judge(m.Left-m.Right, &apart).Verdict == uncertainty.NotResolved
		mean := sides(l, r, 0.5, 2*common)
		if !m.Agree {
			mean = append(uncertainty.Without(uncertainty.Sampling, mean), uncertainty.Item{
				Name: "left and right differ", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(m.Left-m.Right) / 2,
			})
		}
		b := uncertainty.NewBudget(mean...)
		m.LengthBudget, m.Judgement = uncertainty.LengthBudget(b), uncertainty.Judge(m.Mean, &b)
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
	if left.Headline != nil && right.Headline != nil && left.Agree && right.Agree {
		if m, ok := both(*left.Headline, *right.Headline); ok {
			p.Headline = &m
		}
	}
	p.Text = p.sentence()
	return p
}

// sides are the items of factor times the sum, or the difference, of the moves of two
// sides: one for each category. more is what the time average adds to the squares.
func sides(l, r Move, factor, more float64) []uncertainty.Item {
	var out []uncertainty.Item
	for _, c := range uncertainty.Categories {
		it := uncertainty.Item{Name: string(c) + ", left and right", Category: c, Kind: uncertainty.Random}
		sq := 0.0
		for _, m := range []*Move{&l, &r} {
			if it.How != uncertainty.Unknown {
				it.How = uncertainty.StateOf(c, m.Items).How
			}
			sq += m.of(c) * m.of(c)
		}
		if c == uncertainty.TimeAverage {
			sq += more
		}
		it.Standard = factor * math.Sqrt(math.Max(0, sq))
		out = append(out, it)
	}
	return out
}

// sentence gives the symmetric means and says where the sides differ, by how much
// more than can be told, and what is known of the reason.
func (p *PairShift) sentence() string {
	moves := p.Moves
	if p.Headline != nil {
		moves = []PairMove{*p.Headline}
	}
	if len(moves) == 0 {
		return "no measure has an inboard move on both sides"
	}
	var means, agree, differ []string
	for _, m := range moves {
		means = append(means, fmt.Sprintf("%s %s ± %s mm (%s)", m.Measure, mm(m.Mean), mmUnsigned(m.Expanded), m.Verdict))
		if m.Agree {
			agree = append(agree, m.Measure)
			continue
		}
		differ = append(differ, fmt.Sprintf("%s (left %s, right %s, ± %s mm on the difference)", m.Measure, mm(m.Left), mm(m.Right), mmUnsigned(m.Apart)))
	}
	out := "symmetric mean of left and right, inboard: " + strings.Join(means, ", ")
	if len(differ) == 0 {
		return out + "; left and right agree within their uncertainties" + p.before() + p.doubt()
	}
	out += "; left and right differ by more than their uncertainty in " + strings.Join(differ, ", ")
	if len(agree) > 0 {
		out += ", and agree in " + strings.Join(agree, ", ")
	}
	out += p.before() + p.doubt()
	if !p.timed() {
		out += "; the uncertainty does not hold the time average, and no finite one is symmetric: state the number of effective samples"
	}
	return out
}

// before says how symmetric the baseline was.
func (p *PairShift) before() string {
	switch {
	case p.Asymmetry == nil:
		return ""
	case math.Abs(*p.Asymmetry) < 0.0005:
		return "; in the baseline both lie equally far from the centre plane, to 0.5 mm"
	}
	out, in := "right", "left"
	if *p.Asymmetry < 0 {
		out, in = in, out
	}
	return fmt.Sprintf("; in the baseline the %s part already lies %s mm further out than the %s part", out, mmUnsigned(*p.Asymmetry), in)
}

// doubt says that the parts need not be alike.
func (p *PairShift) doubt() string {
	if p.Left.doubt || p.Right.doubt {
		return "; what the two take in is not alike on both sides, as the notes on their planes say"
	}
	return ""
}

// timed reports whether the moves' budgets hold the time average.
func (p *PairShift) timed() bool {
	return slices.ContainsFunc(append(slices.Clone(p.Left.Moves), p.Right.Moves...), func(m Move) bool { return len(m.time[0])+len(m.time[1]) > 0 })
}
