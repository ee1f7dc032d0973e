package poisson

import (
	"math"

	"wakeledger/grid"
)

// References:
//
//	[hockney]  R. W. Hockney, J. W. Eastwood, Computer Simulation Using Particles
//	           (1981) §6-5-4: isolated sources by transforms on a doubled lattice
//	           (from memory).
//	[aguilar]  J. C. Aguilar, Y. Chen, High-order corrected trapezoidal quadrature
//	           rules for functions with a logarithmic singularity in 2-D, Comput.
//	           Math. Appl. 44 (2002) 1031 (from memory).
//	[marin]    O. Marin, O. Runborg, A.-K. Tornberg, Corrected trapezoidal rules for
//	           a class of singular functions, IMA J. Numer. Anal. 34 (2014) 1509
//	           (from memory).
//	[siegel]   C. L. Siegel, Lectures on Advanced Analytic Number Theory (1961) §1:
//	           Kronecker's first limit formula (from memory).

// FreeAir returns the ψ of ∇²ψ = −f with nothing round the lattice,
//
//	ψ(x) = −(1/2π) ∫ f(x') ln|x−x'| dx'
//
// by convolution on a doubled lattice [hockney]. The value of ln r for a sample on
// itself is SelfLog, which makes the sum of fourth order for a smooth f that fades
// before the border [marin]; a jump of f, at the border too, leaves second order.
//
// ψ has the constant that goes with lengths in the unit of the lattice: where
// ∫f ≠ 0 another unit shifts ψ by −(1/2π)∫f times the logarithm of the ratio.
func FreeAir(l Lattice, f []float64) []float64 {
	return convolve(l.NX, l.NY, l.loads(f), []kernel{l.direct()})
}

// OverFloor returns the ψ of ∇²ψ = −f in free air above the floor y = 0, on which ψ = 0
// (Dirichlet) or ∂ψ/∂y = 0 (Neumann): FreeAir of f together with its mirror image, of
// opposite sign for Dirichlet and of the same sign for Neumann. ψ is given at the
// samples, which have to be above the floor.
//
// The order is that of FreeAir where the floor runs through the lowest row (of a
// lattice of nodes) or a multiple of half a spacing below it, since the image then
// continues the lattice. Elsewhere the rows nearest to the floor are of second
// order. A floor within 1 % of the spacing of such a place is taken to be there, as
// FromMesh takes lines.
func OverFloor(l Lattice, f []float64, wall Wall) []float64 {
	sign := 1.0
	if wall == Dirichlet {
		sign = -1
	}
	// A sample at row j and the image of one at row j' = NY−1−j″ are
	// 2y₀ + (j + j')·HY = 2y₀ + (NY−1)·HY + (j−j″)·HY apart.
	away := 2*l.Origin.Y/l.HY + float64(l.NY-1)
	if n := math.Round(away); math.Abs(away-n) <= 2*evenSpacing {
		away = n
	}
	log := l.logarithm()
	image := kernel{mirrored: true, at: func(i, d int) float64 { return sign * log(float64(i), away+float64(d)) }}
	// A lowest row of nodes on the floor has the weight of half a row, and its image
	// the other half.
	return convolve(l.NX, l.NY, l.loads(f), []kernel{l.direct(), image})
}

// loads is f times the area of each sample.
func (l Lattice) loads(f []float64) []float64 {
	return grid.Fill(len(f), func(k int) float64 { return f[k] * l.Weight(k) })
}

func (l Lattice) direct() kernel {
	log := l.logarithm()
	return kernel{at: func(i, d int) float64 { return log(float64(i), float64(d)) }}
}

// logarithm returns −(1/2π) ln r for a distance of a columns and b rows.
func (l Lattice) logarithm() func(a, b float64) float64 {
	self, ratio, unit := SelfLog(l.HX, l.HY), l.HY/l.HX, math.Log(l.HX)
	return func(a, b float64) float64 {
		if a == 0 && b == 0 {
			return -self / (2 * math.Pi)
		}
		b *= ratio
		return -(unit + math.Log(a*a+b*b)/2) / (2 * math.Pi)
	}
}

// SelfLog is the value that represents ln r at r = 0 in a lattice sum, so that
//
//	∫ φ ln r dS = hx·hy [ SelfLog·φ(0) + Σ' φ ln r ] + O(h⁴)
//
// for smooth φ of compact support. It is half the derivative at s = 0 of the
// lattice's Σ' r^(−2s), for which Kronecker's limit formula [siegel] gives
//
//	SelfLog = ln h − ln(2π η(iτ)²),  η(iτ) = q^(1/24) Π (1−qⁿ),  q = e^(−2πτ)
//
// with h the lesser spacing and τ ≥ 1 the greater over the lesser. For a square
// lattice it is ln h − 1.3105329259 [aguilar]. (The mean of ln r over the cell,
// ln h − 1.0611, would leave second order.) Both spacings must be positive.
func SelfLog(hx, hy float64) float64 {
	h, tau := math.Min(hx, hy), math.Max(hx, hy)/math.Min(hx, hy)
	lnEta := -math.Pi * tau / 12
	q := math.Exp(-2 * math.Pi * tau)
	for p := q; p > 1e-18; p *= q {
		lnEta += math.Log1p(-p)
	}
	return math.Log(h) - math.Log(2*math.Pi) - 2*lnEta
}
