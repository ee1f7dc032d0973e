package measure

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// Measurement is a Result with the fields behind it, for comparing surveys sample
// by sample and for maps.
type Measurement struct {
	*Result
	Plane *wake.Plane
	// Weight is the field that centroid and areas are weighted with, Level its mean
	// on the open edge.
	Weight []float64
	Level  float64
	// Scale is 2 for a half plane, else 1.
	Scale float64
	// Values are the headline numbers in the order of Layout, Responses what the stated
	// uncertain inputs do to them.
	Layout    Layout
	Values    Vector
	Responses []Response
	*station
	// given are the options as they came.
	given    Options
	openings *openings
	// pressed is the mean |cp| over the wake.
	pressed float64
}

// measuring is the last stage of Take: it gives the numbers their budgets, and takes the
// headline back where there can be none.
type measuring struct {
	*Measurement
	// border is the state of the open edge; nil without a momentum integral.
	border *Edge
	// noDrag says that the reference pressure or the frame cannot be the plane's.
	noDrag bool
	// areas are what the samples bring to the areas, by the layout.
	areas [][]uncertainty.Item
	// local and ofWeight are made when first asked for.
	local, ofWeight *Scatter
}

// Take integrates one survey plane. Its stages: a station is made of the plane, its
// numbers are measured, doubts are looked for, budgets are made. The plane's warnings are taken
// over; what is not computable from the plane's quantities is left out of the result with a
// warning. Errors are about options that nothing can be computed with (*wake.InputError).
func Take(p *wake.Plane, opt Options) (*Measurement, error) { return take(p, opt, true) }

// Bare is Take for the fields and the headline numbers alone: no input is unsure, and areas
// have no budgets.
func Bare(p *wake.Plane, opt Options) (*Measurement, error) {
	opt.Uncertainty = Inputs{}
	return take(p, opt, false)
}

func take(p *wake.Plane, opt Options, areas bool) (*Measurement, error) {
	s, err := newStation(p, opt, shared{})
	if err != nil {
		return nil, err
	}
	if opt.Uncertainty.Steady && unsteady(p) {
		return nil, wake.Refuse(p.Name(), "leave out steady, and state the time average (effective samples, a force record, repeats)",
			"is said to be of a steady solution, but has normal stresses: it is the mean of an unsteady flow")
	}
	if err := s.kinematic(); err != nil {
		return nil, err
	}
	m := &measuring{Measurement: &Measurement{
		Result: s.result(), Plane: s.plane, Weight: s.weight, Scale: s.scale, station: s, given: opt, openings: newOpenings(s.mesh, s.area),
		Layout: Layout{Thresholds: len(s.opt.Thresholds), Regions: len(s.opt.Regions)},
	}}
	m.scatters()
	n := s.numbers()
	if s.weight != nil {
		m.Level = s.edgeLevel()
		n.wake.Levelled = s.levelled(m.Level)
	}
	n = m.all(n)
	m.Values, m.border = m.Layout.vector(n), n.edge
	m.Result.Drag, m.Result.Edge, m.Result.Wake = n.drag, n.edge, n.wake
	m.Result.Warnings = slices.Clone(s.plane.Warnings)
	m.checkOptions()
	m.checkDrags(n)
	m.dragBudget(n)
	m.shapeBudget()
	m.regions(n)
	m.Result.Method = s.settings()
	if bare := s.withoutUnit(); bare != "" {
		m.warn("unit-assumed", "write the units into the heading, or give them with --column", "SI units are taken for %s, for which the file gives none", bare)
	}
	if err := m.budgets(areas); err != nil {
		return nil, err
	}
	m.withhold()
	return m.Measurement, nil
}

// unsteady tells the mean of an unsteady flow by its resolved stresses, or the blocks of its
// record.
func unsteady(p *wake.Plane) bool {
	return p.Field[wake.UU] != nil || p.Field[wake.VV] != nil || p.Field[wake.WW] != nil || p.Blocks != nil
}

// warn adds a doubt about the plane.
func (m *measuring) warn(code, cure, format string, a ...any) {
	m.Result.Warnings = append(m.Result.Warnings, wake.Doubt(code, m.plane.Name(), cure, format, a...))
}

// all adds to the headline numbers those of the other methods, the state of the open edge
// and what is quoted.
func (m *measuring) all(n *numbers) *numbers {
	if n.drag == nil {
		return n
	}
	all, d := *n, *n.drag
	all.drag = &d
	if m.flow.momentum() {
		all.edge = m.measureEdge(n.total/m.scale, n.wake, m.localScatter())
		if !m.cuts {
			d.Yaw = m.yaw()
		}
	}
	if m.flow.wake != nil {
		d.Region = &m.flow.wake.WakeRegion
	}
	all.by(m.station, &d, false)
	d.Headline = m.headline(&d, all.edge)
	return &all
}

// headline is the key of the method that is quoted, empty for none: the momentum integral
// where the window closes, else the wake-only drag, Jones's of a pitot survey, or what the
// velocity alone gives.
func (m *station) headline(d *Drag, e *Edge) string {
	switch {
	case d.Momentum != nil && e.Open() && d.WakeOnly != nil:
		return ByWakeOnly
	case d.Momentum != nil:
		return ByMomentum
	case d.Jones != nil && d.Jones.Sound():
		return ByJones
	case d.Jones == nil && d.VelocityOnly != nil:
		return ByVelocityOnly
	}
	return ""
}

// dragBudget is what the plane itself tells of the quoted drag's uncertainty.
func (m *measuring) dragBudget(n *numbers) {
	if n.drag == nil || n.drag.Headline == "" {
		return
	}
	method := MethodOf(n.drag.Headline)
	if !method.Quotable {
		return
	}
	b := uncertainty.NewBudget(method.items(m, n.drag)...)
	// What no element covers of the plane: of the wake-only drag, of its momentum integral.
	area, local := n.total, m.flow.local
	if method == jonesMethod {
		area, local = n.drag.Jones.DragArea, m.flow.jonesAt
	}
	m.Result.Uncertainty.DragArea = m.uncovered(b, nil, "the plane", area, local)
}

// shapeBudget is that of the whole wake's centroid.
func (m *measuring) shapeBudget() {
	w := m.Result.Wake
	if w == nil {
		return
	}
	if m.opt.Weight != m.asked {
		lacks := "what the weight needs"
		if m.flow.u == nil {
			lacks = "the velocity"
		}
		m.warn("weight-replaced", "export "+lacks+", or ask for --weight "+m.opt.Weight.String(), "the weight %s is not computable from this plane; %s is used", m.asked, m.opt.Weight)
	}
	if w.Centroid == nil {
		m.warn("no-centroid", "anchor pt∞ on the edge, or choose another weight", "parts of the weight with opposite sign cancel over the window: no centroid is given")
		return
	}
	m.Result.Uncertainty.Centroid = m.centroidBudget(nil, m.whole, w)
}

// centroidBudget has for each coordinate the sampling with the curvature between samples, the move that a level b off over
// the part's area A brings, b·A·(middle−centroid)/∫w, and what no element covers.
func (m *measuring) centroidBudget(box *grid.Box, part quad.Weights, w *Wake) *[2]uncertainty.Budget {
	scatter := m.weightScatter()
	// For each coordinate (Σa, Σa²) of Scatter.Sampling, with the lever on each sample, the lever
	// of the part's area, and that of the chord error.
	sum := part.IntegrateAll(8, func(i int, weight float64, s []float64) {
		p := m.plane.Mesh.Points[i]
		for k, lever := range [2]float64{p.X - w.Centroid[0], p.Y - w.Centroid[1]} {
			a := weight * scatter.residual[i] * lever
			a *= a
			s[4*k] += a
			s[4*k+1] += a * a
			s[4*k+2] += weight * lever
			s[4*k+3] += weight * lever * scatter.chord[i]
		}
	})
	level, per := m.edgeLevel(), m.scale/math.Abs(w.Integral)
	lack := m.uncoveredCentroid(box, w)
	budget := func(s []float64, lack []uncertainty.Item) uncertainty.Budget {
		sampling := samplingItem(s[0], s[1], per)
		return uncertainty.NewBudget(append([]uncertainty.Item{sampling, curvatureItem(s[3]*per, sampling.Standard, 0),
			{Name: "edge level of the weight", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(level*s[2]) * per}}, lack...)...)
	}
	return &[2]uncertainty.Budget{budget(sum[:4], lack[0]), budget(sum[4:], lack[1])}
}

// rounding is what single precision leaves in a drag area, over the window's area.
const rounding = 1e-6

// withhold takes the headline back where it cannot be a drag: where the mean |Cp| on the
// open edge is above pressureWrong, where the stream there has another speed altogether or is reversed, and where the drag area is below zero by more than its
// own expanded uncertainty. One that zero lies within, as noise leaves it behind nothing,
// is quoted. No other method is quoted instead: what makes one impossible, a wrong
// reference or unit, is in all of them. It needs the completed budgets.
func (m *measuring) withhold() {
	d, u := m.Result.Drag, m.Result.Uncertainty.DragArea
	if d == nil || u == nil {
		return
	}
	i := m.Layout.Method(d.Headline)
	if i < 0 {
		return
	}
	if area := m.Values[i]; area < -u.Expanded && area < -rounding*m.area && !m.noDrag {
		m.warn("negative-drag", "check --pressure, --speed, --density and the units against the open edge, and the sense of u; --anchor edge takes a level of pt∞ out",
			"the drag area, %.4g ± %.2g m2, is below zero by more than its uncertainty, which is impossible", area, u.Expanded)
	} else if !m.noDrag {
		return
	}
	d.Headline, m.Result.Uncertainty.DragArea = "", nil
}
