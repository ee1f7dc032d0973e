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
	w, spread, width, err := boxWindow(a, b, box, threshold, opt)
	if err != nil {
		return nil, err
	}
	s.Spread = spread
	s.over(w, [2]float64{a.Level, b.Level}, width, opt)
	s.Text = s.sentence()
	return s, nil
}

// boxWindow is the window of a box, how the spread of the weight in it changed, and the
// greater one along y.
func boxWindow(a, b *Field, box *grid.Box, threshold float64, opt ShiftOptions) (win *window, spread [2]float64, width float64, err error) {
	r := rasterFor(a.Mesh, b.Mesh)
	if r == nil {
		return nil, spread, 0, &wake.InputError{File: b.Name, Text: "the two surveys have no part in common", Cure: "survey the same window in both configurations"}
	}
	w := &window{r: r, t: threshold, mask: make([]bool, r.len()), contested: make([]bool, r.len())}
	w.place(a, b)
	for c := range w.own {
		w.own[c] = make([]bool, r.len())
	}
	seen, holds := grid.EmptyBox(), grid.EmptyBox()
	for k := range w.mask {
		p := r.at(k)
		if math.IsNaN(w.f[0][k]) || math.IsNaN(w.f[1][k]) || box != nil && !box.Contains(p) {
			continue
		}
		w.mask[k] = true
		seen = seen.Extend(p)
		for c, f := range [2]*Field{a, b} {
			w.own[c][k] = w.f[c][k] >= threshold
			// Counted from the nominal reference too: the budget does that.
			if w.f[c][k]+math.Max(0, f.Level) >= threshold {
				holds = holds.Extend(p)
			}
		}
	}
	if seen.Empty() {
		return nil, spread, 0, &wake.InputError{File: b.Name, Text: "no sample in the box is in common coverage", Cure: "survey the box in both configurations"}
	}
	// What lies beyond the outermost places that reach the threshold has no weight and
	// would just make the correlations longer.
	for k, in := range w.mask {
		w.mask[k] = in && (holds.Empty() || holds.Contains(r.at(k)))
	}
	band, given := opt.Band, opt.Band != [2]float64{}
	ca, sa, oka := w.shape(0)
	cb, sb, okb := w.shape(1)
	width = math.Max(sa[0], sb[0])
	if !given {
		band = [2]float64{seen.Min.Y, seen.Max.Y}
		if oka && okb {
			spread = [2]float64{sb[0] - sa[0], sb[1] - sa[1]}
			if lo, hi := math.Max(ca.Y-sa[1], cb.Y-sb[1]), math.Min(ca.Y+sa[1], cb.Y+sb[1]); hi > lo {
				band = [2]float64{lo, hi}
			}
		}
	}
	return w, spread, width, w.finish(b, opt.Side, band, given)
}

// shape is the centroid of (f − t)₊ of field c over the mask and its standard
// deviations along y and z; ok is false where there is nothing above t.
func (w *window) shape(c int) (at grid.Point, spread [2]float64, ok bool) {
	var s, y, z float64
	for k := range w.mask {
		if e := w.excess(c, k); e > 0 {
			p := w.r.at(k)
			s += e
			y += e * p.X
			z += e * p.Y
		}
	}
	if !(s > 0) {
		return at, spread, false
	}
	at = grid.Point{X: y / s, Y: z / s}
	for k := range w.mask {
		if e := w.excess(c, k); e > 0 {
			p := w.r.at(k)
			spread[0] += e / s * (p.X - at.X) * (p.X - at.X)
			spread[1] += e / s * (p.Y - at.Y) * (p.Y - at.Y)
		}
	}
	return at, [2]float64{math.Sqrt(spread[0]), math.Sqrt(spread[1])}, true
}
