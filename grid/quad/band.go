package quad

import (
	"math"
	"math/bits"

	"wakeledger/grid"
)

// band is the elements of a mesh of nodes that a threshold may cross where a field is
// known to within a spread: what is asked at level lines looks at these alone.
type band struct {
	m         *grid.Mesh
	f, spread []float64
	// open lists them by blocks: triangles, or places of the lattice with the
	// quadrilateral above and to the right of them.
	open [][]int32
}

// newBand finds them. closed, if there is one, gives for each block what is called for its
// other elements, in their order.
func newBand(m *grid.Mesh, f, spread, thresholds []float64, closed func(block int) func(e int32)) *band {
	s := &band{m: m, f: f, spread: spread}
	rows, step := aboveRows(m)
	s.open = make([][]int32, (rows+step-1)/step)
	grid.Parallel(len(s.open), func(b int) {
		var room [4]int32
		a, far := above{t: thresholds}, func(int32) {}
		if closed != nil {
			far = closed(b)
		}
		each := func(e int32) {
			c := s.corners(e, &room)
			// The builtins give NaN where a corner has it; its element stays open.
			if len(c) == 0 {
				return
			}
			if lo, hi := s.reach(c); !(lo <= hi) || a.between(lo, hi) {
				s.open[b] = append(s.open[b], e)
			} else {
				far(e)
			}
		}
		for r := b * step; r < min(rows, (b+1)*step); r++ {
			if m.Kind != grid.KindLattice {
				each(int32(r))
				continue
			}
			nx := len(m.Lattice.X)
			for i := range nx - 1 {
				each(int32(r*nx + i))
			}
		}
	})
	return s
}

// corners are the nodes of an element, in room; none for a place of a lattice that is not
// full.
func (s *band) corners(e int32, room *[4]int32) []int32 {
	if s.m.Kind != grid.KindLattice {
		return append(room[:0], s.m.Triangles[3*e:3*e+3]...)
	}
	nx := len(s.m.Lattice.X)
	var ok bool
	if *room, ok = quadCorners(s.m.Lattice, int(e)%nx, int(e)/nx); !ok {
		return nil
	}
	return room[:]
}

// reach is how low and how high the field gets at nodes.
func (s *band) reach(nodes []int32) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, n := range nodes {
		d := math.Abs(s.spread[n])
		lo, hi = min(lo, s.f[n]-d), max(hi, s.f[n]+d)
	}
	return lo, hi
}

// mark adds the nodes of the band to a set.
func (s *band) mark(set Marks) {
	var room [4]int32
	for _, list := range s.open {
		for _, e := range list {
			for _, n := range s.corners(e, &room) {
				set.add(n)
			}
		}
	}
}

// Marks is a set of samples, made with one bit a sample.
type Marks []uint64

// NewMarks is an empty set of n samples.
func NewMarks(n int) Marks { return make(Marks, (n+63)/64) }

func (s Marks) add(i int32) { s[i>>6] |= 1 << (i & 63) }

func (s Marks) addAll(n int) {
	for i := range n {
		s.add(int32(i))
	}
}

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
