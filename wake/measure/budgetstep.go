package measure

import "wakeledger/grid"

// step is what a level line is off by, in terms of the weight at a sample, where what is between
// two samples may be a step: off on the mean, and half the width within which it lies.
type step struct{ off, half float64 }

// steps finds those of the level t. Where the field runs straight on, a level line crosses a side
// of the mesh where the straight line between its samples f₀ and f₁ does; in a step it may cross
// anywhere, in the middle on the mean, where the straight line is at (f₀ + f₁)/2. With
//
//	q = ((∇f₀ + ∇f₁)·d − (f₁ − f₀)) / (f₁ − f₀), from 0 to 1
//
// which is the rise of the neighbours along a side over its own, since the mean gradient holds
// either by a half, a side is off by the part 1 − q of that, and lies within the part 1 − 3q of
// half its rise (an error function whose neighbouring sides rise by a third shows where its
// middle is; our choice). A sample has the means over its sides that cross t, 0 without one. Of a
// Gaussian wake little is left, since its level lines cross sides at all parts alike. Cells have
// no sides between samples: 0.
func (m *measuring) steps(t float64, gx, gy []float64) []step {
	f, mesh := m.weight, m.plane.Mesh
	out, n := make([]step, len(f)), make([]float64, len(f))
	// rise is (∇f₀ + ∇f₁)·d.
	side := func(i, j int32, rise float64) {
		if (f[i] >= t) == (f[j] >= t) {
			return
		}
		df := f[j] - f[i]
		q := min(1, max(0, rise/df-1))
		for _, s := range [2]int32{i, j} {
			out[s].off += ((f[i]+f[j])/2 - t) * (1 - q)
			out[s].half += max(df, -df) / 2 * max(0, 1-3*q)
			n[s]++
		}
	}
	if l := mesh.Lattice; mesh.Kind == grid.KindLattice {
		for y := range l.Y {
			for x := range l.X {
				i := l.At(x, y)
				if i < 0 {
					continue
				}
				if x+1 < len(l.X) && l.At(x+1, y) >= 0 {
					j := l.At(x+1, y)
					side(i, j, (gx[i]+gx[j])*(l.X[x+1]-l.X[x]))
				}
				if y+1 < len(l.Y) && l.At(x, y+1) >= 0 {
					j := l.At(x, y+1)
					side(i, j, (gy[i]+gy[j])*(l.Y[y+1]-l.Y[y]))
				}
			}
		}
	}
	for k := range mesh.Triangles {
		i, j := mesh.Triangles[k], mesh.Triangles[k-k%3+(k+1)%3]
		a, b := mesh.Points[i], mesh.Points[j]
		side(i, j, (gx[i]+gx[j])*(b.X-a.X)+(gy[i]+gy[j])*(b.Y-a.Y))
	}
	for i := range out {
		out[i].off, out[i].half = out[i].off/max(n[i], 1), out[i].half/max(n[i], 1)
	}
	return out
}

// ofSteps are the mean by which an area of the given slopes is off, and the square of half the
// width that it lies within. Samples in a row of a lattice that all stand at a step are off alike,
// and so are those on its other side; one that runs across the rows is off by turns, and hardly on
// the mean. Elsewhere each sample is off by itself.
func (m *measuring) ofSteps(slope []float64, near []int32, steps []step) (off, half2 float64) {
	half := make([]float64, len(slope))
	for _, i := range near {
		off += slope[i] * steps[i].off
		half[i] = slope[i] * steps[i].half
	}
	l := m.plane.Mesh.Lattice
	if m.plane.Mesh.Kind != grid.KindLattice {
		for _, c := range half {
			half2 += c * c
		}
		return off, half2
	}
	row := func(start, by, n int) {
		// Of a run of samples, the products of those that are two and more apart.
		sum, last := 0.0, 0.0
		for k := range n {
			s := l.Index[start+k*by]
			if s < 0 || half[s] == 0 {
				sum, last = 0, 0
				continue
			}
			half2 += 4 * half[s] * (sum - last)
			sum, last = sum+half[s], half[s]
		}
	}
	for j := range l.Y {
		row(j*len(l.X), 1, len(l.X))
	}
	for i := range l.X {
		row(i, len(l.X), len(l.Y))
	}
	return off, max(0, half2)
}
