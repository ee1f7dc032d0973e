package measure

// References:
//
//	[drela]  M. Drela, Power balance in aerodynamic flows, AIAA J. 47(7) (2009) 1761.

// EnergyTerms are the integrands of the mechanical-energy balance [drela] in
// units of qU, for constant density:
//
//	dissipation upstream  (cpt∞−cpt) u
//	axial                 u (1−u)²
//	cross-flow            u (v²+w²)
//	pressure              cp (u−1)
//
// With cpt∞ = 1 their sum is MomentumDensity to rounding: the drag is what has
// been dissipated and what the wake still holds.
func EnergyTerms(cptInf, cp, u, v, w float64) (dissipation, axial, crossflow, pressure float64) {
	cross := v*v + w*w
	return (cptInf - cp - u*u - cross) * u, u * (1 - u) * (1 - u), u * cross, cp * (u - 1)
}
