package quad

import (
	"math"

	"wakeledger/grid"
)

// Levels gives the areas above thresholds, in boxes, of many fields on one mesh that lie
// close to each other, and the slopes of those areas: those elements are worked once in
// which none of the fields comes near a threshold.
type Levels struct {
	m     *grid.Mesh // the samples' own
	boxes []*grid.Box
	t     []float64
	// near has the other elements, of the finer mesh of Nodal. sum has, by blocks and boxes,
	// the areas in those that are worked; nil where there are none.
	near *band
	sum  [][][]float64
	out  []float64
}

// NewLevels prepares for fields that are nowhere further than the spread from f; both
// have one value a sample. A nil box means the whole mesh. For given cells, where the
// field between the samples is no mean of theirs, and with sample areas Above is AreaAbove.
func NewLevels(m *grid.Mesh, boxes []*grid.Box, f, spread, thresholds []float64) *Levels {
	l := &Levels{m: m, boxes: boxes, t: thresholds}
	size := make([]float64, len(spread))
	for i, d := range spread {
		size[i] = math.Abs(d)
	}
	mesh, fine := m.Nodal(f)
	_, size = m.Nodal(size)
	if m.SampleArea != nil || m.Kind == grid.KindCells {
		l.near = newBand(mesh, fine, size, thresholds, nil)
		return l
	}
	rows, step := aboveRows(mesh)
	l.sum = make([][][]float64, (rows+step-1)/step)
	l.near = newBand(mesh, fine, size, thresholds, func(b int) func(e int32) {
		a := l.in(fine)
		for _, box := range a {
			l.sum[b] = append(l.sum[b], box.sum)
		}
		return func(e int32) {
			for k := range a {
				a[k].at(e)
			}
		}
	})
	return l
}

// in is what adds up the areas of a field of the finer mesh, by boxes.
func (l *Levels) in(f []float64) []above {
	mesh, least := l.m.NodalMesh(), lowest(l.t)
	a := make([]above, len(l.boxes))
	for k, box := range l.boxes {
		a[k] = above{m: mesh, box: box, f: f, t: l.t, sum: make([]float64, len(l.t)), least: least}
	}
	return a
}

// Above is AreaAbove of one of the fields, by boxes, to rounding. Only the values of the
// samples that Mark marks are looked at.
func (l *Levels) Above(f []float64) [][]float64 {
	out := make([][]float64, len(l.boxes))
	if l.sum == nil {
		for k, box := range l.boxes {
			out[k] = AreaAbove(l.m, box, f, l.t)
		}
		return out
	}
	_, f = l.m.Nodal(f)
	part := make([][]above, len(l.sum))
	grid.Parallel(len(part), func(b int) {
		part[b] = l.in(f)
		for k := range l.boxes {
			copy(part[b][k].sum, l.sum[b][k])
		}
		for _, e := range l.near.open[b] {
			for k := range l.boxes {
				part[b][k].at(e)
			}
		}
	})
	for k := range l.boxes {
		sums := make([][]float64, len(part))
		for b := range part {
			sums[b] = part[b][k].sum
		}
		out[k] = addUp(sums, len(l.t))
	}
	return out
}

// Mark adds the samples to a set that Above looks at, and those whose slope may be other
// than zero.
func (l *Levels) Mark(set Marks) {
	if l.near.m != l.m || l.sum == nil {
		set.addAll(len(l.m.Points))
		return
	}
	l.near.mark(set)
}

// Slopes are what the area in box k above one of the thresholds changes by with the value
// of each sample: with A the area of AreaAbove, d the spread and e the unit vectors,
//
//	(A(f + dᵢeᵢ) − A(f − dᵢeᵢ)) / 2dᵢ
//
// in m² for a unit of f, one a sample of the mesh. A spread of the size by which the
// samples are unsure makes that the mean slope over what they may be: where the field is
// flat at the threshold, the area cannot change by more than the elements about the
// sample. An element with a NaN corner has no slopes. Where the mesh has sample areas, the
// level lines of its elements are taken all the same. The next call writes over the result.
func (l *Levels) Slopes(k int, t float64) []float64 {
	mesh, f := l.near.m, l.near.f
	if l.out == nil {
		l.out = make([]float64, len(mesh.Points))
	}
	out := l.out
	clear(out)
	a := above{m: mesh, box: l.boxes[k], t: []float64{t}, sum: make([]float64, 1), least: t}
	var room [4]int32
	for _, list := range l.near.open {
		for _, e := range list {
			nodes := l.near.corners(e, &room)
			if lo, hi := l.near.reach(nodes); !(lo < t && t <= hi) {
				continue
			}
			var p [4]grid.Point
			var v [4]float64
			for k, n := range nodes {
				p[k], v[k] = mesh.Points[n], f[n]
			}
			for k, n := range nodes {
				d := math.Abs(l.near.spread[n])
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
	return l.m.NodalBack(out)
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
