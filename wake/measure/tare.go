package measure

import "wakeledger/grid/quad"

// LocalReferenceDensity is the integrand of the momentum integral that refers a
// sample to the state (cp_e, u_e) of the empty section at its place, in units of q:
//
//	cp_e − cp + 2 r u (u_e−u)
//
// It takes the displaced mass to leave at u_e, where the difference of two momentum
// integrals takes it to leave at U; the two differ by 2(1−u_e)(u_e−u) for a uniform
// density.
func LocalReferenceDensity(cp, r, u, cpE, uE float64) float64 { return cpE - cp + 2*r*u*(uE-u) }

// LocalReference is the momentum integral of m with that of the empty section,
// measured on the same samples, for the reference at each of them, and its
// turbulence term less that of the empty section where both have one. It is a drag
// area in units of the nominal q of m. ok is false unless both have the momentum
// integral and as many samples.
func (m *Measurement) LocalReference(empty *Measurement) (dragArea float64, ok bool) {
	f, e := m.flow, empty.flow
	n := len(m.Plane.Mesh.Points)
	if !f.momentum() || !e.momentum() || len(empty.Plane.Mesh.Points) != n {
		return 0, false
	}
	sum := quad.NewWeights(m.Plane.Mesh, nil).IntegrateFunc(func(i int) float64 {
		r, u, _, _, cp := f.at(i)
		_, ue, _, _, cpe := e.at(i)
		d := f.norm * LocalReferenceDensity(cp, r, u, cpe, ue)
		if f.uu != nil && e.uu != nil {
			d += f.stress(i) - e.stress(i)
		}
		return d
	})
	return m.Scale * sum, true
}
