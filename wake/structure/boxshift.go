package structure

import (
	"fmt"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
)

// ShiftInBox measures how far the wake in a box moved from field a to field b, in
// the four ways and with the budgets of ShiftBetween; name goes into the text. The
// window is all places of the box (of the plane, where box is nil) that both surveys
// cover, and the weight again (f − threshold)₊, so that what lies below the threshold
// does not pull on any measure. threshold 0 means 0.1. The outline is the outermost
// place at or above the threshold in the box; where the wake goes on beyond the box
// there is none.
//
// Area is that of the block of places that the wake takes up in the box. No drag is
// given with it: that of the box is a matter of its own.
//
// A box without a place of common coverage is a *wake.InputError. Nothing above the
// threshold leaves Moves empty and Missing says so.
func ShiftInBox(a, b *Field, name string, box *grid.Box, threshold float64, opt ShiftOptions) (*Shift, error) {
	if threshold == 0 {
		threshold = DefaultThreshold
	}
	if !(threshold > 0 && threshold <= math.MaxFloat64) || !(opt.Width >= 0 && opt.Width <= math.MaxFloat64) {
		return nil, &wake.InputError{File: b.Name, Text: fmt.Sprintf("threshold %g, width %g m", threshold, opt.Width), Cure: "give a positive threshold and a length, or 0"}
	}
	s := &Shift{
		A: name, B: name, Position: a.Position, Side: opt.Side, Threshold: threshold, WidthOf: opt.WidthOf, Moves: []Move{},
	}
	w, shapes, err := boxWindow(a, b, box, threshold, opt)
	if err != nil {
		return nil, err
	}
	s.over(w, shapes, opt)
	s.Text = s.sentence()
	return s, nil
}
