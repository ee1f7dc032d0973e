package quad

import (
	"math"
	"math/bits"

	"wakeledger/grid"
)

// Levels gives the areas above thresholds of many fields on one mesh that lie close
// to each other: those elements are worked once in which none of them comes near a
// threshold.
type Levels struct {
	m    *grid.Mesh
	box  *grid.Box
	t    []float64
	near bool
	// open lists the elements of each block that a threshold may cross: triangles, or
	// places of the lattice with the quadrilateral above and to the right of them. sum
	// has the areas in the others.
	open [][]int32
	sum  [][]float64
}

// NewLevels prepares for fields that are nowhere further than the spread from f; both
// have one value a sample. Where the field is not given between the samples it
// prepares nothing, and Above is AreaAbove.
func NewLevels(m *grid.Mesh, box *grid.Box, f, spread []float64, thresholds []float64) *Levels {
	l := &Levels{m: m, box: box, t: thresholds}
	if m.SampleArea != nil || m.Kind != grid.KindTriangles && (m.Kind != grid.KindLattice || m.Support != grid.Nodes) {
		return l
	}
	l.near = true
	rows, step := aboveRows(m)
	n := (rows + step - 1) / step
	l.open, l.sum = make([][]int32, n), make([][]float64, n)
	least := lowest(thresholds)
	parallel(n, func(b int) {
		a := above{m: m, box: box, f: f, t: thresholds, sum: make([]float64, len(thresholds)), least: least}
		// open reports whether a threshold may cross an element with these corners.
		open := func(corners ...int32) bool {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, i := range corners {
				s := math.Abs(spread[i])
				lo, hi = min(lo, f[i]-s), max(hi, f[i]+s)
			}
			// The builtins give NaN where a corner has it; its element stays open.
			return !(lo <= hi) || a.between(lo, hi)
		}
		for r := b * step; r < min(rows, (b+1)*step); r++ {
			if m.Kind == grid.KindTriangles {
				if t := m.Triangles[3*r : 3*r+3]; open(t...) {
					l.open[b] = append(l.open[b], int32(r))
				} else {
					a.mesh(r)
				}
				continue
			}
			for i := range len(m.Lattice.X) - 1 {
				if c, ok := quadCorners(m.Lattice, i, r); ok && open(c[:]...) {
					l.open[b] = append(l.open[b], int32(r*len(m.Lattice.X)+i))
				} else if ok {
					a.quadrilateral(i, r)
				}
			}
		}
		l.sum[b] = a.sum
	})
	return l
}

// Above is AreaAbove of one of the fields, to rounding. Only the values of the samples
// that Mark marks are looked at.
func (l *Levels) Above(f []float64) []float64 {
	if !l.near {
		return AreaAbove(l.m, l.box, f, l.t)
	}
	least := lowest(l.t)
	part := make([][]float64, len(l.open))
	parallel(len(part), func(b int) {
		a := above{m: l.m, box: l.box, f: f, t: l.t, sum: append([]float64(nil), l.sum[b]...), least: least}
		for _, r := range l.open[b] {
			if l.m.Kind == grid.KindTriangles {
				a.mesh(int(r))
				continue
			}
			nx := len(l.m.Lattice.X)
			a.quadrilateral(int(r)%nx, int(r)/nx)
		}
		part[b] = a.sum
	})
	return addUp(part, len(l.t))
}

// Marks is a set of samples, made with one bit a sample.
type Marks []uint64

// NewMarks is an empty set of n samples.
func NewMarks(n int) Marks { return make(Marks, (n+63)/64) }

// Mark adds the samples to the set that Above looks at.
func (l *Levels) Mark(set Marks) {
	if !l.near {
		for i := range l.m.Points {
			set.add(int32(i))
		}
		return
	}
	for _, open := range l.open {
		for _, r := range open {
			if l.m.Kind == grid.KindTriangles {
				for _, i := range l.m.Triangles[3*r : 3*r+3] {
					set.add(i)
				}
				continue
			}
			nx := len(l.m.Lattice.X)
			c, _ := quadCorners(l.m.Lattice, int(r)%nx, int(r)/nx)
			for _, i := range c {
				set.add(i)
			}
		}
	}
}

func (s Marks) add(i int32) { s[i>>6] |= 1 << (i & 63) }

// Has reports whether a sample is in the set.
func (s Marks) Has(i int32) bool { return s[i>>6]>>(i&63)&1 != 0 }

// All lists the samples of the set in order.
func (s Marks) All() []int32 {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	out := make([]int32, 0, n)
	for k, w := range s {
		for ; w != 0; w &= w - 1 {
			out = append(out, int32(k<<6+bits.TrailingZeros64(w)))
		}
	}
	return out
}
