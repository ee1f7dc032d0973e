package measure

import "math"

// References:
//
//	[maskell]  E. C. Maskell, Progress towards a method for the measurement of the
//	           components of the drag of a wing of finite span, RAE TR 72232 (1973)
//	           (from memory).
//	[brune]    G. W. Brune, Quantitative low-speed wake surveys, J. Aircraft 31
//	           (1994) 249.

// ArtificialVelocity is u* = √(u² + loss/r): the axial velocity that would be there,
// at the same pressure and cross-flow, had the total pressure not been lost
// [maskell]. loss = cpt∞−cpt + r−1, which counts it from a stream of the sample's own
// density. Where the pressure and the cross-flow leave no axial velocity, 0; NaN stays
// NaN.
func ArtificialVelocity(loss, r, u float64) float64 {
	return math.Sqrt(math.Max(0, u*u+loss/r))
}

// ArtificialDensity is the integrand of the profile drag [maskell, brune] in units
// of q, for samples of the wake:
//
//	loss + r (u*−u)[u*+u−2(1+b)]
//
// b is the blockage velocity over U, u_b/U = ∫(u*−u)dS/2S_t for a section of area S_t: the speed
// by which the wake's displacement raises the stream round it; 0 in free air. Its integral needs the wake alone; for a
// parallel wake in a closed section it is the momentum integral of the whole section,
// exactly. It does not hold the turbulent stress (TurbulenceTerm).
func ArtificialDensity(loss, r, u, b float64) float64 {
	s := ArtificialVelocity(loss, r, u)
	return loss + r*(s-u)*(s+u-2*(1+b))
}
