package measure

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
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
	// on the open edge.
	Weight []float64
	Level  float64
	// Beside are the mean loss of total pressure (1) on the open edge outside the wake and its
	// standard deviation there; NaN where there is none.
	Beside [2]float64
	// Scale is 2 for a half plane, else 1.
	Scale float64
	// Values are the headline numbers in the order of Layout, Responses what the stated
	// uncertain inputs do to them.
	Layout    Layout
	Values    Vector
	Responses []Response
	opt       Options
	flow      *flow
	geometry  *geometry
	openings  *openings
	// pressed is the mean |cp| over the wake.
	pressed float64
}

// Take is Measure with the fields kept.
func Take(p *wake.Plane, opt Options) (*Measurement, error) {
	m, err := newMeasuring(p, opt)
	if err != nil {
		return nil, err
	}
	if opt.Uncertainty.Steady && unsteady(p) {
		return nil, &wake.InputError{
			File: p.Name(), Text: "is said to be of a steady solution, but has normal stresses: it is the mean of an unsteady flow",
			Cure: "leave out steady, and state the time average (effective samples, a force record, repeats)",
		}
	}
	if !opt.bare {
		if err := m.kinematic(); err != nil {
			return nil, err
		}
		m.openings = newOpenings(m.plane.Mesh, m.area)
		m.scatters()
	}
	m.drag()
	m.shape()
	m.regions()
	out := &Measurement{Result: m.out, Plane: m.plane, Weight: m.weight, Scale: m.scale, opt: opt, flow: m.flow, geometry: m.geometry, openings: m.openings}
	if opt.bare {
		return out, nil
	}
	m.method()
	if m.weight != nil {
		out.Level = m.edgeLevel()
	}
	out.Beside[0], out.Beside[1] = m.lossBeside()
	if err := m.budgets(out); err != nil {
		return nil, err
	}
	m.withhold()
	return out, nil
}

// unsteady tells the mean of an unsteady flow by its resolved stresses, or the blocks of its
// record.
func unsteady(p *wake.Plane) bool {
	return p.Field[wake.UU] != nil || p.Field[wake.VV] != nil || p.Field[wake.WW] != nil || p.Blocks != nil
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
	plane *wake.Plane
	opt   Options
	flow  *flow
	*geometry
	weight   []float64
	scale    float64
	out      *Result
	openings *openings // nil where elements cover all
	// pressureWrong says that the reference pressure cannot be the plane's.
	pressureWrong bool
	budgeting
}

// geometry is what a measurement takes from the places of the samples alone, so that
// measuring again with other values need not work it out anew.
type geometry struct {
	mesh   *grid.Mesh
	window grid.Box
	whole  quad.Weights
	// parts are the weights of the regions, in their order.
	parts []quad.Weights
	area  float64
	// spacing is the mesh's median sample distance.
	spacing float64
	edge    *border
	floor   bool
	mirror  mirror
}

func newGeometry(p *wake.Plane, opt *Options) *geometry {
	g := &geometry{mesh: p.Mesh, window: p.Mesh.Window(), whole: quad.NewWeights(p.Mesh, nil), spacing: p.Mesh.Spacing()}
	g.area = g.whole.Area()
	g.edge, g.floor, g.mirror = openEdge(p, g.window, g.spacing, opt.Floor, opt.Half)
	for k := range opt.Regions {
		g.parts = append(g.parts, quad.NewWeights(p.Mesh, &opt.Regions[k].Box))
	}
	return g
}

func newMeasuring(p *wake.Plane, opt Options) (*measuring, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	if len(opt.Thresholds) == 0 {
		opt.Thresholds = DefaultThresholds
	}
	if opt.Half && p.Normal == wake.AxisX {
		var err error
		if p, err = toMirror(p, &opt); err != nil {
			return nil, err
		}
	}
	across := p.Normal == wake.AxisY || p.Normal == wake.AxisZ
	refused := len(opt.Regions) > 0 && across
	if refused {
		// Their limits are of y and z; in-plane axes of other planes are others.
		opt.Regions = nil
	}
	m := &measuring{plane: p, opt: opt, flow: newFlow(p, &opt), geometry: opt.geometry, scale: 1}
	if opt.Half {
		m.scale = 2
	}
	if m.geometry == nil || m.geometry.mesh != p.Mesh {
		m.geometry = newGeometry(p, &opt)
	}
	anchor := wake.Anchor{Kind: "none"}
	if opt.Anchor == "edge" {
		anchor = m.flow.anchorEdge(m.edge, opt.anchorOff)
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
	m.meshInfo()
	if opt.Anchor == "edge" && anchor.Kind == "none" {
		m.warn("not-anchored", "export u or the total pressure on a border that lies in the outer flow, or leave out --anchor edge",
			"the open edge has %d samples, and neither a total pressure nor a velocity there that a reference can be tied to: it is as stated", len(m.edge.samples))
	}
	if refused {
		m.warn("regions-left-out", "", "regions are boxes in y and z, so none is given in a plane normal to %s", p.Normal)
	}
	return m, nil
}

// warn adds a doubt about the plane.
func (m *measuring) warn(code, cure, format string, a ...any) {
	m.out.Warnings = append(m.out.Warnings, wake.Warning{Code: code, Where: m.plane.Name(), Text: fmt.Sprintf(format, a...), Cure: cure})
}

func (m *measuring) meshInfo() {
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

func (m *measuring) shape() {
	f := m.flow
	if f.u == nil && !f.hasLoss() {
		return
	}
	m.weight = f.weight(m.opt.Weight)
	used := m.opt.Weight
	if m.weight == nil && f.u == nil {
		used = WeightTotalPressure
		m.weight = f.weight(used)
		m.warn("weight-replaced", "export the velocity, or ask for --weight total-pressure",
			"the weight %s cannot be had from this plane; %s is used", m.opt.Weight, used)
	}
	if m.weight == nil {
		used = WeightDeficit
		m.weight = f.weight(used)
		m.warn("weight-replaced", "export what the weight needs, or ask for --weight deficit",
			"the weight %s cannot be had from this plane; %s is used", m.opt.Weight, used)
	}
	m.opt.Weight = used
	level := m.edgeLevel()
	plain, off := quad.NewMomentsOff(m.plane.Mesh, nil, m.weight, level)
	m.out.Wake = measureShape(m.plane.Mesh, nil, m.whole, plain, m.weight, used, m.axial(), m.opt.Thresholds, m.scale)
	if m.opt.bare {
		return
	}
	if len(m.edge.samples) > 0 {
		m.out.Wake.Levelled = levelled(off, level, m.scale)
	}
	if m.out.Wake.Centroid == nil {
		m.warn("no-centroid", "anchor pt∞ on the edge, or choose another weight", "parts of the weight with opposite sign cancel over the window: no centroid is given")
		return
	}
	m.out.Uncertainty.Centroid = m.centroidBudget(nil, m.whole, m.out.Wake)
}

// axial is u/U at the samples, or nil where u is not known or not asked for.
func (m *measuring) axial() func(i int) float64 {
	if m.flow.u == nil || m.opt.bare {
		return nil
	}
	return func(i int) float64 { return m.flow.u[i] / m.flow.speed }
}

// edgeLevel is what the weight is off on the open edge, for the reference is.
func (m *measuring) edgeLevel() float64 {
	level, _ := m.edge.level(func(i int) float64 { return m.weight[i] })
	return level
}

// centroidBudget has for each coordinate the sampling, the move that a level b off over
// the part's area A brings, b·A·(middle−centroid)/∫w, and what no element covers.
func (m *measuring) centroidBudget(box *grid.Box, part quad.Weights, w *Wake) *[2]uncertainty.Budget {
	res := m.weightScatter().residual
	// For each coordinate (Σa, Σa²) of SamplingItem, with the lever as c, and the lever
	// of the part's area.
	sum := part.IntegrateAll(6, func(i int, weight float64, s []float64) {
		p := m.plane.Mesh.Points[i]
		for k, lever := range [2]float64{p.X - w.Centroid[0], p.Y - w.Centroid[1]} {
			a := weight * res[i] * lever
			a *= a
			s[3*k] += a
			s[3*k+1] += a * a
			s[3*k+2] += weight * lever
		}
	})
	level, per := m.edgeLevel(), m.scale/math.Abs(w.Integral)
	lack := m.uncoveredCentroid(box, w)
	budget := func(s []float64, lack []uncertainty.Item) uncertainty.Budget {
		return uncertainty.NewBudget(append([]uncertainty.Item{samplingItem(s[0], s[1], per),
			{Name: "edge level of the weight", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(level*s[2]) * per}}, lack...)...)
	}
	return &[2]uncertainty.Budget{budget(sum[:3], lack[0]), budget(sum[3:], lack[1])}
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
		sym = m.mirror.words() + ", drags and areas doubled"
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
		{"uncertainty", "squares of the items added; k = 2, or Student's t below thirty effective degrees of freedom"},
	}
	if m.opt.ReferenceBy != "" {
		m.out.Method = append(m.out.Method, Setting{"reference", m.opt.ReferenceBy})
	}
	if m.flow.wake != nil && m.out.Drag != nil {
		m.out.Method = append(m.out.Method, Setting{"wake region", m.flow.wake.Rule})
	}
	if m.out.Drag != nil && m.out.Drag.WakeOnly != nil {
		m.out.Method = append(m.out.Method, Setting{"vortex part", m.out.Drag.WakeOnly.Boundary})
	}
	switch o := m.opt; {
	case o.Yaw != 0:
		m.out.Method = append(m.out.Method, Setting{"yaw", fmt.Sprintf("%g degrees, positive where the free stream has a part toward +y; U is |V∞|, drag is along x", o.Yaw)})
	case o.Onset != [2]float64{}:
		m.out.Method = append(m.out.Method, Setting{"onset", fmt.Sprintf("v = %g and w = %g m/s; U is the free stream's part along x", o.Onset[0], o.Onset[1])})
	}
	if m.opt.PressureIncludesK {
		m.out.Method = append(m.out.Method, Setting{"pressure", "2/3 of density times k taken out"})
	}
	if bare := m.withoutUnit(); bare != "" {
		m.warn("unit-assumed", "write the units into the heading, or give them with --column", "SI units are taken for %s, for which the file gives none", bare)
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
