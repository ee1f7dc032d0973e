package measure

import (
	"math"

	"wakeledger/grid"
)

// endPart is the sag of a field between the first two lines of samples, of which an eighth of its second
// difference is the most, within a rectangular distribution: 1/(8√3). The first line has half of
// the slope of a level line between the two, and linear.phase is multiplied by phaseVariance: 2/√phaseVariance.
const endPart = 2 * 0.0722 / 0.447

// atEnds is what level lines that run along the border of a lattice, between its first two lines, add to
// linear.phase. No sample on the far side shows how the field is curved there (a layer at a floor): it may be,
// either way, as much as at the larger of the next two lines. What of the first line is met tells how far
// the level line runs along.
func (m *measuring) atEnds(slope []float64, met [2]map[int32]*meeting) (squares float64) {
	l := m.plane.Mesh.Lattice
	if m.plane.Mesh.Kind != grid.KindLattice {
		return 0
	}
	for axis, at := range met {
		if len(at) == 0 {
			continue
		}
		a, n, by, in := l.X, len(l.Y), len(l.X), 1
		if axis == 1 {
			a, n, by, in = l.Y, len(l.X), 1, len(l.X)
		}
		if len(a) < 4 {
			continue
		}
		for _, end := range [2][3]int{{0, 1, 2}, {len(a) - 1, len(a) - 2, len(a) - 3}} {
			var sum, own float64
			for j := range n {
				s := l.Index[j*by+end[0]*in]
				if s >= 0 && at[s] != nil {
					c := secondDifference(l, m.weight, a, end[1], j*by, in)
					if d := secondDifference(l, m.weight, a, end[2], j*by, in); math.Abs(d) > math.Abs(c) {
						c = d
					}
					c *= endPart * slope[s]
					sum, own = sum+c, own+c*c
				}
			}
			squares += max(0, sum*sum-3*own) // what more than three have in common
		}
	}
	return squares
}
