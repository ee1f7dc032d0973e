package compare

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake/uncertainty"
)

// ownItem is for a difference in a box that is d over the common samples and own over each
// plane's own: where a body fills a part of the box in one plane alone, the wake there is
// left out of the one and counted in the other. Which is meant is open, so the truth is
// taken to lie anywhere from d to own.
func (c *comparing) ownItem(d, own float64) []uncertainty.Item {
	if c.joined || !(math.Abs(own-d) > 1e-9) {
		return nil
	}
	return []uncertainty.Item{uncertainty.HalfWidth("own samples instead of the common ones", own-d)}
}

// ownOff is how far the centroid of each part moves along y when what lies
// above the threshold beside it, in places that the common samples lack, is counted as
// well: there the body of another configuration stands. A place goes to the part that
// reaches it first, step by step.
func (s *side) ownOff() []float64 {
	if s.off != nil {
		return s.off
	}
	set, own := s.Set, s.allField
	out := make([]float64, len(set.Structures))
	s.off = out
	if own == nil || own.Weight == nil {
		return out
	}
	common := s.field
	r := grid.RasterFor(own.Mesh, common.Mesh)
	if r == nil {
		return out
	}
	t := threshold(set) + own.Level
	lab := append([]int32{}, set.Labels(r)...)
	weight, _ := r.Sample(own.Mesh, own.Weight)
	covered, _ := r.Sample(common.Mesh, common.Weight)
	var next []int
	sums := make([][4]float64, len(out)) // ∫w and ∫yw over the common places, then over all
	add := func(place int) {
		sum, w, y := &sums[lab[place]], weight[place]-t, r.At(place).X
		if !(w > 0) {
			return
		}
		if !math.IsNaN(covered[place]) {
			sum[0] += w
			sum[1] += y * w
		}
		sum[2] += w
		sum[3] += y * w
	}
	for place, l := range lab {
		if l >= 0 {
			add(place)
			next = append(next, place)
		}
	}
	for k := 0; k < len(next); k++ {
		at := next[k]
		i := at % r.NX
		for _, n := range [4]struct {
			to int
			ok bool
		}{{at - 1, i > 0}, {at + 1, i < r.NX-1}, {at - r.NX, at >= r.NX}, {at + r.NX, at+r.NX < r.Len()}} {
			if n.ok && lab[n.to] < 0 && math.IsNaN(covered[n.to]) && weight[n.to] > t {
				lab[n.to] = lab[at]
				add(n.to)
				next = append(next, n.to)
			}
		}
	}
	for p, v := range sums {
		if v[0] > 0 {
			out[p] = v[3]/v[2] - v[1]/v[0]
		}
	}
	return out
}
