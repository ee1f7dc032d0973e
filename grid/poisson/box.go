package poisson

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"wakeledger/grid"
)

// Wall is the condition on a border.
type Wall uint8

const (
	// Dirichlet: the solution is zero on the wall.
	Dirichlet Wall = iota
	// Neumann: its derivative normal to the wall is zero.
	Neumann
)

// Box returns the ψ of ∇²ψ = −f inside the lattice's box with the condition wall
// on all four sides. f is taken as its sine (Dirichlet) or cosine (Neumann) series
// through the samples, and each term is solved exactly:
//
//	nodes  sin(kπi/(n−1)) at the inner nodes   cos(kπi/(n−1)) at all nodes
//	cells  sin(kπ(2i+1)/2n)                    cos(kπ(2i+1)/2n)
//
// The error falls faster than any power of the spacing for a smooth f that fades
// before the walls; an f that does not meet the condition on the wall itself, or
// jumps, leaves second order.
//
// With Neumann a solution needs ∫f = 0: the mean of f is taken off, and ψ has the
// mean zero. Samples on the walls (nodes, Dirichlet) have ψ = 0, and their f is not used.
func Box(l Lattice, f []float64, wall Wall) []float64 {
	psi := slices.Clone(f)
	ax, ay := newSeries(l.NX, l.Support, wall), newSeries(l.NY, l.Support, wall)
	sides := l.Box()
	kx, ky := ax.wavenumbers(sides.Width()), ay.wavenumbers(sides.Height())
	nx := l.NX
	rows := func(forward bool) {
		grid.Ranges(ay.n, func(lo, hi int) {
			t := ax.transform(forward)
			for j := ay.first + lo; j < ay.first+hi; j++ {
				row := psi[j*nx+ax.first : j*nx+ax.first+ax.n]
				t(row)
			}
		})
	}
	rows(true)
	scale := 1 / (ax.gain * ay.gain)
	grid.Ranges(ax.n, func(lo, hi int) {
		ahead, back := ay.transform(true), ay.transform(false)
		column := make([]float64, ay.n)
		for i := lo; i < hi; i++ {
			for j := range column {
				column[j] = psi[(ay.first+j)*nx+ax.first+i]
			}
			ahead(column)
			for j := range column {
				k2 := kx[i]*kx[i] + ky[j]*ky[j]
				if k2 == 0 {
					column[j] = 0
					continue
				}
				column[j] *= scale / k2
			}
			back(column)
			for j, v := range column {
				psi[(ay.first+j)*nx+ax.first+i] = v
			}
		}
	})
	rows(false)
	if wall == Dirichlet && l.Support == grid.Nodes {
		for k := range psi {
			if i, j := k%nx, k/nx; i == 0 || j == 0 || i == nx-1 || j == l.NY-1 {
				psi[k] = 0
			}
		}
	}
	return psi
}

// series is the sine or cosine series along one axis.
type series struct {
	// n terms for the n samples that begin with sample first.
	n, first int
	// lowest is the lowest half-wave number: 0 for cosines, 1 for sines.
	lowest int
	// gain is what a transform there and back multiplies by.
	gain    float64
	support grid.Support
	wall    Wall
}

func newSeries(samples int, support grid.Support, wall Wall) series {
	s := series{n: samples, support: support, wall: wall}
	if wall == Dirichlet {
		s.lowest = 1
	}
	switch {
	case support == grid.Cells:
		s.gain = 4 * float64(s.n)
	case wall == Dirichlet:
		s.n, s.first = samples-2, 1
		s.gain = 2 * float64(s.n+1)
	default:
		s.gain = 2 * float64(s.n-1)
	}
	return s
}

// wavenumbers are kπ/extent in the order of the coefficients.
func (s series) wavenumbers(extent float64) []float64 {
	return grid.Fill(s.n, func(i int) float64 { return math.Pi * float64(s.lowest+i) / extent })
}

// transform returns the transform of n samples in place, to coefficients or back,
// unnormalised. What the library calls a sequence from its odd-wave coefficients is,
// read the other way, the series of samples at cell centres.
func (s series) transform(forward bool) func(a []float64) {
	if s.support == grid.Nodes {
		if s.wall == Dirichlet {
			t := fourier.NewDST(s.n)
			return func(a []float64) { t.Transform(a, a) }
		}
		t := fourier.NewDCT(s.n)
		return func(a []float64) { t.Transform(a, a) }
	}
	t := fourier.NewQuarterWaveFFT(s.n)
	switch {
	case s.wall == Dirichlet && forward:
		return func(a []float64) { t.SinSequence(a, a) }
	case s.wall == Dirichlet:
		return func(a []float64) { t.SinCoefficients(a, a) }
	case forward:
		return func(a []float64) { t.CosSequence(a, a) }
	}
	return func(a []float64) { t.CosCoefficients(a, a) }
}
