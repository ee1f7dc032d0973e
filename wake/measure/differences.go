package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// stencils are the normalised divided differences along the lines a, one for each:
// over five lines, or three where there are no five, moved in at the ends.
func stencils(a []float64) (first []int, weight [][]float64) {
	n := 5
	if len(a) < 5 {
		n = 3
	}
	if len(a) < n {
		return nil, nil
	}
	first, weight = make([]int, len(a)), make([][]float64, len(a))
	for i := range a {
		lo := min(max(i-n/2, 0), len(a)-n)
		w := make([]float64, n)
		var sq float64
		for k := range w {
			w[k] = 1
			for j := range w {
				if j != k {
					// Over the spacing, so that small lengths do not overflow.
					w[k] *= (a[lo+n-1] - a[lo]) / (a[lo+k] - a[lo+j])
				}
			}
			sq += w[k] * w[k]
		}
		for k := range w {
			w[k] /= math.Sqrt(sq)
		}
		first[i], weight[i] = lo, w
	}
	return first, weight
}

// differences are the fourth differences of a field on a lattice, normalised.
type differences struct {
	lattice *grid.Lattice
	f       []float64
	// place is that of each sample; first and weight are the stencils along rows and columns, nil
	// where there are too few lines.
	place  []int32
	first  [2][]int
	weight [2][][]float64
}

func newDifferences(l *grid.Lattice, f []float64) *differences {
	d := &differences{lattice: l, f: f, place: make([]int32, len(l.Index))}
	d.first[0], d.weight[0] = stencils(l.X)
	d.first[1], d.weight[1] = stencils(l.Y)
	for k, s := range l.Index {
		if s >= 0 {
			d.place[s] = int32(k)
		}
	}
	return d
}

// along is the difference at a place along its row or its column, NaN where there is none. value is
// the field's at a place.
func (d *differences) along(axis, k int, value func(k int) float64) (sum float64) {
	if d.first[axis] == nil {
		return math.NaN()
	}
	line, start, step := k%len(d.lattice.X), k-k%len(d.lattice.X), 1
	if axis == 1 {
		line, start, step = k/len(d.lattice.X), k%len(d.lattice.X), len(d.lattice.X)
	}
	for n, c := range d.weight[axis][line] {
		sum += c * value(start+(d.first[axis][line]+n)*step)
	}
	return sum
}

// value is NaN where a sample is missing.
func (d *differences) value(k int) float64 {
	if s := d.lattice.Index[k]; s >= 0 {
		return d.f[s]
	}
	return math.NaN()
}

// residuals fills in the differences along both axes; where samples are missing, the root mean square of
// those there are along either.
func (d *differences) residuals(out []float64) {
	rows := grid.Fill(len(d.lattice.Index), func(k int) float64 { return d.along(0, k, d.value) })
	row := func(k int) float64 { return rows[k] }
	for k, s := range d.lattice.Index {
		if s < 0 {
			continue
		}
		if both := d.along(1, k, row); !math.IsNaN(both) {
			out[s] = math.Abs(both)
			continue
		}
		var sq, n float64
		for _, x := range [2]float64{rows[k], d.along(1, k, d.value)} {
			if !math.IsNaN(x) {
				sq, n = sq+x*x, n+1
			}
		}
		out[s] = math.Sqrt(sq / math.Max(n, 1))
	}
}

// A side that runs along the lines of a lattice has no differences along both axes, and its samples err
// together. Of the differences across a line, summed along it, an integral is off by a part that is
// linesPart·q⁴, where q² is the sum of their squares over that of first differences (computed for hyperbolic
// tangents whose standard deviations are 0.2 to 0.83 of the spacing, which leaves more than error functions do);
// linesMost is it for the thinnest.
const linesPart, linesMost = 1.3, 0.3

// lines is the sum of the squares of what the lines of either direction are off by, beside independent
// scatter, whose sum of squares is noise.
func (d *differences) lines(part quad.Weights, noise float64) (squares float64) {
	nx := len(d.lattice.X)
	var fourth, first [2][]float64
	for axis, n := range [2]int{nx, len(d.lattice.Y)} {
		fourth[axis], first[axis] = make([]float64, n), make([]float64, n)
	}
	for n, w := range part.Weight {
		k := int(d.place[part.Sample(n)])
		for axis, line := range [2]int{k % nx, k / nx} {
			if x := d.along(axis, k, d.value); !math.IsNaN(x) {
				fourth[axis][line] += w * x
			}
			if next := k + []int{1, nx}[axis]; line+1 < len(first[axis]) {
				if x := d.value(next) - d.value(k); !math.IsNaN(x) {
					first[axis][line] += w * x / math.Sqrt2
				}
			}
		}
	}
	for axis := range 2 {
		of4, of1 := floats.Dot(fourth[axis], fourth[axis])-noise, floats.Dot(first[axis], first[axis])-noise
		if of4 > 0 {
			q2 := of4 / max(of4, of1)
			p := min(linesMost, linesPart*q2*q2)
			squares += p * p * of4
		}
	}
	return squares
}
