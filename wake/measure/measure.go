package measure

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// Measure integrates one survey plane. The plane's warnings are taken over and
// its own doubts added; what cannot be had from the plane's quantities is left
// out of the result with a warning. Errors are about options that nothing can be
// computed with (*wake.InputError).
func Measure(p *wake.Plane, opt Options) (*Result, error) {
	m, err := Take(p, opt)
	if err != nil {
		return nil, err
	}
	return m.Result, nil
}

// Measurement is a Result with the fields behind it, for comparing surveys sample
// by sample and for maps.
type Measurement struct {
	Result *Result
	Plane  *wake.Plane
	// Weight is the field that centroid and areas are weighted with, Level its mean
	// on the open edge, Subset what Mesh.Interleave gave.
	Weight []float64
	Level  float64
	Subset []uint8
	// Scale is 2 for a half plane, else 1.
	Scale float64
	flow  *flow
}

// Take is Measure with the fields kept.
func Take(p *wake.Plane, opt Options) (*Measurement, error) {
	m, err := newMeasuring(p, opt)
	if err != nil {
		return nil, err
	}
	m.drag()
	m.shape()
	m.regions()
	m.method()
	out := &Measurement{Result: m.out, Plane: p, Weight: m.weight, Subset: m.subset, Scale: m.scale, flow: m.flow}
	if m.weight != nil {
		out.Level = m.edgeLevel()
	}
	return out, nil
}

// Local returns the local drag of each sample, or nil where the plane lacks what
// it needs.
func (m *Measurement) Local() []float64 {
	if !m.flow.momentum() {
		return nil
	}
	out := make([]float64, len(m.Plane.Mesh.Points))
	for i := range out {
		out[i] = m.flow.local(i)
	}
	return out
}

// measuring is one run of Measure: what its steps share.
type measuring struct {
	plane  *wake.Plane
	opt    Options
	flow   *flow
	window grid.Box
	whole  quad.Weights
	area   float64
	edge   []int32
	floor  bool
	// spacing is the mesh's median sample distance.
	spacing float64
	subset  []uint8
	weight  []float64
	scale   float64
	out     *Result
}

func newMeasuring(p *wake.Plane, opt Options) (*measuring, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	if len(opt.Thresholds) == 0 {
		opt.Thresholds = DefaultThresholds
	}
	m := &measuring{plane: p, opt: opt, flow: newFlow(p, &opt), window: p.Mesh.Window(), scale: 1}
	if opt.Half {
		m.scale = 2
	}
	m.whole = quad.NewWeights(p.Mesh, nil)
	m.area = m.whole.Area()
	m.subset = p.Mesh.Interleave()
	m.spacing = p.Mesh.Spacing()
	m.edge, m.floor = openEdge(p, m.window, m.spacing, opt.Floor)
	anchor := wake.Anchor{Kind: "none"}
	if opt.Anchor == "edge" && m.flow.momentum() {
		anchor = m.flow.anchorEdge(m.edge)
	}
	r := m.flow.ref
	m.out = &Result{
		File:     p.Name(),
		Station:  Station{Normal: p.Normal.String(), Position: p.Position, Scatter: p.Scatter},
		Samples:  len(p.Mesh.Points),
		Rejected: p.Dropped + p.Merged,
		Window:   Window{Y: [2]float64{m.window.Min.X, m.window.Max.X}, Z: [2]float64{m.window.Min.Y, m.window.Max.Y}},
		Reference: Reference{
			Speed: r.Speed, Density: r.Density, Pressure: r.Pressure, TotalPressure: r.TotalPressure,
			Dynamic: m.flow.q, Area: opt.FrontalArea, Anchor: anchor, Sensitivity: m.area * m.scale / 1000,
		},
		Warnings: append([]wake.Warning(nil), p.Warnings...),
	}
	m.mesh()
	return m, nil
}

// warn adds a doubt about the plane.
func (m *measuring) warn(code, cure, format string, a ...any) {
	m.out.Warnings = append(m.out.Warnings, wake.Warning{Code: code, Where: m.plane.Name(), Text: fmt.Sprintf(format, a...), Cure: cure})
}

func (m *measuring) mesh() {
	mesh := m.plane.Mesh
	m.out.Mesh = MeshInfo{
		Kind: mesh.Kind.String(), Support: mesh.Support.String(), SupportBy: m.plane.SupportBy,
		Elements: mesh.Elements(), Area: m.area, Holes: mesh.Holes(), DroppedArea: mesh.DroppedArea,
		Spacing: m.spacing, CutsBody: mesh.CutsBody(),
	}
	if mesh.Kind == grid.KindLattice {
		m.out.Mesh.HalfCells = halfCells(mesh)
	}
}

// halfCells is the area between the outermost lines of a lattice and the outer
// borders of the cells round them.
func halfCells(mesh *grid.Mesh) float64 {
	x, y := grid.CellEdges(mesh.Lattice.X), grid.CellEdges(mesh.Lattice.Y)
	outer := (x[len(x)-1] - x[0]) * (y[len(y)-1] - y[0])
	return outer - grid.Bounds(mesh.Points).Area()
}

// coefficient turns a drag area into C_D, or nil without a frontal area.
func (m *measuring) coefficient(dragArea float64) *float64 {
	if m.opt.FrontalArea == 0 {
		return nil
	}
	c := dragArea / m.opt.FrontalArea
	return &c
}

// terms integrates the four terms over a part of the plane.
func (m *measuring) terms(part quad.Weights) (Terms, float64) {
	f := m.flow
	sum := part.IntegrateAll(4, func(i int, w float64, v []float64) {
		tp, ax, cf, tu := f.terms(i)
		v[0] += w * tp
		v[1] += w * ax
		v[2] += w * cf
		v[3] += w * tu
	})
	t := Terms{TotalPressure: m.scale * sum[0], Axial: m.scale * sum[1], Crossflow: m.scale * sum[2]}
	total := t.TotalPressure + t.Axial + t.Crossflow
	if f.uu != nil {
		tu := m.scale * sum[3]
		t.Turbulence = &tu
		total += tu
	}
	return t, total
}

func (m *measuring) drag() {
	f := m.flow
	if m.plane.Normal != wake.AxisX {
		m.warn("not-cross-flow", "drag needs a plane normal to x", "the plane is normal to %s: no drag is claimed from it", m.plane.Normal)
		return
	}
	if f.u == nil {
		m.warn("no-velocity", `name the axial velocity with --column u="NAME [unit]"`, "no axial velocity: nothing can be integrated")
		return
	}
	m.checkFlow()
	d := &Drag{}
	m.out.Drag = d
	if !m.out.Mesh.CutsBody {
		d.VelocityOnly = &VelocityOnly{DragArea: m.scale * m.whole.IntegrateFunc(func(i int) float64 { return VelocityDensity(f.u[i] / f.ref.Speed) })}
	}
	if !f.momentum() {
		m.warn("momentum-only", "export the static pressure and all three velocities",
			"%s missing: the velocity deficit is not a drag, and no drag verdict is given (a potential flow without drag reads 1 m2 behind a sphere of 1 m radius)", m.missing())
		if d.VelocityOnly != nil {
			d.Headline = "velocity_only"
		}
		return
	}
	m.turbulence()
	terms, total := m.terms(m.whole)
	m.out.Edge = measureEdge(m.plane, f, m.whole, m.window, m.edge, total/m.scale, m.area)
	if m.out.Mesh.CutsBody {
		m.warn("cuts-body", "read the regions and the shift here, and total drag from a plane behind the body",
			"the plane cuts the body (%s), so it has no total drag", m.opening())
		return
	}
	d.Headline = "momentum"
	d.Momentum = &Momentum{DragArea: total, Cd: m.coefficient(total), Terms: terms}
	m.others(d)
	b := NewBudget(
		Item{Name: "sampling distance", Kind: "random", Standard: m.scale * m.sampling(m.whole).Standard()},
		m.edgeItem(),
	)
	m.out.Uncertainty.DragArea = &b
	e := m.out.Edge
	if !e.Closes {
		m.warn("window-open", "survey a wider plane, give the section for a wake-only method, or anchor pt∞ on the edge if the reference is off",
			"the window does not close: %s; the momentum integral of the window is not the whole drag", e.Why)
	}
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
func (m *measuring) edgeItem() Item {
	e := m.out.Edge
	it := Item{Name: "window edge", Kind: "independent", Standard: m.scale * e.Effect / math.Sqrt(3)}
	if !e.Closes {
		it.Name = "window edge (does not close)"
		it.Standard = m.scale * math.Abs(e.Residual) * m.area
	}
	return it
}

// sampling recomputes the local drag of a part from each subset.
func (m *measuring) sampling(part quad.Weights) Subsets {
	return NewSubsets(m.plane.Mesh, part, m.subset, m.flow.local)
}

// wakeLoss is the part of q in total pressure beyond which a sample counts to the
// wake's area, against which Jones's invalid area is set.
const wakeLoss = 0.01

// others adds the methods that stand beside the momentum integral.
func (m *measuring) others(d *Drag) {
	f := m.flow
	// In pitot form the local total pressure is on the scale where pt∞ is 1. The last
	// two sums are areas: where Jones has no meaning, and of the wake.
	sum := m.whole.IntegrateAll(8, func(i int, weight float64, s []float64) {
		r, u, v, w, cp := f.at(i)
		cpt := cp + r*(u*u+v*v+w*w)
		jones, ok := JonesDensity(cpt/f.cptInf, u)
		s[0] += weight * jones
		s[1] += weight * BetzDensity(f.cptInf-cpt, r, u)
		a, b, c, d := EnergyTerms(f.cptInf, cp, u, v, w)
		s[2] += weight * a
		s[3] += weight * b
		s[4] += weight * c
		s[5] += weight * d
		if !ok {
			s[6] += weight
		}
		if 1-cpt/f.cptInf > wakeLoss {
			s[7] += weight
		}
	})
	for k := range sum {
		sum[k] *= m.scale
	}
	jones, betz, share := sum[0], sum[1], 0.0
	if sum[7] > 0 {
		share = sum[6] / sum[7]
	}
	d.Jones = &Jones{DragArea: jones, Cd: m.coefficient(jones), Invalid: share}
	if share > 0.01 {
		m.warn("jones-invalid", "quote the momentum integral, or survey further downstream",
			"Jones's method has no meaning in %.1f %% of the wake's area (cpt <= 0 or u <= 0)", 100*share)
	}
	d.Betz = &Betz{DragArea: betz, Cd: m.coefficient(betz)}
	if f.rho == nil {
		d.Energy = &Energy{Dissipation: sum[2], Axial: sum[3], Crossflow: sum[4], Pressure: sum[5]}
	}
}

func (m *measuring) shape() {
	f := m.flow
	if f.u == nil {
		return
	}
	m.weight = f.weight(m.opt.Weight)
	used := m.opt.Weight
	if m.weight == nil {
		used = WeightDeficit
		m.weight = f.weight(used)
		m.warn("weight-replaced", "export what the weight needs, or ask for --weight deficit",
			"the weight %s cannot be had from this plane; %s is used", m.opt.Weight, used)
	}
	m.opt.Weight = used
	m.out.Wake = measureShape(m.plane.Mesh, nil, m.whole, m.weight, used, m.axial, m.opt.Thresholds, m.scale)
	if m.out.Wake.Centroid == nil {
		m.warn("no-centroid", "anchor pt∞ on the edge, or choose another weight", "parts of the weight with opposite sign cancel over the window: no centroid is given")
		return
	}
	m.out.Uncertainty.Centroid = m.centroidBudget(m.whole, m.out.Wake)
}

func (m *measuring) axial(i int) float64 { return m.flow.u[i] / m.flow.ref.Speed }

// edgeLevel is the mean of the weight on the open border: what the reference is
// off there.
func (m *measuring) edgeLevel() float64 {
	if len(m.edge) == 0 {
		return 0
	}
	var s quad.Sum
	for _, i := range m.edge {
		s.Add(m.weight[i])
	}
	return s.Value() / float64(len(m.edge))
}

// centroidBudget has two items for each coordinate: the four subsets, and the
// move that a level b off over the part's area A brings, b·A·(middle−centroid)/∫w.
func (m *measuring) centroidBudget(part quad.Weights, w *Wake) *[2]Budget {
	sub := NewSubsets(m.plane.Mesh, part, m.subset, func(i int) float64 { return m.weight[i] })
	sx, sy := sub.StandardCentroid()
	level := m.edgeLevel()
	var x, y quad.Sum
	for k, weight := range part.Weight {
		i := k
		if part.Index != nil {
			i = int(part.Index[k])
		}
		x.Add(weight * (m.plane.Mesh.Points[i].X - w.Centroid[0]))
		y.Add(weight * (m.plane.Mesh.Points[i].Y - w.Centroid[1]))
	}
	move := func(lever float64) float64 { return math.Abs(level * lever * m.scale / w.Integral) }
	return &[2]Budget{
		NewBudget(Item{"sampling distance", "random", sx}, Item{"edge level of the weight", "independent", move(x.Value())}),
		NewBudget(Item{"sampling distance", "random", sy}, Item{"edge level of the weight", "independent", move(y.Value())}),
	}
}

func (m *measuring) method() {
	turb := "none: no stress column"
	switch {
	case m.flow.uu != nil && m.flow.uuScale == 1:
		turb = "normal stress <u'u'> from the file"
	case m.flow.uu != nil:
		turb = "isotropic, <u'u'> = 2k/3"
	case m.opt.Turbulence == "none":
		turb = "left out as asked"
	}
	sym := "full plane"
	if m.opt.Half {
		sym = "half plane, drags and areas doubled"
	}
	var th []string
	for _, t := range m.opt.Thresholds {
		th = append(th, fmt.Sprintf("%g", t))
	}
	m.out.Method = []Setting{
		{"drag", "momentum integral in three terms plus turbulence"},
		{"turbulence", turb},
		{"support", m.plane.Mesh.Support.String() + " (" + m.plane.SupportBy + ")"},
		{"weight", m.opt.Weight.String() + ": " + m.opt.Weight.Formula()},
		{"thresholds", strings.Join(th, ", ")},
		{"symmetry", sym},
		{"anchor", m.out.Reference.Anchor.Kind},
		{"uncertainty", Covers},
	}
	if bare := m.withoutUnit(); bare != "" {
		m.out.Method = append(m.out.Method, Setting{"units", "SI taken for " + bare + ", which the file gives no unit for"})
	}
}

// withoutUnit lists the dimensional columns whose unit nobody stated.
func (m *measuring) withoutUnit() string {
	var names []string
	for q := wake.X; q < wake.NumQuantities; q++ {
		if s := m.plane.Source[q]; s.Name != "" && s.Unit == "" && q.Unit() != "1" {
			names = append(names, q.String())
		}
	}
	return strings.Join(names, " ")
}
