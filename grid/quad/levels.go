package quad

import (
	"math"

	"wakeledger/grid"
)

// Levels gives the areas above thresholds of many fields on one mesh that lie close
// to each other: those elements are worked once in which none of them comes near a
// threshold.
type Levels struct {
	m   *grid.Mesh // the samples' own
	box *grid.Box
	t   []float64
	// near has the other elements, of the finer mesh of Nodal; nil where nothing is
	// prepared. sum has, by blocks, the areas in those that are worked.
	near *band
	sum  [][]float64
}

// NewLevels prepares for fields that are nowhere further than the spread from f; both
// have one value a sample. For given cells, where the field between the samples is no
// mean of theirs, and with sample areas it prepares nothing, and Above is AreaAbove.
func NewLevels(m *grid.Mesh, box *grid.Box, f, spread []float64, thresholds []float64) *Levels {
	l := &Levels{m: m, box: box, t: thresholds}
	if m.SampleArea != nil || m.Kind == grid.KindCells {
		return l
	}
	size := make([]float64, len(spread))
	for i, d := range spread {
		size[i] = math.Abs(d)
	}
	mesh, fine := m.Nodal(f)
	_, size = m.Nodal(size)
	rows, step := aboveRows(mesh)
	l.sum = make([][]float64, (rows+step-1)/step)
	least := lowest(thresholds)
	l.near = newBand(mesh, fine, size, thresholds, func(b int) func(e int32) {
		l.sum[b] = make([]float64, len(thresholds))
		a := &above{m: mesh, box: box, f: fine, t: thresholds, sum: l.sum[b], least: least}
		return a.at
	})
	return l
}

// Above is AreaAbove of one of the fields, to rounding. Only the values of the samples
// that Mark marks are looked at.
func (l *Levels) Above(f []float64) []float64 {
	if l.near == nil {
		return AreaAbove(l.m, l.box, f, l.t)
	}
	_, f = l.m.Nodal(f)
	least := lowest(l.t)
	part := make([][]float64, len(l.sum))
	grid.Parallel(len(part), func(b int) {
		a := above{m: l.near.m, box: l.box, f: f, t: l.t, sum: append([]float64(nil), l.sum[b]...), least: least}
		for _, e := range l.near.open[b] {
			a.at(e)
		}
		part[b] = a.sum
	})
	return addUp(part, len(l.t))
}

// Mark adds the samples to the set that Above looks at.
func (l *Levels) Mark(set Marks) {
	if l.near == nil || l.near.m != l.m {
		set.addAll(len(l.m.Points))
		return
	}
	l.near.mark(set)
}
