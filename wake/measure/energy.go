package measure

import "wakeledger/wake"

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

// Energy holds the mechanical-energy terms; they sum to the momentum drag area.
type Energy struct {
	Dissipation float64 `json:"dissipation_m2"`
	Axial       float64 `json:"axial_m2"`
	Crossflow   float64 `json:"crossflow_m2"`
	Pressure    float64 `json:"pressure_m2"`
	// Turbulence is the turbulence term of the momentum integral; nil where it has none.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
	// Maturity is Φ/(DU), the part of the drag's power that is dissipated already;
	// given for windows that close.
	Maturity *float64 `json:"maturity,omitempty"`
}

func (e *Energy) drag() (float64, *float64) { return e.total(), nil }

var energyMethod = &Method{
	Key: ByEnergy, Short: "energy", Long: "the balance of mechanical energy",
	Formula: "∫(cpt∞−cpt)u dS + ∫u(1−u)² dS + ∫u(v²+w²) dS + ∫cp(u−1) dS",
	Source:  "Compare M. Drela, AIAA Journal 47 (2009) 1761.",
	Of:      func(d *Drag) (float64, *float64, bool) { return had(d.Energy) },
	needs:   func(f *flow) bool { return f.momentum() && f.rho == nil },
	measure: func(s *station, n *numbers, d *Drag) {
		f := s.flow
		sum := s.whole.IntegrateAll(4, func(i int, weight float64, v []float64) {
			_, u, cross1, cross2, cp := f.at(i)
			a, b, c, e := EnergyTerms(1+f.across(), cp, u, cross1, cross2)
			v[0] += weight * f.norm * a
			v[1] += weight * f.norm * b
			// A yawed stream's own cross-flow is no energy of the wake.
			v[2] += weight * f.norm * (c - u*f.across())
			v[3] += weight * f.norm * e
		})
		d.Energy = &Energy{Dissipation: s.scale * sum[0], Axial: s.scale * sum[1], Crossflow: s.scale * sum[2], Pressure: s.scale * sum[3], Turbulence: n.terms.Turbulence}
		if whole := d.Energy.total(); whole > 0 && n.edge.Closes {
			d.Energy.Maturity = new(d.Energy.Dissipation / whole)
		}
	},
}

// total is the sum of the terms, the momentum drag area.
func (e *Energy) total() float64 {
	return e.Dissipation + e.Axial + e.Crossflow + e.Pressure + wake.Deref(e.Turbulence)
}
