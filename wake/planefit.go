package wake

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// fitted is a plane through mean with the unit normal n.
type fitted struct{ n, mean [3]float64 }

// distance is how far sample i lies off the plane.
func (f *fitted) distance(s *Samples, i int) float64 {
	return math.Abs(f.n[0]*(s.Col[X][i]-f.mean[0]) + f.n[1]*(s.Col[Y][i]-f.mean[1]) + f.n[2]*(s.Col[Z][i]-f.mean[2]))
}

// furthest is the largest distance of a sample from the plane.
func (f *fitted) furthest(s *Samples) float64 {
	off := 0.0
	for i := range s.N {
		off = math.Max(off, f.distance(s, i))
	}
	return off
}

// fitPlane fits a plane to the rows, nil for all, by least squares; the largest
// component of its normal is positive. The normal is NaN where none can be found.
func fitPlane(s *Samples, rows []int32) (f fitted) {
	n := len(rows)
	if rows == nil {
		n = s.N
	}
	each := func(add func(i int)) {
		for k := range n {
			if rows != nil {
				add(int(rows[k]))
			} else {
				add(k)
			}
		}
	}
	for a := range f.mean {
		col := s.Col[X+Quantity(a)]
		each(func(i int) { f.mean[a] += (col[i] - col[0]) / float64(n) })
		f.mean[a] += col[0]
	}
	cov := mat.NewSymDense(3, nil)
	for a := range 3 {
		for b := a; b < 3; b++ {
			p, q := s.Col[X+Quantity(a)], s.Col[X+Quantity(b)]
			sum := 0.0
			each(func(i int) { sum += (p[i] - f.mean[a]) * (q[i] - f.mean[b]) })
			cov.SetSym(a, b, sum)
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(cov, true) {
		f.n[0] = math.NaN()
		return f
	}
	// Eigenvalues come in increasing order; the first vector is the normal.
	var v mat.Dense
	eig.VectorsTo(&v)
	big := 0
	for a := range f.n {
		f.n[a] = v.At(a, 0)
		if math.Abs(f.n[a]) > math.Abs(f.n[big]) {
			big = a
		}
	}
	if f.n[big] < 0 {
		for a := range f.n {
			f.n[a] = -f.n[a]
		}
	}
	return f
}
