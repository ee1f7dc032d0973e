package shift

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/parts"
	"wakeledger/wake/uncertainty"
)

// TopShift is the move of the edges of top view B against A, at the columns that
// both have.
type TopShift struct {
	Height  float64         `json:"height_m"`
	Columns []TopShiftPoint `json:"columns"`
	// Warnings are doubts about the pair.
	Warnings []wake.Warning `json:"-"`

	step float64
}

// TopShiftPoint is the move at one x: of each edge toward y = 0 (positive inboard)
// and of the width.
type TopShiftPoint struct {
	X     float64  `json:"x_m"`
	Left  *float64 `json:"left_inboard_m,omitempty"`
	Right *float64 `json:"right_inboard_m,omitempty"`
	Width *float64 `json:"width_m,omitempty"`

	rawLeft, rawRight *float64
}

// Tops sets top view b beside a. Columns are the same within a hundredth of a step; the
// planes must be at the same height within a step.
func Tops(a, b *parts.TopView) (*TopShift, error) {
	if !(math.Abs(a.Height-b.Height) <= a.Step) || a.Threshold != b.Threshold {
		return nil, &wake.InputError{
			File: b.Name, Text: fmt.Sprintf("top views at z = %g m (threshold %g) and %g m (threshold %g) are not alike", a.Height, a.Threshold, b.Height, b.Threshold),
			Cure: "compare planes of one height with one threshold",
		}
	}
	t := &TopShift{Height: a.Height, step: a.Step}
	j := 0
	for i, p := range a.Columns {
		for j < len(b.Columns) && b.Columns[j].X < p.X-grid.EvenStep*a.Step {
			j++
		}
		if j == len(b.Columns) || b.Columns[j].X > p.X+grid.EvenStep*a.Step {
			continue
		}
		q := b.Columns[j]
		t.Columns = append(t.Columns, TopShiftPoint{
			X: p.X, Left: parts.Minus(q.Left, p.Left), Right: parts.Minus(p.Right, q.Right), Width: parts.Minus(q.Width, p.Width),
			rawLeft: parts.Minus(b.Raw[j][0], a.Raw[i][0]), rawRight: parts.Minus(a.Raw[i][1], b.Raw[j][1]),
		})
	}
	if len(t.Columns) == 0 {
		return nil, &wake.InputError{File: b.Name, Text: "the two top views share no column of samples", Cure: "survey the same points in both configurations"}
	}
	return t, nil
}

// At is the mean inboard move of one edge over the columns within half of x.
// Standard holds half the range of the columns (rectangular, divided by √3), what
// counting the weight from the nominal reference does, and the sub-cell fit. ok is
// false where no column there has the edge.
func (t *TopShift) At(x, half float64, side string) (m Move, ok bool) {
	lo, hi, sum, raw, n := math.Inf(1), math.Inf(-1), 0.0, 0.0, 0
	for _, c := range t.Columns {
		v, u := c.Left, c.rawLeft
		if side == "right" {
			v, u = c.Right, c.rawRight
		}
		if v == nil || !(math.Abs(c.X-x) <= half) {
			continue
		}
		sum += *v
		lo, hi = math.Min(lo, *v), math.Max(hi, *v)
		n++
		if u != nil {
			raw += *u - *v
		}
	}
	if n == 0 {
		return Move{}, false
	}
	mean := sum / float64(n)
	m = Move{Measure: "top view edge", Lateral: mean, Inboard: &mean, LengthBudget: uncertainty.LengthBudget(uncertainty.NewBudget(
		sampling("columns", uncertainty.Random, (hi-lo)/2/math.Sqrt(3)),
		sampling("zero level of the weight", uncertainty.Independent, math.Abs(raw)/float64(n)/math.Sqrt(3)),
		sampling("sub-cell fit", uncertainty.Independent, subCell*t.step/math.Sqrt(3)),
	))}
	if side == "right" {
		m.Lateral = -mean
	}
	return m, true
}

// TopCheck sets the edge's move in a cross-flow plane beside that in a top view.
type TopCheck struct {
	Position float64 `json:"position_m"`
	Side     string  `json:"side"`
	Cross    Move    `json:"cross_flow_plane"`
	Top      Move    `json:"top_view"`
	Agree    bool    `json:"agree"`
	Text     string  `json:"text"`
}

// Beside compares the edge of a shift with the top view's within half of its
// station. ok is false where either has no edge.
func (t *TopShift) Beside(s *Shift, half float64) (c TopCheck, ok bool) {
	top, ok := t.At(s.Position, half, s.Side)
	if !ok {
		return c, false
	}
	for _, m := range s.Moves {
		if m.Measure != MeasureEdge || m.Inboard == nil {
			continue
		}
		c = TopCheck{Position: s.Position, Side: s.Side, Cross: m, Top: top}
		// What the time of the means was too short for is common to both planes.
		d := *m.Inboard - *top.Inboard
		apart := uncertainty.Only("of one flow over the same time", sampling("both moves", uncertainty.Independent, math.Hypot(m.of(uncertainty.Sampling), top.Standard)))
		c.Agree = uncertainty.Judge(d, &apart).Verdict == uncertainty.NotResolved
		c.Text = fmt.Sprintf("%s edge at x = %s m: %s over z = %.2f to %.2f m in the cross-flow plane, %s in the top view at z = %.2f m",
			s.Side, uncertainty.Fixed(s.Position, 2), m.within(), s.Band[0], s.Band[1], top.within(), t.Height)
		switch {
		case c.Agree:
			c.Text += ": they agree"
		case t.Height < s.Band[0] || t.Height > s.Band[1]:
			c.Text += ": they differ, and the top view lies outside the heights that the other is averaged over"
		default:
			c.Text += fmt.Sprintf(": they differ by %s mm, more than their uncertainty of %s mm; the one is averaged over the heights and the other taken at one of them, and each weight is counted from its own plane's edge: where that is not enough to explain it, the two planes do not show one flow",
				mmUnsigned(d), mmUnsigned(apart.Expanded))
		}
		return c, true
	}
	return c, false
}
