package measure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// The doubts about a station and what was measured of it change no number.

// checkOptions looks at what was asked for and cannot be done.
func (m *measuring) checkOptions() {
	if m.opt.Anchor == AnchorEdge && m.anchor.Kind == AnchorNone {
		m.warn("not-anchored", "export the total pressure, or p and all three velocities, on a border that lies in the outer flow, or leave out --anchor edge",
			"the open edge has %d samples, and no total pressure there that a reference can be tied to: it is as stated", len(m.edge.samples))
	}
	if m.refused {
		m.warn("regions-left-out", "", "regions are boxes in y and z, so none is given in a plane normal to %s", m.plane.Normal)
	}
}

// checkDrags looks at what the drags rest on.
func (m *measuring) checkDrags(n *numbers) {
	f := m.flow
	if m.plane.Normal != wake.AxisX {
		m.warn("not-cross-flow", "drag needs a plane normal to x", "the plane is normal to %s: no drag is claimed from it", m.plane.Normal)
		return
	}
	if n.drag == nil {
		m.warn("no-velocity", `name the axial velocity with --column u="NAME [unit]"`, "no axial velocity and no total pressure: nothing can be integrated")
		return
	}
	m.checkFlow()
	m.checkMirror()
	m.checkFloorLayer()
	if m.cuts {
		m.warn("cuts-body", "read the regions and the shift here, and total drag from a plane behind the body",
			"the plane cuts the body (%s without samples), so it has no total drag", wake.Plural(m.mesh.Holes(), "opening"))
	}
	switch {
	case f.momentum():
		m.turbulence()
		m.checkPressure()
		if !m.cuts {
			m.checkJones(n.drag.Jones)
			m.checkWindow(n)
		}
	case m.cuts:
	case f.pt != nil:
		m.turbulence()
		m.checkJones(n.drag.Jones)
		if b := n.drag.Jones.Bracket; b != nil {
			m.warn("no-static", "survey the static pressure too", "the static pressure is not known and taken as p∞; with cp = ±%g Jones's drag area lies between %.4f and %.4f m2", bracketCp, b[0], b[1])
		}
		if f.u == nil {
			m.warn("speed-from-pressure", "survey the flow angles too", "u is taken from the pressures, so it is |V| and too large by half the square of the flow angle in radians")
		}
	default:
		m.checkBypass()
		m.warn("momentum-only", "export the static pressure and all three velocities",
			"%s missing: the velocity deficit is not a drag, and no drag verdict is given (a potential flow without drag reads 1 m2 behind a sphere of 1 m radius)", m.missing())
	}
}

// bypassOff is how far from the reference speed the stream on the open edge may run without a word.
const bypassOff = 0.01

// checkBypass sets the stream beside the wake against the reference speed, where no pressure tells: a
// deficit of the velocity alone depends on which of the two it is referred to.
func (m *measuring) checkBypass() {
	f := m.flow
	off, sd, outer := m.edge.level(func(i int) float64 { return f.u[i]/f.speed - 1 })
	if n := float64(len(outer)); !(math.Abs(off) > math.Max(bypassOff, 3*sd/math.Sqrt(n))) || f.hasLoss() || m.noDrag {
		return
	}
	deficit := func(speed float64) float64 {
		return 2 * m.scale * m.whole.IntegrateFunc(func(i int) float64 { return f.u[i] / speed * (1 - f.u[i]/speed) })
	}
	m.warn("bypass-speed", fmt.Sprintf("say which speed the deficit is to be referred to: --speed %.4g is that of the edge; blockage or a speed that is wrong makes them differ", f.speed*(1+off)),
		"the stream on the open edge runs at %.3f U: referred to it the velocity deficit is %s m2, and %s m2 as it is",
		1+off, uncertainty.Fixed(deficit(f.speed*(1+off)), 3), uncertainty.Fixed(deficit(f.speed), 3))
}

// checkJones doubts Jones's method where it has no meaning in too much of the wake: its
// value is then given but not quoted.
func (m *measuring) checkJones(j *Jones) {
	if !j.Sound() {
		m.warn("jones-invalid", "quote the momentum integral, or survey further downstream",
			"Jones's method has no meaning in %.1f %% of the wake's area (cpt <= 0 or u <= 0), and is not quoted", 100*j.Invalid)
	}
}

// checkWindow says what the wake-only drag and the open edge leave in doubt.
func (m *measuring) checkWindow(n *numbers) {
	if n.lack != nil {
		m.warn("no-wake-only", "see the fix in the text, or read the momentum integral", "there is no wake-only drag: %v", n.lack)
	}
	m.Result.Warnings = append(m.Result.Warnings, n.vortex...)
	m.checkStrip()
	if e := m.border; e.Unknown {
		m.warn("window-unknown", "average longer, survey a wider plane, or give the section with --section: noise is then held over what of it no sample covers",
			"whether the window closes is not known: %s; the momentum integral is quoted, and its uncertainty holds that noise over the wake's tail beyond the edge, not over all of that area", e.Why)
	} else if e.Open() {
		cure := "survey a wider plane, give the section with --section for its blockage, or anchor pt∞ with --anchor edge if the reference is off"
		if w := m.window; !m.opt.Half && e.InWake > leastInWake && math.Min(math.Abs(w.Min.X), math.Abs(w.Max.X)) <= floorReach*m.spacing {
			// What is given of the whole is that of half a vehicle.
			cure = "give --symmetry half if the plane ends at the vehicle's plane of symmetry, y = 0, where it is cut through the wake: the drag is that of half of it; else " + cure
		}
		if n.drag.WakeOnly != nil {
			m.warn("window-open", cure, "the window does not close: %s; its momentum integral, %.4f m2, is not the whole drag, and the wake-only drag is quoted", e.Why, n.total)
		} else {
			m.warn("window-open", cure, "the window does not close: %s; the momentum integral of the window is not the whole drag", e.Why)
		}
	}
}

// missing names what the momentum integral lacks.
func (m *station) missing() string {
	var l []string
	if m.flow.v == nil || m.flow.w == nil {
		l = append(l, "cross-flow velocity")
	}
	if m.flow.p == nil {
		l = append(l, "static pressure")
	}
	return strings.Join(l, " and ")
}

// withoutUnit lists the dimensional columns whose unit nobody stated.
func (m *station) withoutUnit() string {
	var names []string
	for q := wake.X; q < wake.NumQuantities; q++ {
		if s := m.plane.Source[q]; s.Name != "" && s.Unit == "" && q.Unit() != "1" {
			names = append(names, q.String())
		}
	}
	return strings.Join(names, " ")
}

// checkFlow looks for the signs of a wrong frame, unit or reference.
func (m *measuring) checkFlow() {
	f := m.flow
	if f.u != nil {
		m.checkSpeed()
	}
	if w := math.Max(m.window.Width(), m.window.Height()); !(0.03 <= w && w <= 100) {
		m.warn("length-unlikely", `give the unit of the positions, for example --column y="y [mm]"`, "the window spans %.4g m, which is no vehicle's wake", w)
	}
	if m.opt.PressureIncludesK && energy(m.plane) == nil {
		m.warn("no-k", "export the column k, or all three normal stresses", "the pressure is said to hold 2/3 of density times k, but there is no k to take out: it is used as it is")
	}
	m.checkSample()
	m.checkTotalPressure()
	m.checkBernoulli()
	m.checkReferenceTotal()
	m.checkEdgeLoss()
}

// checkSample names a sample that by itself makes most of the scatter of what is integrated.
func (m *measuring) checkSample() {
	of, s := func(i int) float64 { return m.weight[i] }, m.ofWeight
	if m.flow.momentum() {
		of, s = m.flow.local, m.localScatter()
	}
	if s == nil {
		return
	}
	if c, near := loneSample(m.mesh, m.whole, of, s); near != nil {
		does := "of what is integrated"
		if mean, _ := beside(m.each(of), c, near); m.flow.momentum() {
			does = fmt.Sprintf("from sample to sample, and %s m2 of the drag area", uncertainty.Signed(m.scale*m.whole.Weight[c]*(of(c)-mean), 4))
		}
		m.Result.Warnings = append(m.Result.Warnings, oneSample(m.plane, c, near, does))
	}
}

// checkSpeed looks at the sense and the size of u.
func (m *measuring) checkSpeed() {
	f := m.flow
	mean := meanSpeed(m.plane, m.whole)
	if m.noDrag = mean < 0; m.noDrag {
		m.Result.Warnings = append(m.Result.Warnings, flowReversed(m.plane, mean))
	}
	if len(m.edge.samples) > 0 {
		if r := m.edge.mean(func(i int) float64 { return f.u[i] }) / f.ref.Speed; !(r > 0.5 && r < 2) && mean >= 0 {
			m.noDrag = true
			m.warn("speed-unlikely", "check --speed and the unit of u", "the open edge moves at %.3g U, far from the reference speed of %.4g m/s", r, f.ref.Speed)
		}
	}
}

// Constants of the look for a kinematic pressure, p/ρ in m²/s², taken as pascals.
const (
	// kinematicDensity is the least |ρ−1| kg/m³ at which the two can be told apart.
	kinematicDensity = 0.02
	// kinematicOff is how far, over the mean of ½|V|², pt − p may lie from it on the mean:
	// more than rounding, a tenth of what kinematicDensity does.
	kinematicOff = 0.002
	// bernoulliFits is the part of the pressure's variance on the open edge that a straight
	// line in ½|V|² has to hold before its slope is read: vortical flow and noise do not.
	bernoulliFits = 0.98
)

// unstated is the name of the pressure column where a file gave one without a unit and
// nobody stated it; "" elsewhere.
func (m *station) unstated() string {
	if s := m.plane.Source[wake.P]; s.Unit == "" && m.plane.Field[wake.P] != nil {
		return s.Name
	}
	return ""
}

// half2 is ½|V|² of a sample whose three velocities are known.
func (f *flow) half2(i int) float64 { return (f.u[i]*f.u[i] + f.v[i]*f.v[i] + f.w[i]*f.w[i]) / 2 }

// offBernoulli is ∫|pt − p − ½ρ|V|²|dS.
func (m *station) offBernoulli(pt []float64, density func(i int) float64) float64 {
	return m.whole.IntegrateFunc(func(i int) float64 { return math.Abs(pt[i] - m.flow.p[i] - density(i)*m.flow.half2(i)) })
}

// kinematic refuses a pressure without a stated unit where pt − p = ½|V|² instead of
// ½ρ|V|²: both are over density. A stated unit is believed.
func (m *station) kinematic() error {
	f, pt := m.flow, m.plane.Field[wake.Pt]
	name := m.unstated()
	if name == "" || pt == nil || !f.momentum() {
		return nil
	}
	k := m.whole.IntegrateFunc(f.half2)
	off := m.offBernoulli(pt, func(int) float64 { return 1 }) / k
	if !(off <= kinematicOff && m.offBernoulli(pt, f.density) >= kinematicDensity*k) {
		return nil
	}
	cure := fmt.Sprintf(`--column p="%s [m2/s2]"`, name)
	if s := m.plane.Source[wake.Pt]; s.Unit == "" && s.Name != "" {
		cure += fmt.Sprintf(` --column pt="%s [m2/s2]"`, s.Name)
	}
	return wake.Refuse(m.plane.Name(), "state the unit: "+cure+" (or [Pa], which is then believed)",
		"no unit is stated for the pressure, and pt − p is ½|V|² to %.2g, where pascals have ½ρ|V|²: it is kinematic, p/ρ", off)
}

// checkBernoulli warns of a pressure without a stated unit whose slope over ½|V|² on the
// open edge is −1, that of p/ρ, and not −ρ: pt∞ = p + ½ρ|V|² is one value in outer flow.
// That is a sign and no proof, since a sheared stream can have any slope, so it is no
// refusal. Samples count by length.
func (m *measuring) checkBernoulli() {
	f, b := m.flow, m.edge
	name := m.unstated()
	if name == "" || !f.momentum() || len(b.samples) < 8 {
		return
	}
	p := m.plane.Field[wake.P]
	x, y := make([]float64, len(b.samples)), make([]float64, len(b.samples))
	for k, i := range b.samples {
		x[k], y[k] = f.half2(int(i)), p[i]
	}
	_, slope := stat.LinearRegression(x, y, b.length, false)
	r := stat.Correlation(x, y, b.length)
	rho := b.mean(f.density)
	if off := math.Abs(rho - 1); off >= kinematicDensity && r*r >= bernoulliFits && math.Abs(slope+1) <= off/4 {
		m.warn("kinematic-unlabelled", fmt.Sprintf(`state the unit: --column p="%s [m2/s2]", or [Pa] if it is that`, name),
			"along the open edge the pressure falls by %.3f of ½|V|², where pascals fall by the density, %.3g: it is taken as pascals, but is probably kinematic, p/ρ", -slope, rho)
	}
}

// pressureOff is the mean |Cp| on the open edge from which the reference pressure is
// doubted, and pressureWrong that which no outer flow has: no drag is quoted beyond it.
const (
	pressureOff   = 0.02
	pressureWrong = 1.5
)

// checkPressure looks at the static pressure on the open border. It needs the result's
// Edge. Round a whole closed section the pressure belongs to the section, and round a body to the body.
func (m *measuring) checkPressure() {
	f := m.flow
	if len(m.edge.samples) == 0 {
		return
	}
	cp := f.norm * m.edge.mean(func(i int) float64 {
		_, _, _, _, c := f.at(i)
		return c
	})
	switch {
	case math.Abs(cp) > pressureWrong:
		m.noDrag = true
		m.warn("pressure-unlikely", fmt.Sprintf("check --pressure (gauge or absolute) and the unit of p: the mean on the open edge is %.6g Pa", f.ref.Pressure+cp*f.q),
			"the mean Cp on the open edge is %.3g, where about 0 is expected", cp)
	case math.Abs(cp) > pressureOff && !m.cuts && !m.border.wholeSection(m.area) && !m.fillsSection():
		m.warn("pressure-off", "compare --pressure with a tap upstream; a closed section's blockage and the displacement round the body do the same, and are no error",
			"the mean Cp on the open edge is %+.3f (%.3g Pa off p∞): if the reference pressure were that much off, it would change the drag area by %+.4f m2 over this window", cp, cp*f.q, cp*m.area*m.scale)
	}
}

// fillsSection reports whether the window is all of the section that was stated.
func (m *station) fillsSection() bool {
	s := m.opt.Section[0] * m.opt.Section[1]
	return s > 0 && math.Abs(m.area*m.scale-s) <= 0.01*s
}

// Constants of the check for compressible total pressure. The exact law is pt = p (1 +
// (γ−1)/2 M²)^(γ/(γ−1)), whose excess over p + ½ρV² is ½ρV² (M²/4 + …).
const (
	// soundSpeed of air at about 15 °C, m/s (common practice).
	soundSpeed = 340
	// compressibleLeast is the least excess, over q, that is looked for.
	compressibleLeast = 5e-4
)

// compressibleExcess is M²/4 of the reference: what pt∞ formed as for compressible
// flow has over p∞ + ½ρU², in units of q. It is 0 where that is too small to tell.
func (m *station) compressibleExcess() float64 {
	r := m.opt.Reference
	if e := r.Speed * r.Speed / (soundSpeed * soundSpeed) / 4; e > compressibleLeast {
		return e
	}
	return 0
}

// checkTotalPressure sets pt − p against ½ρ|V|² where the file gave all of them. The static
// pressure and the velocities are used then.
func (m *measuring) checkTotalPressure() {
	f, pt := m.flow, m.plane.Field[wake.Pt]
	if pt == nil || !f.momentum() || !m.plane.Has(wake.P) && !m.plane.Has(wake.Cp) {
		return
	}
	off := m.whole.IntegrateFunc(func(i int) float64 { return math.Abs(pt[i] - f.p[i] - f.density(i)*f.half2(i)) }) / f.q / m.area
	if off > 0.005 {
		m.warn("total-pressure-disagrees", "say what the total pressure holds (that of compressible flow has M²/4 more), or leave the column out",
			"total minus static pressure differs from ½ρ|V|² by %.2g q on the mean; the static pressure and the velocities are used", off)
	}
}

// edgeOff is the mean loss of total pressure in the outer stream, in units of q, from which the
// reference is doubted.
const edgeOff = 0.005

// checkEdgeLoss looks at the mean loss of total pressure on the open edge, which the
// reference is off by, or which is M²/4 of q where pt is that of compressible flow and pt∞ is
// p∞ + ½ρU². Round a whole closed section the edge is its wall: there the stream is looked at. A
// plane that cuts the body has no drag that a reference could be off by.
func (m *measuring) checkEdgeLoss() {
	f := m.flow
	if !f.hasLoss() || m.anchor.Kind == AnchorEdge || m.cuts {
		return
	}
	if m.border != nil && m.border.wholeSection(m.area) {
		m.checkStream()
		return
	}
	loss, excess := m.edge.mean(f.loss), m.compressibleExcess()
	used := f.pt != nil || !m.plane.Has(wake.P) && !m.plane.Has(wake.Cp)
	switch {
	case used && math.IsNaN(m.opt.Reference.TotalPressure) && math.Abs(loss+excess) < 0.2*excess:
		m.warn("compressible-total-pressure", "form pt∞ by the same law and give it with --total-pressure, or form pt as p + ½ρ|V|²",
			"the total pressure on the open edge is %.3g %% of q above p∞ + ½ρU², as that of compressible flow is (M²/4), which changes the drag area by %.4f m2 over this window", -100*loss, -excess*m.area*m.scale)
	case math.Abs(loss) > edgeOff:
		m.warn("reference-off", "anchor the reference with --anchor edge, or give --total-pressure",
			"the mean total pressure on the open edge is %.2f %% of q (%.3g Pa) %s the reference; each 0.1 %% of q changes the drag area by %.4f m2 over this window",
			100*math.Abs(loss), math.Abs(loss)*f.q, side(loss), m.sensitivity())
	}
}

// side says where a total pressure lies that is short of the reference by a loss.
func side(loss float64) string {
	if loss > 0 {
		return "below"
	}
	return "above"
}

// streamSamples are enough samples to tell the median of a stream to a fiftieth of its spread.
const streamSamples = 4096

// checkStream looks at the total pressure of a whole closed section. The layer on a wall and an
// onset that is not uniform are no error of the reference: the median, which a wake in less than half
// of the section leaves in the stream beside it, is set against the spread, from the quartiles, 1.349 standard
// deviations apart in a normal distribution. Some thousands of samples tell them, drawn by chance.
func (m *measuring) checkStream() {
	var loss, area []float64
	for i, w := range m.whole.Weight {
		if drawSigns(0, int32(i))%uint64(1+len(m.whole.Weight)/streamSamples) == 0 {
			loss, area = append(loss, m.flow.loss(i)), append(area, w)
		}
	}
	stat.SortWeighted(loss, area)
	at := func(p float64) float64 { return stat.Quantile(p, stat.Empirical, loss, area) }
	if middle, sd := at(0.5), (at(0.75)-at(0.25))/1.349; math.Abs(middle) > math.Max(edgeOff, sd) {
		m.warn("reference-off", "check --pressure, --speed, --density and the unit of p, or take the reference from a plane ahead of the body",
			"the median total pressure of the section is %.2f %% of q (%.3g Pa) %s the reference, and scatters by %.2f %%; each 0.1 %% of q changes the momentum integral by %.4f m2 over this section",
			100*math.Abs(middle), math.Abs(middle)*m.flow.q, side(middle), 100*sd, m.sensitivity())
	}
}

// totalOff is the part of q that a pt∞ given by itself may lie off p∞ + ½ρU² without
// a word.
const totalOff = 0.001

// checkReferenceTotal sets a reference total pressure that was given against p∞ and U.
// An anchor takes what is wrong with it out.
func (m *measuring) checkReferenceTotal() {
	f, given := m.flow, m.opt.Reference.TotalPressure
	if math.IsNaN(given) || m.anchor.Kind == AnchorEdge {
		return
	}
	q := m.opt.Reference.Dynamic()
	off := (given-m.opt.Reference.Pressure)/q - f.norm*(1+f.across())
	// Tubes may read the total pressure of compressible flow, as the reference then does too.
	if e := m.compressibleExcess(); math.Abs(off) <= totalOff || f.pt != nil && math.Abs(off-e) < 0.1*e {
		return
	}
	// A momentum integral holds no total pressure.
	of := "the drag area"
	if f.momentum() {
		of = "the momentum integral by nothing, and the drag area by Jones, Betz or the wake alone"
	}
	m.warn("total-pressure-off", "check --total-pressure, --pressure and --speed against each other, or anchor with --anchor edge",
		"the reference total pressure that was given is %+.2f %% of q (%+.3g Pa) off p∞ + ½ρU², which changes %s by about %+.4f m2 over this window", 100*off, off*q, of, off*m.area*m.scale)
}

// turbulence says what the methods lack where the turbulence term is not in them, and
// about how much that is.
func (m *measuring) turbulence() {
	f := m.flow
	if f.uu != nil || m.opt.Turbulence == TurbulenceNone {
		return
	}
	column, cure := "uu", "export the normal stress <u'u'> with the mean fields"
	if m.opt.Turbulence == TurbulenceIsotropic {
		column, cure = "k", "export the column k"
	} else if m.plane.Field[wake.K] != nil {
		cure += ", or give --turbulence isotropic if the pressure does not hold 2k/3 already"
	}
	m.warn("no-turbulence", cure, "the turbulence term, −2<u'u'>/U² over the wake, is in no method's drag area, since there is no %s; %s", column, m.stressEstimate())
}

// stressEstimate says how large the turbulence term may be where the stress is not known.
// Isotropic turbulence lowers the pressure by ρ<v'v'> = ρ<u'u'>, so that the term is ∫cp
// dS over the wake, from the pressure beside it, and less where the body has lowered the
// pressure too.
func (m *station) stressEstimate() string {
	f := m.flow
	if k := m.plane.Field[wake.K]; k != nil {
		return fmt.Sprintf("taken as isotropic from k it would be %.4f m2", m.scale*m.whole.IntegrateFunc(func(i int) float64 {
			return TurbulenceTerm(f.density(i)/f.ref.Density, 2.0/3*k[i]/(f.ref.Speed*f.ref.Speed))
		}))
	}
	if f.p == nil {
		return "how large it is no pressure tells"
	}
	return fmt.Sprintf("if turbulence alone made the low pressure of the wake, it would be %+.4f m2", m.lowPressure(m.whole))
}
