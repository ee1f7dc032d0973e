package measure_test

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/integrate/quad"

	"wakeledger/wake/waketest"
)

// pairVorticity is the vorticity ∂w/∂y − ∂v/∂z of VortexPair.
func pairVorticity(gamma, span, core, height float64) func(y, z float64) float64 {
	return func(y, z float64) float64 {
		dz := z - height
		right, left := y-span/2, y+span/2
		k := gamma / (math.Pi * core * core)
		return k * (math.Exp(-(right*right+dz*dz)/(core*core)) - math.Exp(-(left*left+dz*dz)/(core*core)))
	}
}

// sourcePair is VortexPair with every velocity turned by 90°: a Gaussian source of
// strength q at (span/2, height) and a sink −q at (−span/2, height). Its ∂v/∂y +
// ∂w/∂z is pairVorticity, its energy energyOfPair.
func sourcePair(q, span, core, height float64) waketest.Field {
	pair := waketest.VortexPair(q, span, core, height)
	return func(y, z float64) waketest.State {
		s := pair(y, z)
		return waketest.State{U: 1, V: s.W, W: -s.V}
	}
}

// both adds the cross-flows of two fields.
func both(a, b waketest.Field) waketest.Field {
	return func(y, z float64) waketest.State {
		s, t := a(y, z), b(y, z)
		return waketest.State{U: 1, V: s.V + t.V, W: s.W + t.W}
	}
}

// energyOfPair is the energy of VortexPair and sourcePair in free air,
//
//	(Γ²/4π) ∫₀ˣ (1−e^(−t))/t dt,  x = span²/2core²
func energyOfPair(gamma, span, core float64) float64 {
	x := span * span / (2 * core * core)
	return gamma * gamma / (4 * math.Pi) * quad.Fixed(func(t float64) float64 { return -math.Expm1(-t) / t }, 0, x, 200, nil, 0)
}

// ellipticSheet is the flow far behind elliptic loading of circulation gamma at mid
// span: the trailing sheet lies at z = 0 between y = ±span/2, and with s = span/2,
// w₀ = gamma/span and ζ = y+iz
//
//	v − iw = −i w₀ (ζ/√(ζ²−s²) − 1)
//
// (L. Prandtl's lifting line; the plane flow is that of a plate moving at right
// angles to itself.) With gamma > 0 the sheet moves down at w₀ as a whole, and there
// is lift. On the sheet itself the field takes its value just above; at the two
// ends, where it is infinite, it is 0.
func ellipticSheet(gamma, span float64) waketest.Field {
	s, w0 := span/2, gamma/span
	return func(y, z float64) waketest.State {
		if z == 0 && math.Abs(y) == s {
			return waketest.State{U: 1}
		}
		// The product of the two principal roots has its cut along the sheet alone. Adding
		// 0 turns a −0 into the side above.
		zeta := complex(y, z+0)
		c := -complex(0, w0) * (zeta/(cmplx.Sqrt(zeta-complex(s, 0))*cmplx.Sqrt(zeta+complex(s, 0))) - 1)
		return waketest.State{U: 1, V: real(c), W: -imag(c)}
	}
}

// sheetEnergy is the energy of ellipticSheet, π gamma²/8: it does not depend on the
// span.
func sheetEnergy(gamma float64) float64 { return math.Pi * gamma * gamma / 8 }

// sheetOutside is the part of sheetEnergy outside the circle of radius r ≥ span/2
// about the middle,
//
//	X/4 + 3X³/64 + 5X⁵/256 + …,  X = (span/2r)²
//
// from the Laurent series of the velocity, v − iw = −i w₀ Σ c_n (s/ζ)^2n with c_n =
// C(2n,n)/4ⁿ: the energy outside is (π/2) ρ w₀² s² Σ c_n² X^(2n−1)/(2n−1).
func sheetOutside(span, r float64) float64 {
	x := span / (2 * r)
	x *= x
	// sheetEnergy over w₀²s² is (π gamma²/8)·4/gamma² = π/2.
	sum, c, p := 0.0, 1.0, x
	for n := 1.0; n < 4000; n++ {
		c *= (2*n - 1) / (2 * n)
		sum += c * c * p / (2*n - 1)
		p *= x * x
	}
	return sum
}

// planeWake is the far wake of a cylinder after Schlichting, along y, at x/(C_D d) =
// far with β = 0.18 (H. Schlichting, Boundary-Layer Theory ch. XXV, from memory):
//
//	1−u = (√10/18β) far^(−1/2) [1−(|y|/b)^(3/2)]²,  b = √10 β far^(1/2)
//
// in units of C_D d. Its linear deficit 2∫(1−u)dy is 1 to the order of the theory.
func planeWake(far float64) waketest.Field {
	const beta = 0.18
	b := math.Sqrt(10) * beta * math.Sqrt(far)
	depth := math.Sqrt(10) / (18 * beta) / math.Sqrt(far)
	return func(y, z float64) waketest.State {
		y = math.Abs(y)
		if y >= b {
			return waketest.State{U: 1}
		}
		k := 1 - math.Pow(y/b, 1.5)
		return waketest.State{U: 1 - depth*k*k}
	}
}
