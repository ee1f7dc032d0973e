package measure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// drag works out every drag that the plane allows and says which is quoted.
func (m *measuring) drag() {
	f := m.flow
	if m.plane.Normal != wake.AxisX {
		how := "normal to " + m.plane.Normal.String()
		if m.plane.Normal == wake.Oblique {
			how = "oblique"
		}
		m.warn("not-cross-flow", "drag needs a plane normal to x", "the plane is %s: no drag is claimed from it", how)
		return
	}
	if f.u == nil && f.pt == nil {
		m.warn("no-velocity", `name the axial velocity with --column u="NAME [unit]"`, "no axial velocity and no total pressure: nothing can be integrated")
		return
	}
	d := &Drag{}
	m.out.Drag = d
	if m.opt.bare {
		m.bareDrag(d)
		return
	}
	m.checkFlow()
	m.checkMirror()
	m.checkFloorLayer()
	if m.out.Mesh.CutsBody {
		m.warn("cuts-body", "read the regions and the shift here, and total drag from a plane behind the body",
			"the plane cuts the body (%s), so it has no total drag", m.opening())
	} else if f.u != nil {
		d.VelocityOnly = m.velocityOnly()
	}
	switch {
	case f.momentum():
		m.turbulence()
		m.momentum(d)
	case m.out.Mesh.CutsBody:
	case f.pt != nil:
		m.pitot(d)
	default:
		m.warn("momentum-only", "export the static pressure and all three velocities",
			"%s missing: the velocity deficit is not a drag, and no drag verdict is given (a potential flow without drag reads 1 m2 behind a sphere of 1 m radius)", m.missing())
		if d.VelocityOnly != nil {
			d.Headline = "velocity_only"
		}
	}
}

// bareDrag works out the drags that are headline numbers, and nothing about them.
func (m *measuring) bareDrag(d *Drag) {
	switch {
	case m.out.Mesh.CutsBody:
	case m.flow.momentum():
		_, total := m.terms(m.whole)
		d.Momentum = &Momentum{DragArea: total}
		d.WakeOnly = m.wakeOnly()
		d.Jones = &Jones{DragArea: m.scale * m.whole.IntegrateFunc(m.flow.jonesAt)}
	case m.flow.pt != nil:
		d.Jones = &Jones{DragArea: m.scale * m.whole.IntegrateFunc(m.flow.jonesAt)}
	}
}

// momentum adds what the three velocities and the pressure allow.
func (m *measuring) momentum(d *Drag) {
	terms, total := m.terms(m.whole)
	m.out.Edge = measureEdge(m.plane, m.flow, m.whole, m.window, m.edge, m.localScatter(), total/m.scale, m.area)
	if m.out.Mesh.CutsBody {
		return
	}
	m.checkPressure()
	d.Headline = "momentum"
	d.Momentum = &Momentum{DragArea: total, Cd: m.coefficient(total), Terms: terms}
	m.others(d, total)
	d.Yaw = m.yaw()
	d.WakeOnly = m.wakeOnly()
	e := m.out.Edge
	b := uncertainty.NewBudget(append(append(m.localScatter().Items(m.whole, m.scale), m.edgeItem()), m.mirrorItem()...)...)
	if !e.Closes {
		cure := "survey a wider plane, give the section with --section for its blockage, or anchor pt∞ with --anchor edge if the reference is off"
		if d.WakeOnly != nil {
			d.Headline = "wake_only"
			b = m.wakeOnlyBudget(d.WakeOnly)
			m.warn("window-open", cure, "the window does not close: %s; its momentum integral, %.4f m2, is not the whole drag, and the wake-only drag is quoted", e.Why, total)
		} else {
			m.warn("window-open", cure, "the window does not close: %s; the momentum integral of the window is not the whole drag", e.Why)
		}
	}
	m.out.Uncertainty.DragArea = &b
}

// velocityOnly is the deficit of the velocity alone, referred to U and to the speed
// of the open edge.
func (m *measuring) velocityOnly() *VelocityOnly {
	f := m.flow
	deficit := func(speed float64) float64 {
		return m.scale * m.whole.IntegrateFunc(func(i int) float64 { return VelocityDensity(f.u[i] / speed) })
	}
	v := &VelocityOnly{DragArea: deficit(f.speed)}
	if edge := m.edgeSpeed(); edge > 0 {
		v.EdgeSpeed = edge
		v.EdgeReferred = deficit(edge)
	}
	return v
}

// edgeSpeed is the median, by area, of the axial speed on the open edge; 0 where
// there is none. A median since a wake that the border cuts would pull a mean: it does
// not count until it fills half of the border.
func (m *measuring) edgeSpeed() float64 {
	u, w := make([]float64, len(m.edge)), make([]float64, len(m.edge))
	for k, i := range m.edge {
		u[k], w[k] = m.flow.u[i], m.whole.Weight[i]
	}
	stat.SortWeighted(u, w)
	if len(u) == 0 || math.IsNaN(u[0]) {
		return 0
	}
	return stat.Quantile(0.5, stat.Empirical, u, w)
}

// missing names what the momentum integral lacks.
func (m *measuring) missing() string {
	var l []string
	if m.flow.v == nil || m.flow.w == nil {
		l = append(l, "cross-flow velocity")
	}
	if m.flow.p == nil {
		l = append(l, "static pressure")
	}
	return strings.Join(l, " and ")
}

func (m *measuring) opening() string {
	n := m.plane.Mesh.Holes()
	if n == 1 {
		return "1 opening without samples"
	}
	return fmt.Sprintf("%d openings without samples", n)
}

// edgeItem is what the border leaves open. A window that closes leaves at least
// the residual on its border strip, taken as the half-width of a rectangular
// distribution. Nothing bounds what lies outside one that does not close: the
// residual over the whole window then counts as a standard deviation.
func (m *measuring) edgeItem() uncertainty.Item {
	e := m.out.Edge
	it := uncertainty.Item{Name: "window edge", Kind: uncertainty.Independent, Standard: m.scale * e.Effect / math.Sqrt(3), Distribution: uncertainty.Rectangular}
	if !e.Closes {
		it.Name = "window edge (does not close)"
		it.Standard, it.Distribution = m.scale*math.Abs(e.Residual)*m.area, ""
	}
	return it
}

// others adds the methods that stand beside the momentum integral, whose value is
// total.
func (m *measuring) others(d *Drag, total float64) {
	f := m.flow
	// In pitot form the local total pressure is on the scale where pt∞ is 1. The last
	// two sums are areas: where Jones has no meaning, and of the wake.
	sum := m.whole.IntegrateAll(8, func(i int, weight float64, s []float64) {
		r, u, v, w, cp := f.at(i)
		cpt := cp + r*(u*u+v*v+w*w)
		jones, ok := JonesDensity(cpt/f.cptInf, u)
		s[0] += weight * f.norm * jones
		s[1] += weight * f.norm * BetzDensity(f.cptInf-cpt, r, u)
		a, b, c, d := EnergyTerms(f.cptInf, cp, u, v, w)
		s[2] += weight * f.norm * a
		s[3] += weight * f.norm * b
		// A yawed stream's own cross-flow is no energy of the wake.
		s[4] += weight * f.norm * (c - u*(f.onset[0]*f.onset[0]+f.onset[1]*f.onset[1]))
		s[5] += weight * f.norm * d
		if !ok {
			s[6] += weight
		}
		if 1-cpt/f.cptInf > wake.WakeLoss {
			s[7] += weight
		}
	})
	for k := range sum {
		sum[k] *= m.scale
	}
	d.Jones = m.jones(sum[0], sum[6], sum[7])
	d.Betz = &Betz{DragArea: sum[1], Cd: m.coefficient(sum[1])}
	if f.rho == nil {
		d.Energy = &Energy{Dissipation: sum[2], Axial: sum[3], Crossflow: sum[4], Pressure: sum[5]}
		if whole := sum[2] + sum[3] + sum[4] + sum[5]; whole > 0 && m.out.Edge.Closes {
			mature := sum[2] / whole
			d.Energy.Maturity = &mature
		}
	}
}

// jones states the pitot-static result with the part of the wake's area where it
// has no meaning.
func (m *measuring) jones(dragArea, invalid, lost float64) *Jones {
	j := &Jones{DragArea: dragArea, Cd: m.coefficient(dragArea)}
	if lost > 0 {
		j.Invalid = invalid / lost
	}
	if !j.Sound() {
		m.warn("jones-invalid", "quote the momentum integral, or survey further downstream",
			"Jones's method has no meaning in %.1f %% of the wake's area (cpt <= 0 or u <= 0), and is not quoted", 100*j.Invalid)
	}
	return j
}
