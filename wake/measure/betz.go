package measure

// BetzDensity is the wake integrand of [betz] (see momentum.go) in units of q:
// with the artificial velocity u*² = u² + loss/r that restores the total
// pressure,
//
//	loss + r (u*−u)(u*+u−2),  loss = cpt∞−cpt + r−1
//
// for samples of the wake. Interference of the wake with the outer flow is left out, so
// it reads low close to a body.
func BetzDensity(loss, r, u float64) float64 {
	return ArtificialDensity(loss, r, u, 0)
}
