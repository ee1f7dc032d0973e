package measure

import "math"

// Layout says where the headline numbers stand in a Vector: for the whole plane
// and then for each region drag area, centroid (two) and the areas above the
// thresholds; last the drag areas of the other methods.
type Layout struct{ Thresholds, Regions int }

// Vector holds the headline numbers of a Result; NaN stands for one that cannot
// be had.
type Vector []float64

// Whole stands for the plane where an index of a region is asked for.
const Whole = -1

func (l Layout) start(region int) int { return (region + 1) * (3 + l.Thresholds) }

// Drag is the index of the drag area of a region, or of the Whole.
func (l Layout) Drag(region int) int { return l.start(region) }

// isDrag reports whether a headline number is a drag area.
func (l Layout) isDrag(i int) bool { return i >= l.start(l.Regions) || i%(3+l.Thresholds) == 0 }

// Centroid is the index of a coordinate of the centroid, 0 or 1.
func (l Layout) Centroid(region, axis int) int { return l.start(region) + 1 + axis }

// Area is the index of the area above a threshold.
func (l Layout) Area(region, threshold int) int { return l.start(region) + 3 + threshold }

// Method is the index of the whole plane's drag area by a method that can be the
// headline: momentum, wake_only, jones; −1 for another.
func (l Layout) Method(name string) int {
	switch name {
	case "momentum":
		return l.Drag(Whole)
	case "wake_only":
		return l.start(l.Regions)
	case "jones":
		return l.start(l.Regions) + 1
	}
	return -1
}

// len is the number of headline numbers.
func (l Layout) len() int { return l.start(l.Regions) + 2 }

// vector collects the headline numbers.
func (l Layout) vector(r *Result) Vector {
	v := make(Vector, l.len())
	for i := range v {
		v[i] = math.NaN()
	}
	put := func(region int, drag *float64, w *Wake) {
		if drag != nil {
			v[l.Drag(region)] = *drag
		}
		if w == nil {
			return
		}
		if w.Centroid != nil {
			v[l.Centroid(region, 0)], v[l.Centroid(region, 1)] = w.Centroid[0], w.Centroid[1]
		}
		for t, a := range w.Areas {
			v[l.Area(region, t)] = a.Area
		}
	}
	var drag *float64
	if r.Drag != nil && r.Drag.Momentum != nil {
		drag = &r.Drag.Momentum.DragArea
	}
	if d := r.Drag; d != nil {
		if d.WakeOnly != nil {
			v[l.Method("wake_only")] = d.WakeOnly.DragArea
		}
		if d.Jones != nil {
			v[l.Method("jones")] = d.Jones.DragArea
		}
	}
	put(Whole, drag, r.Wake)
	for k, g := range r.Regions {
		put(k, g.DragArea, g.Wake)
	}
	return v
}
