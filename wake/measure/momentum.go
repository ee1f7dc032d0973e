package measure

import (
	"wakeledger/grid/quad"
	"wakeledger/wake/uncertainty"
)

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

// Momentum is the full momentum integral with its terms; Cd needs a frontal area.
type Momentum struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	Terms    Terms    `json:"terms"`
}

// Terms of the momentum integral; they sum to the drag area.
type Terms struct {
	TotalPressure float64  `json:"total_pressure_m2"`
	Axial         float64  `json:"axial_m2"`
	Crossflow     float64  `json:"crossflow_m2"`
	Turbulence    *float64 `json:"turbulence_m2,omitempty"`
}

func (d *Momentum) drag() (float64, *float64) { return d.DragArea, d.Cd }

var momentumMethod = &Method{
	Key: ByMomentum, Short: "momentum integral", Long: "the momentum integral", Quotable: true,
	Formula: "∫(1 − Cpt) dS − ∫(1 − u/U)² dS + ∫(v² + w²)/U² dS − 2∫<u'u'>/U² dS",
	Source:  "A. Betz, Zeitschrift für Flugtechnik und Motorluftschiffahrt 16 (1925) 42; G. K. Batchelor, An Introduction to Fluid Dynamics (1967), section 5.12; the split in three terms: M. Onorato, A. F. Costelli, A. Garrone, SAE 840302 (1984).",
	Of:      func(d *Drag) (float64, *float64, bool) { return had(d.Momentum) },
	needs:   (*flow).momentum,
	measure: func(s *station, n *numbers, d *Drag) {
		d.Momentum = &Momentum{DragArea: n.total, Cd: s.coefficient(n.total), Terms: n.terms}
	},
	integrand: func(s *station, _ *Drag) func(i int) float64 { return s.flow.local },
	items: func(m *measuring, _ *Drag) []uncertainty.Item {
		return append(append(m.localScatter().Items(m.whole, m.scale), EdgeItem(m.Measurement)), m.mirrorItem()...)
	},
}

// terms integrates the four terms over a part of the plane.
func (s *station) terms(part quad.Weights) (Terms, float64) {
	f := s.flow
	sum := part.IntegrateAll(4, func(i int, w float64, v []float64) {
		tp, ax, cf, tu := f.terms(i)
		v[0] += w * tp
		v[1] += w * ax
		v[2] += w * cf
		v[3] += w * tu
	})
	t := Terms{TotalPressure: s.scale * sum[0], Axial: s.scale * sum[1], Crossflow: s.scale * sum[2], Turbulence: f.known(s.scale * sum[3])}
	return t, t.TotalPressure + t.Axial + t.Crossflow + s.scale*sum[3]
}

// Local returns the local drag of each sample, or nil where the plane lacks what
// it needs.
func (m *Measurement) Local() []float64 {
	if !m.flow.momentum() {
		return nil
	}
	return m.each(m.flow.local)
}
