package wake

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
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
	var col [3][]float64
	for a := range col {
		if col[a] = s.Col[X+Quantity(a)]; rows != nil {
			col[a] = At(col[a], rows)
		}
		f.mean[a] = stat.Mean(col[a], nil)
	}
	cov := mat.NewSymDense(3, nil)
	for a := range col {
		for b := a; b < len(col); b++ {
			cov.SetSym(a, b, stat.Covariance(col[a], col[b], nil))
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
	mat.Col(f.n[:], 0, &v)
	if floats.Max(f.n[:]) < -floats.Min(f.n[:]) {
		floats.Scale(-1, f.n[:])
	}
	return f
}

// sayTilt warns of a plane whose least-squares normal is not quite the axis that it is taken as
// normal to; zero where that was not looked at.
func (p *Plane) sayTilt(n [3]float64) {
	if n != [3]float64{} {
		part := math.Min(1, math.Abs(n[p.Normal]))
		p.warn("tilted-plane", "export a plane square to the axis",
			"the plane is tilted by %.2g degrees out of normal to %s: its normal is %s; it is taken as normal to %s, which makes areas %.1g of themselves too small",
			math.Acos(part)*180/math.Pi, p.Normal, vector(n), p.Normal, 1-part)
	}
}

func vector(n [3]float64) string { return fmt.Sprintf("(%.4f, %.4f, %.4f)", n[0], n[1], n[2]) }
