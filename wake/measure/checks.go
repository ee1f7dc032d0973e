package measure

import (
	"math"

	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// checkFlow looks for the signs of a wrong frame, unit or reference. It needs u.
func (m *measuring) checkFlow() {
	f := m.flow
	mean := m.whole.IntegrateFunc(func(i int) float64 { return f.u[i] }) / m.area
	if mean < 0 {
		m.warn("flow-reversed", `declare the axes, for example --frame "x forward, y left, z up"`,
			"the mean axial velocity is %.3g m/s, but flow should leave the plane toward +x", mean)
	}
	if len(m.edge) > 0 {
		var u quad.Sum
		for _, s := range m.edge {
			u.Add(f.u[s])
		}
		if r := u.Value() / float64(len(m.edge)) / f.ref.Speed; !(r > 0.5 && r < 2) && mean >= 0 {
			m.warn("speed-unlikely", "check --speed and the unit of u", "the edge moves at %.3g U, far from the reference speed of %.4g m/s", r, f.ref.Speed)
		}
	}
	if w := math.Max(m.window.Width(), m.window.Height()); w > 100 {
		m.warn("length-unlikely", `give the unit, for example --column y="y [mm]"`, "the window spans %.4g m, which is no vehicle's wake; are the positions in mm?", w)
	} else if w < 0.01 {
		m.warn("length-unlikely", "give the unit of the positions", "the window spans %.4g m, which is no vehicle's wake", w)
	}
	if !f.momentum() {
		return
	}
	if len(m.edge) > 0 {
		var tp, cp quad.Sum
		for _, s := range m.edge {
			t, _, _, _ := f.terms(int(s))
			tp.Add(t)
			_, _, _, _, c := f.at(int(s))
			cp.Add(c)
		}
		n := float64(len(m.edge))
		if loss := tp.Value() / n; math.Abs(loss) > 0.005 && f.ref.Anchor.Kind != "edge" {
			m.warn("reference-off", "anchor the reference with --anchor edge, or give --total-pressure",
				"the mean total pressure on the open edge is %.2f %% of q (%.3g Pa) %s the reference; each 0.1 %% of q is worth %.4f m2 over this window",
				100*math.Abs(loss), math.Abs(loss)*f.q, below(loss), m.out.Reference.Sensitivity)
		}
		if c := cp.Value() / n; math.Abs(c) > 1.5 {
			m.warn("pressure-unlikely", "check --pressure (gauge or absolute) and the unit of p",
				"the mean Cp on the open edge is %.3g, where about 0 is expected", c)
		}
	}
	if pt := m.plane.Field[wake.Pt]; pt != nil && m.plane.Has(wake.P) {
		off := m.whole.IntegrateFunc(func(i int) float64 {
			v2 := f.u[i]*f.u[i] + f.v[i]*f.v[i] + f.w[i]*f.w[i]
			return math.Abs(pt[i] - f.p[i] - f.density(i)/2*v2)
		}) / m.area / f.q
		if off > 0.005 {
			m.warn("total-pressure-disagrees", "say what the total pressure holds, or leave the column out",
				"total minus static pressure differs from ½ρ|V|² by %.2g q on the mean; the static pressure and the velocities are used", off)
		}
	}
}

func below(loss float64) string {
	if loss > 0 {
		return "below"
	}
	return "above"
}

// turbulence says what the turbulence term rests on, or is worth.
func (m *measuring) turbulence() {
	f := m.flow
	s2 := f.ref.Speed * f.ref.Speed
	k := m.plane.Field[wake.K]
	worth := func() float64 {
		return m.scale * m.whole.IntegrateFunc(func(i int) float64 {
			return TurbulenceTerm(f.density(i)/f.ref.Density, 2.0/3*k[i]/s2)
		})
	}
	switch m.opt.Turbulence {
	case "none":
		return
	case "stress", "isotropic":
		if f.uu == nil {
			need := "uu"
			if m.opt.Turbulence == "isotropic" {
				need = "k"
			}
			m.warn("no-turbulence", "export the column "+need, "the turbulence rule %s needs the column %s, which is missing; the term is absent", m.opt.Turbulence, need)
		}
		return
	}
	switch {
	case f.uu != nil:
	case k != nil:
		m.warn("turbulence-not-used", "give --turbulence isotropic if the pressure does not hold 2k/3 already",
			"there is no normal stress; the turbulence term is absent. Taken as isotropic from k it would be %.4f m2", worth())
	default:
		m.warn("no-turbulence", "export the normal stress <u'u'> with the mean fields",
			"there is neither a normal stress nor k; the turbulence term is missing from the momentum integral")
	}
}
