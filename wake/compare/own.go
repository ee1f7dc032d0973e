package compare

import (
	"math"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// ownOf is plane k measured over all of its own samples.
func (c *comparing) ownOf(k int) *measure.Result {
	if c.ownResults[k] != nil {
		return c.ownResults[k]
	}
	return c.all[k].Result
}

// ownMove is the lateral move of the centroid in a box over each plane's own samples; NaN
// without one, and where windows of planes differ, which are measured on their own anyhow.
func (c *comparing) ownMove(k, region int) float64 {
	a, b := c.ownOf(c.from), c.ownOf(k)
	if c.joined || region == measure.Whole || a.Regions[region].Centroid == nil || b.Regions[region].Centroid == nil {
		return math.NaN()
	}
	return b.Regions[region].Centroid[0] - a.Regions[region].Centroid[0]
}

// ownItem is for a difference in a box that is d over the common samples and own over each
// plane's own: where a body fills a part of the box in one plane alone, the wake there is
// left out of the one and counted in the other. Which is meant is open, so the truth is
// taken to lie anywhere from d to own.
func (c *comparing) ownItem(d, own float64) []uncertainty.Item {
	if c.joined || !(math.Abs(own-d) > 1e-9) {
		return nil
	}
	return []uncertainty.Item{{Name: "own samples instead of the common ones", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(own-d) / math.Sqrt(3), Distribution: uncertainty.Rectangular}}
}

// ownOff is how far the centroid of each part of plane k moves along y when what lies
// above the threshold beside it, in places that the common samples lack, is counted as
// well: there the body of another configuration stands. A place goes to the part that
// reaches it first, step by step.
func (c *comparing) ownOff(k int) []float64 {
	if c.ownOffs[k] != nil {
		return c.ownOffs[k]
	}
	set, own := c.sets[k], c.ownFields[k]
	out := make([]float64, len(set.Structures))
	c.ownOffs[k] = out
	if own == nil || own.Weight == nil {
		return out
	}
	common := set.Field()
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
		s, w, y := &sums[lab[place]], weight[place]-t, r.At(place).X
		if !(w > 0) {
			return
		}
		if !math.IsNaN(covered[place]) {
			s[0] += w
			s[1] += y * w
		}
		s[2] += w
		s[3] += y * w
	}
	for place, l := range lab {
		if l >= 0 {
			add(place)
			next = append(next, place)
		}
	}
	for len(next) > 0 {
		at := next[0]
		next = next[1:]
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
	for p, s := range sums {
		if s[0] > 0 {
			out[p] = s[3]/s[2] - s[1]/s[0]
		}
	}
	return out
}
