package quad

import (
	"math"

	"wakeledger/grid"
)

// Levels gives the areas above thresholds, in boxes, of many fields on one mesh that lie
// close to each other, and the slopes of those areas: those elements are worked once in
// which none of the fields comes near a threshold.
type Levels struct {
	m *grid.Mesh // the samples' own
	// of is what is added up of the finer mesh of Nodal, f the field there and spread how far
	// others may lie from it.
	of        *above
	f, spread []float64
	// open has, by blocks, the elements that a threshold may cross, closed the areas in the
	// others; nil where there are none.
	open   [][]openElement
	closed [][]float64
	// part are the nodes of the open elements, room is for fields and out for slopes there.
	part      *grid.NodalPart
	room, out []float64
}

// openElement is the number of an element, and how low and how high the fields get at its corners.
type openElement struct {
	number int32
	lo, hi float64
}

// NewLevels prepares for fields that are nowhere further than the spread from f; both
// have one value a sample. A nil box means the whole mesh. For given cells, where the
// field between the samples is no mean of theirs, and with sample areas Above is AreaAbove.
func NewLevels(m *grid.Mesh, boxes []*grid.Box, f, spread, thresholds []float64) *Levels {
	size := grid.Fill(len(spread), func(i int) float64 { return math.Abs(spread[i]) })
	l := &Levels{m: m}
	mesh, fine := m.Nodal(f)
	l.of, l.f = newAbove(mesh, boxes, thresholds), fine
	_, l.spread = m.Nodal(size)
	for i, d := range l.spread {
		l.spread[i] = math.Abs(d)
	}
	l.open = make([][]openElement, l.of.blocks())
	if m.SampleArea == nil && m.Kind != grid.KindCells {
		l.closed = make([][]float64, len(l.open))
	}
	grid.Parallel(len(l.open), func(b int) {
		sum := make([]float64, l.of.numbers())
		l.of.each(b, func(e *element) {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, n := range e.nodes {
				lo, hi = min(lo, fine[n]-l.spread[n]), max(hi, fine[n]+l.spread[n])
			}
			switch {
			case !(lo <= hi) || l.of.between(lo, hi):
				l.open[b] = append(l.open[b], openElement{e.number, lo, hi})
			case l.closed != nil:
				l.of.add(e, fine, sum)
			}
		})
		if l.closed != nil {
			l.closed[b] = sum
		}
	})
	var nodes []int32 // of the open elements, where they are other than the samples
	if mesh != m && m.Kind != grid.KindCells {
		l.room = make([]float64, len(fine))
		set := make(Marks, len(fine))
		l.markOpen(set)
		nodes = set.All()
	}
	l.part = m.NodalPart(nodes)
	return l
}

// markOpen adds the nodes of the open elements to a set.
func (l *Levels) markOpen(set Marks) {
	var e element
	for _, list := range l.open {
		for _, o := range list {
			l.of.at(&e, o.number)
			for _, n := range e.nodes {
				set[n] = true
			}
		}
	}
}

// Above is AreaAbove of one of the fields, by boxes, to rounding. Only the values of the
// samples that Mark marks are looked at.
func (l *Levels) Above(f []float64) [][]float64 {
	if l.closed == nil {
		return AreaAbove(l.m, l.of.boxes, f, l.of.t)
	}
	f = l.part.Field(f, l.room)
	sum := make([][]float64, len(l.open))
	grid.Parallel(len(sum), func(b int) {
		var e element
		sum[b] = append([]float64(nil), l.closed[b]...)
		for _, o := range l.open[b] {
			l.of.at(&e, o.number)
			l.of.add(&e, f, sum[b])
		}
	})
	return l.of.addUp(sum)
}

// Mark adds the samples to a set that Above looks at, and those whose slope may be other
// than zero.
func (l *Levels) Mark(set Marks) {
	switch {
	case l.closed == nil:
		for i := range set {
			set[i] = true
		}
	case l.room != nil:
		l.part.Cells(func(i int32) { set[i] = true })
	default:
		l.markOpen(set)
	}
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
	if l.out == nil {
		l.out = make([]float64, len(l.f))
	}
	clear(l.out)
	a := newAbove(l.of.m, l.of.boxes[k:k+1], []float64{t})
	var e element
	var sum [1]float64
	for _, list := range l.open {
		for _, o := range list {
			if !(o.lo < t && t <= o.hi) {
				continue
			}
			a.at(&e, o.number)
			if area, _ := a.area(&e, 0); area == 0 {
				continue
			}
			var v [4]float64
			for k, n := range e.nodes {
				v[k] = l.f[n]
			}
			for k, n := range e.nodes {
				d := l.spread[n]
				if d == 0 {
					continue
				}
				var area [2]float64
				for side, x := range [2]float64{v[k] + d, v[k] - d} {
					was := v[k]
					v[k], sum[0] = x, 0
					a.addValues(&e, v[:len(e.nodes)], sum[:])
					v[k], area[side] = was, sum[0]
				}
				l.out[n] += (area[0] - area[1]) / (2 * d)
			}
		}
	}
	return l.part.Back(l.out)
}

// Marks is a set of samples: which of them are in it.
type Marks []bool

// All lists the samples of the set in order.
func (s Marks) All() []int32 { return grid.Where(len(s), func(i int32) bool { return s[i] }) }
