package quad

import (
	"math"

	"wakeledger/grid"
)

// Levels gives the areas above thresholds of many fields on one mesh that lie close
// to each other: those triangles are worked once in which none of them comes near a
// threshold.
type Levels struct {
	m    *grid.Mesh
	box  *grid.Box
	t    []float64
	near bool
	// open lists the triangles of each block that a threshold may cross, and sum has
	// the areas in the others.
	open [][]int32
	sum  [][]float64
}

// NewLevels prepares for fields that are nowhere further than the spread from f; both
// have one value a sample. Where the mesh is not one of triangles between samples it
// prepares nothing, and Above is AreaAbove.
func NewLevels(m *grid.Mesh, box *grid.Box, f, spread []float64, thresholds []float64) *Levels {
	l := &Levels{m: m, box: box, t: thresholds}
	if m.SampleArea != nil || m.Kind != grid.KindTriangles {
		return l
	}
	l.near = true
	rows, step := aboveRows(m)
	n := (rows + step - 1) / step
	l.open, l.sum = make([][]int32, n), make([][]float64, n)
	least := lowest(thresholds)
	parallel(n, func(b int) {
		a := above{m: m, box: box, f: f, t: thresholds, sum: make([]float64, len(thresholds)), least: least}
		for r := b * step; r < min(rows, (b+1)*step); r++ {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, i := range m.Triangles[3*r : 3*r+3] {
				lo, hi = min(lo, f[i]-math.Abs(spread[i])), max(hi, f[i]+math.Abs(spread[i]))
			}
			// The builtins give NaN where a corner has it; its triangle stays open.
			if !(lo <= hi) || a.between(lo, hi) {
				l.open[b] = append(l.open[b], int32(r))
				continue
			}
			a.mesh(r)
		}
		l.sum[b] = a.sum
	})
	return l
}

// Above is AreaAbove of one of the fields, to rounding.
func (l *Levels) Above(f []float64) []float64 {
	if !l.near {
		return AreaAbove(l.m, l.box, f, l.t)
	}
	least := lowest(l.t)
	part := make([][]float64, len(l.open))
	parallel(len(part), func(b int) {
		a := above{m: l.m, box: l.box, f: f, t: l.t, sum: append([]float64(nil), l.sum[b]...), least: least}
		for _, r := range l.open[b] {
			a.mesh(int(r))
		}
		part[b] = a.sum
	})
	return addUp(part, len(l.t))
}
