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
	mesh *grid.Mesh // the finer one of Nodal
	box  *grid.Box
	f, d []float64
	// open lists, by blocks, the elements that one of the thresholds may cross.
	open [][]int32
	out  []float64
}

// NewSlopes prepares for a field, steps that are not negative, and the thresholds that
// Above is to be asked for. A nil box means the whole mesh. An element with a NaN corner
// has no slopes.
func NewSlopes(m *grid.Mesh, box *grid.Box, f, step []float64, thresholds []float64) *Slopes {
	s := &Slopes{m: m, box: box}
	s.mesh, s.f = m.Nodal(f)
	_, s.d = m.Nodal(step)
	n := s.elements()
	size := block / 8
	s.open = make([][]int32, (n+size-1)/size)
	parallel(len(s.open), func(b int) {
		for e := b * size; e < min(n, (b+1)*size); e++ {
			var room [4]int32
			if lo, hi, ok := s.reach(s.corners(e, &room)); ok {
				a := above{t: thresholds}
				if a.between(lo, hi) {
					s.open[b] = append(s.open[b], int32(e))
				}
			}
		}
	})
	return s
}

func (s *Slopes) elements() int {
	if s.mesh.Kind == grid.KindLattice {
		return (len(s.mesh.Lattice.X) - 1) * (len(s.mesh.Lattice.Y) - 1)
	}
	return len(s.mesh.Triangles) / 3
}

// corners are the nodes of element e, in room; none for a place of a lattice that is
// not full.
func (s *Slopes) corners(e int, room *[4]int32) []int32 {
	if s.mesh.Kind != grid.KindLattice {
		return append(room[:0], s.mesh.Triangles[3*e:3*e+3]...)
	}
	l := s.mesh.Lattice
	i, j := e%(len(l.X)-1), e/(len(l.X)-1)
	if !l.Full(i, j) {
		return nil
	}
	return append(room[:0], l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1))
}

// reach is how low and how high the field gets within an element's steps.
func (s *Slopes) reach(nodes []int32) (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, n := range nodes {
		d := math.Abs(s.d[n])
		lo, hi = min(lo, s.f[n]-d), max(hi, s.f[n]+d)
	}
	return lo, hi, lo <= hi
}

// Mark adds the samples whose slope may be other than nought to a set.
func (s *Slopes) Mark(set Marks) {
	if s.mesh != s.m {
		for i := range s.m.Points {
			set.add(int32(i))
		}
		return
	}
	var room [4]int32
	for _, list := range s.open {
		for _, e := range list {
			for _, n := range s.corners(int(e), &room) {
				set.add(n)
			}
		}
	}
}

// Above returns the slopes at a threshold, one a sample of the mesh. The next call
// writes over them.
func (s *Slopes) Above(t float64) []float64 {
	if s.out == nil {
		s.out = make([]float64, len(s.mesh.Points))
	}
	out := s.out
	clear(out)
	a := above{m: s.mesh, box: s.box, t: []float64{t}, sum: make([]float64, 1), least: t}
	var room [4]int32
	for _, list := range s.open {
		for _, e := range list {
			nodes := s.corners(int(e), &room)
			if lo, hi, _ := s.reach(nodes); !(lo < t && t <= hi) {
				continue
			}
			var p [4]grid.Point
			var v [4]float64
			for k, n := range nodes {
				p[k], v[k] = s.mesh.Points[n], s.f[n]
			}
			for k, n := range nodes {
				d := math.Abs(s.d[n])
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
