package wake

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// fitNormal fits a plane by least squares and returns its unit normal, with the
// largest component positive, and the largest distance of a sample from it.
func fitNormal(s *Samples) (n [3]float64, off float64) {
	var mean [3]float64
	for a := range mean {
		col := s.Col[X+Quantity(a)]
		for _, v := range col {
			mean[a] += (v - col[0]) / float64(len(col))
		}
		mean[a] += col[0]
	}
	at := func(a, i int) float64 { return s.Col[X+Quantity(a)][i] - mean[a] }
	cov := mat.NewSymDense(3, nil)
	for a := range 3 {
		for b := a; b < 3; b++ {
			sum := 0.0
			for i := range s.N {
				sum += at(a, i) * at(b, i)
			}
			cov.SetSym(a, b, sum)
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(cov, true) {
		return [3]float64{}, math.Inf(1)
	}
	// Eigenvalues come in increasing order; the first vector is the normal.
	var v mat.Dense
	eig.VectorsTo(&v)
	big := 0
	for a := range n {
		n[a] = v.At(a, 0)
		if math.Abs(n[a]) > math.Abs(n[big]) {
			big = a
		}
	}
	if n[big] < 0 {
		for a := range n {
			n[a] = -n[a]
		}
	}
	for i := range s.N {
		off = math.Max(off, math.Abs(n[0]*at(0, i)+n[1]*at(1, i)+n[2]*at(2, i)))
	}
	return n, off
}
