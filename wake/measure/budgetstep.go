package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
)

// step is what a level line is off by, in terms of the weight at a sample, where what is between
// two samples may be a step: off on the mean, and half the width within which it lies.
// Both are sums over so many sides.
type step struct{ off, half, sides float64 }

// crossing is a side of the mesh between samples i and j, with (∇f_i + ∇f_j)·d along it.
type crossing struct {
	i, j int32
	rise float64
}

// crossings are the sides that cross one of the levels, which rise. Cells have none between samples.
func (m *measuring) crossings(levels []float64) []crossing {
	if len(levels) == 0 {
		return nil
	}
	f, mesh := m.weight, m.plane.Mesh
	gx, gy := mesh.Gradient(f)
	least, most := levels[0], levels[len(levels)-1]
	var out []crossing
	if l := mesh.Lattice; mesh.Kind == grid.KindLattice {
		side := func(i, x, y int, d float64, g []float64) {
			if x < len(l.X) && y < len(l.Y) && l.At(x, y) >= 0 {
				j := l.At(x, y)
				if lo, hi := min(f[i], f[j]), max(f[i], f[j]); lo < most && hi >= least {
					out = append(out, crossing{int32(i), j, (g[i] + g[j]) * d})
				}
			}
		}
		for y := range l.Y {
			for x := range l.X {
				if i := int(l.At(x, y)); i >= 0 {
					side(i, x+1, y, l.X[min(x+1, len(l.X)-1)]-l.X[x], gx)
					side(i, x, y+1, l.Y[min(y+1, len(l.Y)-1)]-l.Y[y], gy)
				}
			}
		}
	}
	for k := 0; k+2 < len(mesh.Triangles); k += 3 {
		c := [3]int32(mesh.Triangles[k:])
		if hi := max(f[c[0]], f[c[1]], f[c[2]]); hi < least || min(f[c[0]], f[c[1]], f[c[2]]) >= most {
			continue
		}
		for s, i := range c {
			j := c[(s+1)%3]
			a, b := mesh.Points[i], mesh.Points[j]
			out = append(out, crossing{i, j, (gx[i]+gx[j])*(b.X-a.X) + (gy[i]+gy[j])*(b.Y-a.Y)})
		}
	}
	return out
}

// steps finds those of the level t. Where the field runs straight on, a level line crosses a side
// of the mesh where the straight line between its samples f₀ and f₁ does; in a step it may cross
// anywhere, in the middle on the mean, where the straight line is at (f₀ + f₁)/2. With
//
//	q = ((∇f₀ + ∇f₁)·d − (f₁ − f₀)) / (f₁ − f₀), from 0 to 1
//
// which is the rise of the neighbours along a side over its own, since the mean gradient holds
// either by a half, a side is off by the part 1 − q of that, and lies within the part 1 − 3q of half
// its rise; where that is nothing it is not off (an error function whose neighbouring sides rise by a third shows where its middle is; our
// choice). A sample has the means over its sides that cross t, 0 without one. Of a
// Gaussian wake little is left, since its level lines cross sides at all parts alike.
func (m *measuring) steps(t float64, sides []crossing) map[int32]step {
	f, out := m.weight, map[int32]step{}
	for _, c := range sides {
		i, j := c.i, c.j
		if (f[i] >= t) == (f[j] >= t) {
			continue
		}
		df := f[j] - f[i]
		q := min(1, max(0, c.rise/df-1))
		off, half := ((f[i]+f[j])/2-t)*(1-q), math.Abs(df)/2*max(0, 1-3*q)
		if half == 0 {
			off = 0
		}
		for _, s := range [2]int32{i, j} {
			of := out[s]
			out[s] = step{of.off + off, of.half + half, of.sides + 1}
		}
	}
	return out
}

// ofSteps are the mean by which an area of the given slopes is off, and the square of half the
// width that it lies within. Samples in a line that all stand at a step are off alike, and so are those on its
// other side, hence the 2: that is what a line has in common beyond the four samples of two sides that cross it. Two
// wakes side by side have eight, and are taken a little too wide. Where samples share no lines a level line crosses
// about two sides at each sample, which are off with the samples at their other ends: each counts thrice (by trial,
// of steps among scattered samples).
func (m *measuring) ofSteps(slope []float64, near []int32, steps map[int32]step, bends []bend) (off, half2 float64) {
	half := make([]float64, len(slope))
	for _, i := range near {
		if at := steps[i]; at.sides > 0 {
			off += slope[i] * at.off / at.sides
			half[i] = slope[i] * at.half / at.sides
		}
	}
	if len(bends[0].lines) == 0 {
		return off, 3 * floats.Dot(half, half)
	}
	for _, b := range bends {
		for _, l := range b.lines {
			sum, squares := make([]float64, l.n), make([]float64, l.n)
			for _, i := range near {
				sum[l.of[i]] += half[i]
				squares[l.of[i]] += half[i] * half[i]
			}
			for j, s := range sum {
				half2 += 2 * max(0, s*s-4*squares[j])
			}
		}
	}
	return off, half2
}
