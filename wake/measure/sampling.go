package measure

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// Covers is the statement that goes with every budget of this version.
const Covers = "sampling distance and window edge; not the solver, the instruments, the time average or repeats"

// Coverage is the factor from standard to expanded uncertainty: k = 2, about 95 %
// for a normal distribution with many degrees of freedom.
const Coverage = 2

// Subsets holds the integral and the first moments of a field as each of the four
// interleaved subsets of the samples gives them.
type Subsets struct {
	Integral [4]float64
	Centroid [4]grid.Point
	// Any says whether all four subsets hold samples.
	Any bool
}

// NewSubsets recomputes the integral of f over a part of a mesh from each subset
// alone: with w the samples' weights, subset k gives Σw · Σₖwf / Σₖw, as a plane
// sampled twice as far apart would. subset comes from Mesh.Interleave.
func NewSubsets(m *grid.Mesh, part quad.Weights, subset []uint8, f func(i int) float64) Subsets {
	sum := part.IntegrateAll(16, func(i int, w float64, v []float64) {
		s, g, q := 4*int(subset[i]), w*f(i), m.Points[i]
		v[s] += w
		v[s+1] += g
		v[s+2] += g * q.X
		v[s+3] += g * q.Y
	})
	out := Subsets{Any: true}
	area := sum[0] + sum[4] + sum[8] + sum[12]
	for s := range 4 {
		v := sum[4*s : 4*s+4]
		if !(v[0] > 0) {
			out.Any = false
			continue
		}
		out.Integral[s] = area * v[1] / v[0]
		out.Centroid[s] = grid.Point{X: v[2] / v[1], Y: v[3] / v[1]}
	}
	return out
}

// halfRange is half the distance from the least to the greatest.
func halfRange(v [4]float64) float64 {
	lo, hi := v[0], v[0]
	for _, x := range v[1:] {
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	return (hi - lo) / 2
}

// Standard is the standard uncertainty that sampling brings to the integral: half
// the range of the four results, taken as the half-width of a rectangular
// distribution (divided by √3, JCGM 100 §4.3.7). It errs on the large side, since
// each subset has a quarter of the samples.
func (s Subsets) Standard() float64 { return halfRange(s.Integral) / math.Sqrt(3) }

// StandardCentroid is the same for the two coordinates of the centroid.
func (s Subsets) StandardCentroid() (x, y float64) {
	var cx, cy [4]float64
	for k, c := range s.Centroid {
		cx[k], cy[k] = c.X, c.Y
	}
	return halfRange(cx) / math.Sqrt(3), halfRange(cy) / math.Sqrt(3)
}

// NewBudget combines items by the root of the sum of squares.
func NewBudget(items ...Item) Budget {
	b := Budget{Items: items, Coverage: Coverage, Covers: Covers}
	for _, it := range items {
		b.Standard = math.Hypot(b.Standard, it.Standard)
	}
	b.Expanded = b.Coverage * b.Standard
	return b
}
