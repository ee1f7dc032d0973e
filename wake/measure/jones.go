package measure

import "math"

// References:
//
//	[jones]  B. M. Jones (Cambridge University Aeronautics Laboratory), The
//	         measurement of profile drag by the pitot-traverse method, ARC R&M 1688
//	         (1936) (from memory).

// JonesDensity is the integrand of the pitot-static method [jones] in units of q:
//
//	2 r u (1 − √(cpt/r))
//
// Each streamtube, of its own density r, is followed to where its pressure is p∞, without
// further loss of total pressure: there its speed is √(cpt/r), and r u is the mass that
// passes the plane. u is the axial component. In yaw cpt is that seen drifting with the
// stream, which a streamtube keeps as long as it keeps its v; a pitot survey has no v, and
// its wake is taken to keep the stream's direction. ok is false where cpt ≤ 0 or u ≤ 0: the
// method has no meaning there, √cpt counts as 0, and the caller states the area.
func JonesDensity(cpt, r, u float64) (density float64, ok bool) {
	if !(cpt > 0) {
		return 2 * r * u, false
	}
	return 2 * r * u * (1 - math.Sqrt(cpt/r)), u > 0
}
