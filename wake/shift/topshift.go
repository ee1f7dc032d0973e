package shift

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/parts"
)

// TopShift is the move of the edges of top view B against A, at the columns that
// both have.
type TopShift struct {
	Height  float64         `json:"height_m"`
	Columns []TopShiftPoint `json:"columns"`
}

// TopShiftPoint is the move at one x: of each edge toward y = 0 (positive inboard)
// and of the width.
type TopShiftPoint struct {
	X     float64  `json:"x_m"`
	Left  *float64 `json:"left_inboard_m,omitempty"`
	Right *float64 `json:"right_inboard_m,omitempty"`
	Width *float64 `json:"width_m,omitempty"`
}

// Tops sets top view b beside a. Columns are the same within a hundredth of a step; the
// planes must be at the same height within a step.
func Tops(a, b *parts.TopView) (*TopShift, error) {
	if !(math.Abs(a.Height-b.Height) <= a.Step) || a.Threshold != b.Threshold {
		return nil, wake.Refuse(b.Name, "compare planes of one height with one threshold",
			"top views at z = %g m (threshold %g) and %g m (threshold %g) are not alike", a.Height, a.Threshold, b.Height, b.Threshold)
	}
	t := &TopShift{Height: a.Height}
	j := 0
	for _, p := range a.Columns {
		for j < len(b.Columns) && b.Columns[j].X < p.X-grid.EvenStep*a.Step {
			j++
		}
		if j == len(b.Columns) || b.Columns[j].X > p.X+grid.EvenStep*a.Step {
			continue
		}
		q := b.Columns[j]
		t.Columns = append(t.Columns, TopShiftPoint{
			X: p.X, Left: parts.Minus(q.Left, p.Left), Right: parts.Minus(p.Right, q.Right), Width: parts.Minus(q.Width, p.Width),
		})
	}
	if len(t.Columns) == 0 {
		return nil, &wake.InputError{File: b.Name, Text: "the two top views share no column of samples", Cure: "survey the same points in both configurations"}
	}
	return t, nil
}
