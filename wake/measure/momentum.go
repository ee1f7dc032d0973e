package measure

// References:
//
//	[betz]     A. Betz, Ein Verfahren zur direkten Ermittlung des Profilwiderstandes,
//	           ZFM 16 (1925) 42; NACA TM 337.
//	[onorato]  M. Onorato, A. F. Costelli, A. Garrone, Drag measurement through wake
//	           analysis, SAE 840302 (1984) (from memory).
//	[batch]    G. K. Batchelor, An Introduction to Fluid Dynamics (1967) §5.12 (from
//	           memory).

// MomentumDensity is the integrand of the momentum integral [betz, batch] in
// units of q, the drag area per area:
//
//	−cp + 2 r u (1−u)
//
// without the turbulent stress. It is a drag only after integration over a plane
// that closes.
func MomentumDensity(cp, r, u float64) float64 { return -cp + 2*r*u*(1-u) }

// ThreeTerms splits the momentum integrand after [onorato], without further
// assumption and for any density ratio r:
//
//	total pressure  cpt∞ − cpt,  cpt = cp + r(u²+v²+w²)
//	axial           −r(1−u)² + (r−1)
//	cross-flow      r(v²+w²)
//
// With cpt∞ = 1 their sum is MomentumDensity to rounding. NaN in gives NaN out.
func ThreeTerms(cptInf, cp, r, u, v, w float64) (totalPressure, axial, crossflow float64) {
	crossflow = r * (v*v + w*w)
	totalPressure = cptInf - (cp + r*u*u + crossflow)
	axial = -r*(1-u)*(1-u) + (r - 1)
	return totalPressure, axial, crossflow
}

// TurbulenceTerm is −2r<u'u'>/U², the part of the outflow of momentum that the
// mean velocity does not hold; uu is <u'u'>/U².
func TurbulenceTerm(r, uu float64) float64 { return -2 * r * uu }
