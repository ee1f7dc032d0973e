package waketest

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/integrate/quad"
)

// The fields below are cross-flows with u = 1 and p = 0: they are for the vortex
// and source parts of the drag, and do not close the momentum integral. Energies
// are ½∫(v²+w²)dS over the whole plane for ρ = 1.

// swirl is the part of a point vortex or source that a Gaussian core of radius a
// leaves at distance² r2, over r²: (1−exp(−r²/a²))/2πr², finite in the centre.
func swirl(r2, a float64) float64 {
	if r2 == 0 {
		return 1 / (2 * math.Pi * a * a)
	}
	return -math.Expm1(-r2/(a*a)) / (2 * math.Pi * r2)
}

// VortexPair is a pair of Lamb–Oseen vortices (H. Lamb, Hydrodynamics (1932) §334a,
// from memory) v_θ = Γ/2πr (1−exp(−r²/a²)): +gamma at (span/2, height), −gamma at
// (−span/2, height). With gamma > 0 the flow between them goes down, as behind a
// body with lift.
func VortexPair(gamma, span, core, height float64) Field {
	return func(y, z float64) State {
		dz := z - height
		right, left := y-span/2, y+span/2
		a, b := gamma*swirl(right*right+dz*dz, core), -gamma*swirl(left*left+dz*dz, core)
		return State{U: 1, V: -dz * (a + b), W: right*a + left*b}
	}
}

// PairVorticity is the vorticity ∂w/∂y − ∂v/∂z of VortexPair.
func PairVorticity(gamma, span, core, height float64) func(y, z float64) float64 {
	return func(y, z float64) float64 {
		dz := z - height
		right, left := y-span/2, y+span/2
		k := gamma / (math.Pi * core * core)
		return k * (math.Exp(-(right*right+dz*dz)/(core*core)) - math.Exp(-(left*left+dz*dz)/(core*core)))
	}
}

// SourcePair is VortexPair with every velocity turned by 90°: a Gaussian source of
// strength q at (span/2, height) and a sink −q at (−span/2, height). Its ∂v/∂y +
// ∂w/∂z is PairVorticity, its energy PairEnergy.
func SourcePair(q, span, core, height float64) Field {
	pair := VortexPair(q, span, core, height)
	return func(y, z float64) State {
		s := pair(y, z)
		return State{U: 1, V: s.W, W: -s.V}
	}
}

// Both adds the cross-flows of two fields.
func Both(a, b Field) Field {
	return func(y, z float64) State {
		s, t := a(y, z), b(y, z)
		return State{U: 1, V: s.V + t.V, W: s.W + t.W}
	}
}

// PairEnergy is the energy of VortexPair and SourcePair in free air,
//
//	(Γ²/4π) ∫₀ˣ (1−e^(−t))/t dt,  x = span²/2core²
func PairEnergy(gamma, span, core float64) float64 {
	x := span * span / (2 * core * core)
	return gamma * gamma / (4 * math.Pi) * quad.Fixed(func(t float64) float64 { return -math.Expm1(-t) / t }, 0, x, 200, nil, 0)
}

// EllipticSheet is the flow far behind elliptic loading of circulation gamma at mid
// span: the trailing sheet lies at z = 0 between y = ±span/2, and with s = span/2,
// w₀ = gamma/span and ζ = y+iz
//
//	v − iw = −i w₀ (ζ/√(ζ²−s²) − 1)
//
// (L. Prandtl's lifting line; the plane flow is that of a plate moving at right
// angles to itself.) With gamma > 0 the sheet moves down at w₀ as a whole, and there
// is lift. On the sheet itself the field takes its value just above; at the two
// ends, where it is infinite, it is 0.
func EllipticSheet(gamma, span float64) Field {
	s, w0 := span/2, gamma/span
	return func(y, z float64) State {
		if z == 0 && math.Abs(y) == s {
			return State{U: 1}
		}
		// The product of the two principal roots has its cut along the sheet alone. Adding
		// 0 turns a −0 into the side above.
		zeta := complex(y, z+0)
		c := -complex(0, w0) * (zeta/(cmplx.Sqrt(zeta-complex(s, 0))*cmplx.Sqrt(zeta+complex(s, 0))) - 1)
		return State{U: 1, V: real(c), W: -imag(c)}
	}
}

// SheetEnergy is the energy of EllipticSheet, π gamma²/8: it does not depend on the
// span.
func SheetEnergy(gamma float64) float64 { return math.Pi * gamma * gamma / 8 }

// SheetOutside is the part of SheetEnergy outside the circle of radius r ≥ span/2
// about the middle,
//
//	X/4 + 3X³/64 + 5X⁵/256 + …,  X = (span/2r)²
//
// from the Laurent series of the velocity, v − iw = −i w₀ Σ c_n (s/ζ)^2n with c_n =
// C(2n,n)/4ⁿ: the energy outside is (π/2) ρ w₀² s² Σ c_n² X^(2n−1)/(2n−1).
func SheetOutside(span, r float64) float64 {
	x := span / (2 * r)
	x *= x
	// SheetEnergy over w₀²s² is (π gamma²/8)·4/gamma² = π/2.
	sum, c, p := 0.0, 1.0, x
	for n := 1.0; n < 4000; n++ {
		c *= (2*n - 1) / (2 * n)
		sum += c * c * p / (2*n - 1)
		p *= x * x
	}
	return sum
}
