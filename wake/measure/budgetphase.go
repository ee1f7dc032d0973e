package measure

import (
	"math"
	"math/cmplx"

	"wakeledger/grid"
)

// meeting is where on their way a level line meets the sides of a sample, or those of a line of samples by
// weights: the sums of exp(2πis) and of 6s(1−s) for the parts s, and the number of sides or the sum of the weights
// and of their squares.
type meeting struct {
	at                   complex128
	bend, sides, squares float64
	// apart is the sum of the squares of the sides' lengths.
	apart float64
}

// metAt has the sides that cross the level t by the samples at their ends; on a lattice by its axes.
func (m *measuring) metAt(t float64, sides []crossing) (out [2]map[int32]*meeting) {
	out = [2]map[int32]*meeting{{}, {}}
	p := m.plane.Mesh.Points
	for _, c := range sides {
		if f, g := m.weight[c.i], m.weight[c.j]; (f >= t) != (g >= t) {
			axis := 0
			if m.plane.Mesh.Kind == grid.KindLattice && p[c.i].X == p[c.j].X {
				axis = 1
			}
			s, x, y := (t-f)/(g-f), p[c.i].X-p[c.j].X, p[c.i].Y-p[c.j].Y
			up := s
			if m.plane.Mesh.Kind != grid.KindLattice && g < f {
				up = 1 - s
			}
			at, bend := cmplx.Exp(complex(0, 2*math.Pi*up)), 6*s*(1-s)
			for _, i := range [2]int32{c.i, c.j} {
				of := out[axis][i]
				if of == nil {
					of = &meeting{}
					out[axis][i] = of
				}
				of.at += at
				of.bend += bend
				of.sides++
				of.apart += x*x + y*y
			}
		}
	}
	return out
}

// addTo adds the meeting of a sample to that of its line, by weight.
func (m *meeting) addTo(lines map[int32]*meeting, line int32, weight float64) {
	of := lines[line]
	if of == nil {
		of = &meeting{}
		lines[line] = of
	}
	w := weight * cmplx.Abs(m.at)
	of.at += complex(weight, 0) * m.at
	of.bend += w * m.bend / m.sides
	of.sides += w
	of.squares += w * w
}

// common is the part of a line's sides that are met at one part of their way, and by what part chord errors
// there are more than the mean. The latter goes by the square of the former, less what it would be by
// chance: of n sides that are met anywhere it is 1/n.
func (m *meeting) common() (part, more float64) {
	if m.squares == 0 {
		return 0, 0
	}
	part = cmplx.Abs(m.at) / m.sides
	if n := m.sides * m.sides / m.squares; n > 1.01 && !math.IsInf(n, 1) {
		more = max(0, part*part*n-1) / (n - 1) * (m.bend/m.sides - 1)
	}
	return part, more
}
