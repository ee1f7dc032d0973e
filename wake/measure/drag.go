package measure

import (
	"fmt"
	"math"
	"strings"

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
	m.setWake()
	if m.opt.bare {
		m.bareDrag(d)
		return
	}
	if m.flow.wake != nil {
		d.Region = &m.flow.wake.WakeRegion
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
		m.turbulence()
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
		sum := m.wakeSums(0)
		d.WakeOnly = m.wakeOnly(sum)
		d.Jones = m.jones(sum)
	case m.flow.pt != nil:
		d.Jones = m.jones(m.wakeSums(0))
	}
}

// momentum adds what the three velocities and the pressure allow.
func (m *measuring) momentum(d *Drag) {
	terms, total := m.terms(m.whole)
	m.out.Edge = m.measureEdge(total / m.scale)
	if m.out.Mesh.CutsBody {
		return
	}
	m.checkPressure()
	d.Headline = "momentum"
	d.Momentum = &Momentum{DragArea: total, Cd: m.coefficient(total), Terms: terms}
	d.Yaw = m.yaw()
	sum := m.wakeSums(0)
	d.Jones, d.Betz = m.jones(sum), m.betz(sum)
	if m.flow.rho == nil {
		d.Energy = m.energy(terms.Turbulence)
	}
	if d.WakeOnly = m.wakeOnly(sum); d.WakeOnly != nil {
		whole := d.Jones.DragArea + d.WakeOnly.Vortex
		d.Jones.WithVortex = &whole
	}
	e := m.out.Edge
	b := uncertainty.NewBudget(append(append(m.localScatter().Items(m.whole, m.scale), EdgeItem(&Measurement{Result: m.out, Scale: m.scale, opt: m.opt})), m.mirrorItem()...)...)
	if e.Unknown {
		m.warn("window-unknown", "average longer, survey a wider plane, or give the section with --section: noise is then held over what of it no sample covers",
			"whether the window closes is not known: %s; the momentum integral is quoted, and its uncertainty holds that", e.Why)
	}
	if e.Open() {
		cure := "survey a wider plane, give the section with --section for its blockage, or anchor pt∞ with --anchor edge if the reference is off"
		if d.WakeOnly != nil {
			d.Headline = "wake_only"
			b = m.wakeOnlyBudget(d.WakeOnly)
			m.warn("window-open", cure, "the window does not close: %s; its momentum integral, %.4f m2, is not the whole drag, and the wake-only drag is quoted", e.Why, total)
		} else {
			m.warn("window-open", cure, "the window does not close: %s; the momentum integral of the window is not the whole drag", e.Why)
		}
	}
	b = b.With(m.uncovered(nil, "the plane", total, m.flow.local)...)
	m.out.Uncertainty.DragArea = &b
}

// rounding is what single precision leaves in a drag area, over the window's area.
const rounding = 1e-6

// withhold takes the headline back where it cannot be a drag: where the mean |Cp| on the
// open edge is above pressureWrong, and where the drag area is below zero by more than its
// own expanded uncertainty. One that zero lies within, as noise leaves it behind nothing,
// is quoted. No other method is quoted instead: what makes one impossible, a wrong
// reference or unit, is in all of them. It needs the completed budgets.
func (m *measuring) withhold() {
	d, u := m.out.Drag, m.out.Uncertainty.DragArea
	if d == nil || u == nil {
		return
	}
	i := m.layout.Method(d.Headline)
	if i < 0 {
		return
	}
	if area := m.values[i]; area < -u.Expanded && area < -rounding*m.area && !m.pressureWrong {
		m.warn("negative-drag", "check --pressure, --speed, --density and the units against the open edge, and the sense of u; --anchor edge takes a level of pt∞ out",
			"the drag area, %.4g ± %.2g m2, is below zero by more than its uncertainty, which is impossible: no drag is quoted", area, u.Expanded)
	} else if !m.pressureWrong {
		return
	}
	d.Headline, m.out.Uncertainty.DragArea = "", nil
}

// velocityOnly is the deficit of the velocity alone, referred to U and to the speed
// of the open edge.
func (m *measuring) velocityOnly() *VelocityOnly {
	f := m.flow
	sum := m.whole.IntegrateAll(2, func(i int, w float64, s []float64) {
		u := f.u[i] / f.speed
		s[0] += w * u
		s[1] += w * u * u
	})
	deficit := func(speed float64) float64 {
		k := f.speed / speed
		return 2 * m.scale * k * (sum[0] - k*sum[1])
	}
	v := &VelocityOnly{DragArea: f.norm * deficit(f.speed)}
	if edge, sd := m.edgeSpeed(); edge > 0 {
		v.EdgeSpeed = edge
		v.EdgeReferred = deficit(edge)
		k := edge / f.ref.Speed
		v.EdgeReferredQ = k * k * v.EdgeReferred
		if sd < edge {
			v.EdgeStandard = math.Abs(deficit(edge+sd)-deficit(edge-sd)) / 2
		}
	}
	return v
}

// edgeSpeed is the median, by length, of the axial speed on the open edge, and what that
// speed scatters by along it (1.4826 of the median difference from it); 0 where there is
// none. A median since a wake that the border cuts would pull a mean: it does not count
// until it fills half of the border. The scatter counts whole, since the speed varies
// smoothly along a border and any part of it may be the stream to refer to.
func (m *measuring) edgeSpeed() (speed, sd float64) {
	u, all := make([]float64, len(m.edge.samples)), make([]bool, len(m.edge.samples))
	for k, i := range m.edge.samples {
		u[k], all[k] = m.flow.u[i], true
	}
	speed = m.edge.median(u, all)
	for k := range u {
		u[k] = math.Abs(u[k] - speed)
	}
	return speed, 1.4826 * m.edge.median(u, all)
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

// Sums of one pass over the plane, from which Jones's, Betz's and the wake-only integral
// are put together: the artificial density is linear in the blockage velocity b.
const (
	sumJones     = iota // Jones's integrand with the turbulence term
	sumStressAll        // the turbulence term
	sumInvalid          // area where Jones's method has no meaning
	sumLost             // area with a loss of total pressure
	sumBetz             // the artificial density with b = 0, over the wake's region
	sumStress           // the turbulence term there
	sumDisplaced        // u*−u
	sumMass             // r(u*−u)
	sumBetzAll          // as sumBetz and sumMass, over the whole plane
	sumMassAll
	sumAxial // r(u*−1)², r(u*−1) and r over the whole plane, u* being u outside the region
	sumAxial1
	sumAxial0
	wakeSumCount
)

// wakeSums makes them, for both halves of a half plane. cp stands in for the unknown
// static pressure of a pitot survey.
func (m *measuring) wakeSums(cp float64) []float64 {
	f := m.flow
	sum := m.whole.IntegrateAll(wakeSumCount, func(i int, w float64, s []float64) {
		jones, ok := f.jones(i, cp)
		s[sumJones] += w * jones
		s[sumStressAll] += w * f.stress(i)
		if !ok {
			s[sumInvalid] += w
		}
		if lost, _, _ := f.lost(i, cp); lost/f.head() > wake.WakeLoss {
			s[sumLost] += w
		}
		loss, r, u := f.fromLevel(i, cp)
		star := ArtificialVelocity(loss, r, u)
		n := w * f.norm
		betz, mass := n*BetzDensity(loss, r, u), n*r*(star-u)
		s[sumBetzAll] += betz
		s[sumMassAll] += mass
		if f.wake.holds(i) {
			s[sumBetz] += betz
			s[sumStress] += w * f.stress(i)
			s[sumDisplaced] += w * (star - u)
			s[sumMass] += mass
		} else {
			star = u
		}
		s[sumAxial] += n * r * (star - 1) * (star - 1)
		s[sumAxial1] += n * r * (star - 1)
		s[sumAxial0] += n * r
	})
	for k := range sum {
		sum[k] *= m.scale
	}
	return sum
}

// known is a turbulence term, nil where the stress is not known or not used.
func (f *flow) known(stress float64) *float64 {
	if f.uu == nil {
		return nil
	}
	return &stress
}

// betz states the wake integral with the artificial velocity.
func (m *measuring) betz(sum []float64) *Betz {
	b := sum[sumBetz] + sum[sumStress]
	return &Betz{DragArea: b, Cd: m.coefficient(b), Turbulence: m.flow.known(sum[sumStress])}
}

// energy states the mechanical-energy terms over the whole plane.
func (m *measuring) energy(turbulence *float64) *Energy {
	f := m.flow
	sum := m.whole.IntegrateAll(4, func(i int, weight float64, s []float64) {
		_, u, v, w, cp := f.at(i)
		a, b, c, d := EnergyTerms(1+f.across(), cp, u, v, w)
		s[0] += weight * f.norm * a
		s[1] += weight * f.norm * b
		// A yawed stream's own cross-flow is no energy of the wake.
		s[2] += weight * f.norm * (c - u*f.across())
		s[3] += weight * f.norm * d
	})
	e := &Energy{Dissipation: m.scale * sum[0], Axial: m.scale * sum[1], Crossflow: m.scale * sum[2], Pressure: m.scale * sum[3], Turbulence: turbulence}
	whole := e.Dissipation + e.Axial + e.Crossflow + e.Pressure
	if turbulence != nil {
		whole += *turbulence
	}
	if whole > 0 && m.out.Edge.Closes {
		mature := e.Dissipation / whole
		e.Maturity = &mature
	}
	return e
}

// jones states the pitot-static result with the part of the wake's area where it
// has no meaning.
func (m *measuring) jones(sum []float64) *Jones {
	j := &Jones{DragArea: sum[sumJones], Cd: m.coefficient(sum[sumJones]), Turbulence: m.flow.known(sum[sumStressAll])}
	if sum[sumLost] > 0 {
		j.Invalid = sum[sumInvalid] / sum[sumLost]
	}
	if !j.Sound() {
		m.warn("jones-invalid", "quote the momentum integral, or survey further downstream",
			"Jones's method has no meaning in %.1f %% of the wake's area (cpt <= 0 or u <= 0), and is not quoted", 100*j.Invalid)
	}
	return j
}
