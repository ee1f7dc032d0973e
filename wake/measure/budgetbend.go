package measure

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// sameLine, of the plane's side, is less than any distance of samples and more than rounding.
const sameLine = 1e-6

// secondDifference is h²f″ over three neighbours on one of a lattice's lines, those of
// the samples start + (k−1…k+1)·step in its index, h² being the product of the two
// distances; 0 where one of them is missing.
func secondDifference(l *grid.Lattice, f, a []float64, k, start, step int) float64 {
	if k <= 0 || k >= len(a)-1 {
		return 0
	}
	s := [3]int32{l.Index[start+(k-1)*step], l.Index[start+k*step], l.Index[start+(k+1)*step]}
	if s[0] < 0 || s[1] < 0 || s[2] < 0 {
		return 0
	}
	h0, h1 := a[k]-a[k-1], a[k+1]-a[k]
	return 2 * (h0*(f[s[2]]-f[s[1]]) - h1*(f[s[1]]-f[s[0]])) / (h0 + h1)
}

// latticeChord fills in the chord error of a field on a lattice.
func latticeChord(l *grid.Lattice, f, out []float64) {
	nx, ny := len(l.X), len(l.Y)
	for j := range ny {
		for i := range nx {
			if s := l.Index[j*nx+i]; s >= 0 {
				out[s] = (secondDifference(l, f, l.X, i, j*nx, 1) + secondDifference(l, f, l.Y, j, i, nx)) / 12
			}
		}
	}
}

// bends are the chord errors that level lines of the weight feel: on a lattice along
// either axis, to the fourth order. With δ² the second difference, straight lines
// between samples lie above the field on the mean by
//
//	δ²f/12 − δ⁴f/240
//
// which has the two terms k²h²/12 and −k⁴h⁴/360 of 1 − (sin(kh/2)/(kh/2))² for a wave of
// wave number k. Elsewhere there is one, of no direction. Both are smoothed, since the
// scatter of a sample has part in its own chord error, with the opposite sign: where it
// moves a level line out, the line would seem to belong further in: with marks, those
// samples alone, and once, which many samples along a line make up for.
func (m *measuring) bends(marks quad.Marks, near []int32) []bend {
	l := m.plane.Mesh.Lattice
	if l == nil {
		chord := m.weightScatter().chord
		smooth := neighbourMean(m.plane.Mesh, chord, marks)
		if marks == nil {
			smooth = levelSmooth(m.plane.Mesh, chord)
		}
		// A third of how far a sample lies below its neighbours, of whom the mean over all has six
		// sevenths inside; of cells, 4/3 of how far below the mean at its corners.
		part := 7.0 / 18
		if m.plane.Mesh.Kind == grid.KindCells {
			part = 4.0 / 3
		}
		return []bend{{
			lines:  m.shared(near),
			chord:  func(i int32) float64 { return chord[i] },
			smooth: func(i int32) float64 { return smooth[i] },
			of: func(f []float64) func(i int32) float64 {
				mean := neighbourMean(m.plane.Mesh, f, marks)
				return func(i int32) float64 { return part * (mean[i] - f[i]) }
			},
		}}
	}
	nx := len(l.X)
	row, column := make([]int32, len(m.weight)), make([]int32, len(m.weight))
	for k, s := range l.Index {
		if s >= 0 {
			row[s], column[s] = int32(k/nx), int32(k%nx)
		}
	}
	along := func(a []float64, line []int32, place func(i int32) (k, start, step int)) bend {
		of := func(f []float64, i int32) float64 {
			k, start, step := place(i)
			return secondDifference(l, f, a, k, start, step)
		}
		second := func(i int32) float64 { return of(m.weight, i) }
		smooth := func(i int32) float64 { return aboutPlace(l, int(column[i]), int(row[i]), second) }
		if marks == nil {
			level := levelSmooth(m.plane.Mesh, m.each(func(i int) float64 { return second(int32(i)) }))
			smooth = func(i int32) float64 { return level[i] }
		}
		fourth := func(i int32, second func(i int32) float64) float64 {
			k, start, step := place(i)
			if k < 2 || k >= len(a)-2 {
				return 0
			}
			before, after := l.Index[start+(k-1)*step], l.Index[start+(k+1)*step]
			if before < 0 || after < 0 {
				return 0
			}
			return second(before) - 2*second(i) + second(after)
		}
		last := func(i int32) float64 { return fourth(i, smooth) / 240 }
		return bend{
			lines:  []lines{{line, len(a)}},
			chord:  func(i int32) float64 { return second(i)/12 - last(i) },
			smooth: func(i int32) float64 { return smooth(i)/12 - last(i) },
			fourth: func(i int32) float64 { return fourth(i, second) },
			of: func(f []float64) func(i int32) float64 {
				return func(i int32) float64 { return of(f, i) / 12 }
			},
		}
	}
	return []bend{
		along(l.X, column, func(i int32) (k, start, step int) { return int(column[i]), int(row[i]) * nx, 1 }),
		along(l.Y, row, func(i int32) (k, start, step int) { return int(row[i]), int(column[i]), nx }),
	}
}

// shared are the lines, along either axis, of those samples that have a coordinate in common, as
// the corners of an octree do; nil where less than half of them have.
func (m *measuring) shared(near []int32) (out []lines) {
	p, apart := m.plane.Mesh.Points, sameLine*math.Sqrt(m.area)
	for _, at := range [2]func(i int32) float64{func(i int32) float64 { return p[i].X }, func(i int32) float64 { return p[i].Y }} {
		order := slices.SortedFunc(slices.Values(near), func(a, b int32) int { return cmp.Compare(at(a), at(b)) })
		l := lines{of: make([]int32, len(p)), n: 1}
		for k, i := range order {
			if k > 0 && at(i)-at(order[k-1]) > apart {
				l.n++
			}
			l.of[i] = int32(l.n - 1)
		}
		if 2*l.n > len(near) {
			return nil
		}
		out = append(out, l)
	}
	return out
}

// levelSmooth smooths a field by 2S − S², S being neighbourMean: scatter is smoothed, and
// second derivatives of the field are left as they are, since what S adds to it, S adds
// to Sf too.
func levelSmooth(m *grid.Mesh, f []float64) []float64 {
	once := neighbourMean(m, f, nil)
	for i, v := range neighbourMean(m, once, nil) {
		once[i] = 2*once[i] - v
	}
	return once
}

// neighbourMean is the mean of a field over each sample and its neighbours: the up to
// eight about it on a lattice, those that a side joins to it on triangles. The values of
// cells go to their corners first, which is a mean already. With marks it is found for
// those samples alone.
func neighbourMean(m *grid.Mesh, f []float64, marks quad.Marks) []float64 {
	switch {
	case m.Kind == grid.KindLattice:
		return meanOfNine(m.Lattice, f)
	case m.Kind == grid.KindCells:
		return meanOfCorners(m, f)
	}
	// Inside, a side is met from both its triangles: the sample itself counts twice too.
	sum, n := make([]float64, len(f)), make([]float64, len(f))
	for i, v := range f {
		sum[i], n[i] = 2*v, 2
	}
	for t := 0; t+2 < len(m.Triangles); t += 3 {
		if c := m.Triangles[t : t+3]; marks != nil && !marks[c[0]] && !marks[c[1]] && !marks[c[2]] {
			continue
		}
		for a := range 3 {
			i, j := m.Triangles[t+a], m.Triangles[t+(a+1)%3]
			sum[i], n[i] = sum[i]+f[j], n[i]+1
			sum[j], n[j] = sum[j]+f[i], n[j]+1
		}
	}
	for i := range sum {
		sum[i] /= n[i]
	}
	return sum
}

// meanOfCorners is the mean, over each given cell's corners, of the values there.
func meanOfCorners(m *grid.Mesh, f []float64) []float64 {
	_, nodal := m.Nodal(f)
	out := make([]float64, len(f))
	for i := range out {
		ids := m.Cells.Index[m.Cells.Start[i]:m.Cells.Start[i+1]]
		for _, k := range ids {
			out[i] += nodal[len(f)+int(k)] / float64(len(ids))
		}
	}
	return out
}

// meanOfNine is the mean of a field over each sample and its neighbours on a lattice.
func meanOfNine(l *grid.Lattice, f []float64) []float64 {
	// Sums over three along each row, with an empty row at either end.
	nx := len(l.X)
	sum, n := make([]float64, len(l.Index)+2*nx), make([]float64, len(l.Index)+2*nx)
	for k, s := range l.Index {
		if s < 0 {
			continue
		}
		for at := k - min(1, k%nx); at <= k+min(1, nx-1-k%nx); at++ {
			sum[at+nx], n[at+nx] = sum[at+nx]+f[s], n[at+nx]+1
		}
	}
	out := make([]float64, len(f))
	for k, s := range l.Index {
		if s >= 0 {
			out[s] = (sum[k] + sum[k+nx] + sum[k+2*nx]) / (n[k] + n[k+nx] + n[k+2*nx])
		}
	}
	return out
}

// aboutPlace is the mean over the samples at and about a place of a lattice.
func aboutPlace(l *grid.Lattice, i, j int, f func(i int32) float64) float64 {
	var sum, n float64
	for b := max(0, j-1); b <= min(len(l.Y)-1, j+1); b++ {
		for _, q := range l.Index[b*len(l.X)+max(0, i-1) : b*len(l.X)+min(len(l.X), i+2)] {
			if q >= 0 {
				sum, n = sum+f(q), n+1
			}
		}
	}
	return sum / n
}
