package quad

import (
	"math"

	"wakeledger/grid"
)

// Slopes give what the area above a threshold changes by with the value of each
// sample: with A the area of AreaAbove, d the steps and e the unit vectors,
//
//	(A(f + dᵢeᵢ) − A(f − dᵢeᵢ)) / 2dᵢ
//
// in m² for a unit of f. A step of the size by which the samples are unsure makes that
// the mean slope over what they may be: where the field is flat at the threshold, the
// area cannot change by more than the elements about the sample. Where the mesh has
// sample areas, the level lines of its elements are taken all the same.
type Slopes struct {
	m    *grid.Mesh // the samples' own
	near *band      // of the finer one of Nodal
	box  *grid.Box
	out  []float64
}

// NewSlopes prepares for a field, steps that are not negative, and the thresholds that
// Above is to be asked for. A nil box means the whole mesh. An element with a NaN corner
// has no slopes.
func NewSlopes(m *grid.Mesh, box *grid.Box, f, step []float64, thresholds []float64) *Slopes {
	mesh, fine := m.Nodal(f)
	_, d := m.Nodal(step)
	return &Slopes{m: m, box: box, near: newBand(mesh, fine, d, thresholds, nil)}
}

// Mark adds the samples whose slope may be other than zero to a set.
func (s *Slopes) Mark(set Marks) {
	if s.near.m != s.m {
		set.addAll(len(s.m.Points))
		return
	}
	s.near.mark(set)
}

// Above returns the slopes at a threshold, one a sample of the mesh. The next call
// writes over them.
func (s *Slopes) Above(t float64) []float64 {
	mesh, f := s.near.m, s.near.f
	if s.out == nil {
		s.out = make([]float64, len(mesh.Points))
	}
	out := s.out
	clear(out)
	a := above{m: mesh, box: s.box, t: []float64{t}, sum: make([]float64, 1), least: t}
	var room [4]int32
	for _, list := range s.near.open {
		for _, e := range list {
			nodes := s.near.corners(e, &room)
			if lo, hi := s.near.reach(nodes); !(lo < t && t <= hi) {
				continue
			}
			var p [4]grid.Point
			var v [4]float64
			for k, n := range nodes {
				p[k], v[k] = mesh.Points[n], f[n]
			}
			for k, n := range nodes {
				d := math.Abs(s.near.spread[n])
				if d == 0 {
					continue
				}
				was := v[k]
				v[k] = was + d
				up := a.element(p[:len(nodes)], v[:len(nodes)])
				v[k] = was - d
				out[n] += (up - a.element(p[:len(nodes)], v[:len(nodes)])) / (2 * d)
				v[k] = was
			}
		}
	}
	return s.m.NodalBack(out)
}

// element is the area above the one threshold in a triangle, or in the four triangles
// about the centre of a quadrilateral.
func (a *above) element(p []grid.Point, v []float64) float64 {
	a.sum[0] = 0
	if len(p) == 3 {
		a.triangle([3]grid.Point(p), [3]float64(v))
		return a.sum[0]
	}
	mid := grid.Point{X: (p[0].X + p[2].X) / 2, Y: (p[0].Y + p[2].Y) / 2}
	mean := (v[0] + v[1] + v[2] + v[3]) / 4
	for k := range 4 {
		n := (k + 1) % 4
		a.triangle([3]grid.Point{p[k], p[n], mid}, [3]float64{v[k], v[n], mean})
	}
	return a.sum[0]
}
