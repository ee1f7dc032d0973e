package parts

import (
	"cmp"
	"math"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// heldFor is how many samples in a row must be at or above the threshold, counted from
// outside, so that a single noisy one is no edge.
const heldFor = 3

// TopView holds the wake's edges in a plane along the stream (normal z: X of the
// mesh is x, Y is y). No drag is claimed from it.
type TopView struct {
	measure.TopEdges

	// Step is the distance of samples across the stream, m.
	Step float64
}

// NewTopView finds the wake's edges y(x) on both sides, where the weight passes a threshold
// (0 means DefaultThreshold): one pair for each column of
// samples (scattered samples are first interpolated linearly on a lattice as fine as
// they are). Between samples the weight is linear.
func NewTopView(f *Field, threshold float64) (*TopView, error) {
	threshold = cmp.Or(threshold, DefaultThreshold)
	r := grid.RasterFor(f.Mesh, f.Mesh)
	if r == nil {
		return nil, &wake.InputError{File: f.Name, Text: "the plane is too small for a row of samples", Cure: "survey a larger plane"}
	}
	w, _ := r.Sample(f.Mesh, f.Weight)
	t := &TopView{TopEdges: measure.TopEdges{Name: f.Name, Height: f.Position, Threshold: threshold, Level: f.Level}, Step: r.DY}
	for i := range r.NX {
		p := measure.TopPoint{X: r.X(i), Left: inward(r, w, i, -1, threshold), Right: inward(r, w, i, 1, threshold)}
		p.Width = Minus(p.Right, p.Left)
		t.Columns = append(t.Columns, p)
	}
	return t, nil
}

// Minus is p − q; nil where either is missing.
func Minus(p, q *float64) *float64 {
	if p == nil || q == nil {
		return nil
	}
	d := *p - *q
	return &d
}

// inward looks for the edge in column i from the side dir (+1: from +y) inward. A
// run that ends at a body counts.
func inward(r *grid.Raster, w []float64, i, dir int, threshold float64) *float64 {
	held := func(j int) bool {
		for n := range heldFor {
			q := j - n*dir
			if q < 0 || q >= r.NY || w[q*r.NX+i] < threshold {
				return false
			}
			if math.IsNaN(w[q*r.NX+i]) {
				break
			}
		}
		return true
	}
	start := 0
	if dir > 0 {
		start = r.NY - 1
	}
	for j := start; j >= 0 && j < r.NY; j -= dir {
		v := w[j*r.NX+i]
		if math.IsNaN(v) {
			return nil
		}
		if !held(j) {
			continue
		}
		if j == start {
			return nil
		}
		out := w[(j+dir)*r.NX+i]
		y := r.Y(j) + float64(dir)*r.DY*(v-threshold)/(v-out)
		return &y
	}
	return nil
}
