package measure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// Inputs are standard uncertainties that the user states; 0 is none.
type Inputs struct {
	// Speed, m/s, and Density, kg/m³, of the reference; Pressure and TotalPressure
	// likewise, Pa.
	Speed, Density, Pressure, TotalPressure float64
	// SpeedDOF and PressureDOF are the degrees of freedom where the plane that the reference
	// comes from tells them, and nobody states them; else 0.
	SpeedDOF, PressureDOF float64
	// Position is that of the whole survey along each of its two axes, m; Scale the
	// relative error of lengths, the same along both.
	Position, Scale float64
	// Solution is the analyst's band for what another run of the solver changes, as a part of the drag
	// area: a standard uncertainty, anew for each survey. nil where nothing is stated;
	// 0 is a statement too.
	Solution *float64
	// Steady declares converged steady solutions, which have no time average.
	Steady bool
	// EffectiveSamples is the number of independent samples in the time average; with
	// the stress columns it gives the uncertainty of each mean velocity, √(stress/N). The
	// plane is taken to err as one, the upper bound for a drag.
	EffectiveSamples float64
	// OwnReference says that the reference is of this survey alone: what is stated of it cancels
	// in no difference. A position is set anew for each survey, a scale is common to all.
	OwnReference bool
	// Repeat is the standard deviation of each headline number from one survey of one
	// configuration to the next, with RepeatDOF degrees of freedom; nil, or NaN and 0, where
	// nothing is known. The order is that of the Layout.
	Repeat, RepeatDOF Vector
	// Trials is the number of Monte Carlo trials; 0 does none.
	Trials int
}

// Check refuses what is no uncertainty.
func (u *Inputs) Check() error {
	const of = "the standard uncertainty of the "
	for _, v := range []struct {
		name  string
		value float64
	}{
		{of + "speed", u.Speed}, {of + "density", u.Density}, {of + "pressure", u.Pressure}, {of + "total pressure", u.TotalPressure}, {of + "position", u.Position},
		{of + "scale", u.Scale}, {of + "solution", wake.Deref(u.Solution)}, {"the number of effective samples", u.EffectiveSamples},
	} {
		if !(0 <= v.value && v.value <= mostStated) {
			return refuse(fmt.Sprintf("zero or a positive number up to %g is expected", mostStated), "%s is %g", v.name, v.value)
		}
	}
	if u.EffectiveSamples > 0 && u.EffectiveSamples < 1 {
		return refuse("give the number of independent samples in the mean, at least 1", "the number of effective samples is %g", u.EffectiveSamples)
	}
	if u.Trials != 0 && !(leastTrials <= u.Trials && u.Trials <= mostTrials) {
		return refuse(fmt.Sprintf("give 0 for none, or %d to %d", leastTrials, mostTrials), "%d Monte Carlo trials", u.Trials)
	}
	return nil
}

// OfReference begins the names of the inputs that state the inflow: speed, density, pressures.
const OfReference = "reference "

// AlongFirst names the response to a survey that lies off along the first axis of the plane.
const AlongFirst = "position along the first axis"

// input is one uncertain input of a measurement.
type input struct {
	name, unit, kind string
	standard, dof    float64
	apply            change
}

// change is a plane, or the options, off by d.
type change func(p *wake.Plane, opt *Options, d float64) *wake.Plane

// inputs lists those that are stated, in a fixed order.
func (u *Inputs) inputs() []input {
	reference := func(of func(r *wake.Freestream) *float64) change {
		return func(p *wake.Plane, opt *Options, d float64) *wake.Plane {
			*of(&opt.Reference) += d
			return p
		}
	}
	place := func(scale float64, by grid.Point) change {
		return func(p *wake.Plane, _ *Options, d float64) *wake.Plane {
			return moved(p, 1+d*scale, grid.Point{X: d * by.X, Y: d * by.Y})
		}
	}
	of := uncertainty.Common
	if u.OwnReference {
		of = uncertainty.Independent
	}
	return slices.DeleteFunc([]input{
		{OfReference + "speed", "m/s", of, u.Speed, u.SpeedDOF, reference(func(r *wake.Freestream) *float64 { return &r.Speed })},
		{OfReference + "density", "kg/m3", of, u.Density, 0, reference(func(r *wake.Freestream) *float64 { return &r.Density })},
		{OfReference + "pressure", "Pa", of, u.Pressure, u.PressureDOF, reference(func(r *wake.Freestream) *float64 { return &r.Pressure })},
		{OfReference + "total pressure", "Pa", of, u.TotalPressure, 0, reference(func(r *wake.Freestream) *float64 {
			if math.IsNaN(r.TotalPressure) {
				r.TotalPressure = r.Pressure + r.Dynamic()
			}
			return &r.TotalPressure
		})},
		{AlongFirst, "m", uncertainty.Independent, u.Position, 0, place(0, grid.Point{X: 1})},
		{"position along the second axis", "m", uncertainty.Independent, u.Position, 0, place(0, grid.Point{Y: 1})},
		{"position scale", "1", uncertainty.Common, u.Scale, 0, place(1, grid.Point{})},
	}, func(in input) bool { return !(in.standard > 0) })
}

// moved is the plane with its samples at k·r + by.
func moved(p *wake.Plane, k float64, by grid.Point) *wake.Plane {
	points := func(in []grid.Point) []grid.Point {
		return grid.Fill(len(in), func(i int) grid.Point { return grid.Point{X: k*in[i].X + by.X, Y: k*in[i].Y + by.Y} })
	}
	numbers := func(in []float64, k, by float64) []float64 {
		return grid.Fill(len(in), func(i int) float64 { return k*in[i] + by })
	}
	m := p.Mesh
	n := &grid.Mesh{
		Kind: m.Kind, Support: m.Support, Points: points(m.Points), Triangles: m.Triangles, Faces: m.Faces,
		Gaps: m.Gaps, DroppedArea: k * k * m.DroppedArea,
	}
	if m.Lattice != nil {
		n.Lattice = &grid.Lattice{X: numbers(m.Lattice.X, k, by.X), Y: numbers(m.Lattice.Y, k, by.Y), Index: m.Lattice.Index}
	}
	if m.Cells != nil {
		n.Cells = &grid.CellSet{Corners: points(m.Cells.Corners), Start: m.Cells.Start, Index: m.Cells.Index}
	}
	if m.SampleArea != nil {
		n.SampleArea = numbers(m.SampleArea, k*k, 0)
	}
	out := *p
	out.Mesh = n
	return &out
}

// Response is what one input does to the headline numbers.
type Response struct {
	Name, Unit, Kind string
	Category         uncertainty.Category
	// How is uncertainty.Stated or empty, as of an Item.
	How string
	// Standard is the input's standard uncertainty, DOF its degrees of freedom (0: taken
	// as known).
	Standard, DOF float64
	// Plus and Minus are the numbers with the input off by ± Standard; where the
	// input is a field of random errors they are nil and Draws holds the numbers
	// for each draw.
	Plus, Minus Vector
	Draws       []Vector
	// PointByPoint: the draws are of velocities by their stress, which err from place to place.
	PointByPoint bool
}

// again measures the headline numbers of a plane with an input off.
func (l Layout) again(p *wake.Plane, opt Options, with shared) (Vector, error) {
	opt.Uncertainty = Inputs{}
	s, err := newStation(p, opt, with)
	if err != nil {
		return nil, err
	}
	return l.vector(s.numbers()), nil
}

// off measures with other values at the same places.
func (m *Measurement) off(p *wake.Plane) (Vector, error) {
	return m.Layout.again(p, m.given, shared{geometry: m.geometry, wake: m.flow.wake})
}

// respond measures again with each input off.
func (m *measuring) respond() error {
	for _, in := range m.given.Uncertainty.inputs() {
		r := Response{Name: in.name, Unit: in.unit, Kind: in.kind, Category: uncertainty.Reference, How: uncertainty.Stated, Standard: in.standard, DOF: in.dof}
		if in.dof > 0 {
			r.How = ""
		}
		err := m.sides(r, func(d float64) (Vector, error) {
			opt := m.given
			v, err := m.Layout.again(in.apply(m.plane, &opt, d), opt, shared{geometry: m.geometry, wake: m.flow.wake})
			if err != nil {
				err = &wake.InputError{File: m.plane.Name(), Text: fmt.Sprintf("with the %s off by %+g %s nothing can be measured: %v", in.name, d, in.unit, err), Cure: "state a smaller uncertainty"}
			}
			return v, err
		})
		if err != nil {
			return err
		}
	}
	if err := m.respondAnchor(); err != nil {
		return err
	}
	m.respondSupport()
	if err := m.respondSamples(); err != nil {
		return err
	}
	if m.plane.Blocks != nil {
		return m.respondBlocks()
	}
	return m.respondTime()
}

// sides measures with an input off to either side.
func (m *measuring) sides(r Response, off func(d float64) (Vector, error)) (err error) {
	if r.Plus, err = off(r.Standard); err == nil {
		r.Minus, err = off(-r.Standard)
	}
	m.Responses = append(m.Responses, r)
	return err
}

// draws measures n planes off at random, side by side.
func (m *measuring) draws(r Response, n int, plane func(d int) *wake.Plane) (err error) {
	r.Draws, err = vectors(n, func(d int) (Vector, error) { return m.off(plane(d)) })
	m.Responses = append(m.Responses, r)
	return err
}

// vectors measures side by side. The error is the first in their order, whichever was met first.
func vectors(n int, of func(k int) (Vector, error)) ([]Vector, error) {
	out, errs := make([]Vector, n), make([]error, n)
	grid.Parallel(n, func(k int) { out[k], errs[k] = of(k) })
	return out, cmp.Or(errs...)
}

// respondAnchor treats the level that the edge was anchored on as the mean of the
// sides of the window, each where it lies in the outer flow: their scatter is what one
// level for the whole plane is off by.
func (m *measuring) respondAnchor() error {
	ref := m.Result.Reference
	if ref.Anchor.Kind != AnchorEdge {
		return nil
	}
	var sum, n [4]float64
	_, _, outer := m.edge.level(m.flow.loss)
	for k := range m.edge.sides {
		s := &m.edge.sides[k]
		side := wall(s.A, s.B)
		for e, sample := range [2]int32{s.From, s.To} {
			if outer[m.edge.ends[k][e]] {
				sum[side] += s.Length() / 2 * m.flow.loss(int(sample))
				n[side] += s.Length() / 2
			}
		}
	}
	var means []float64
	for _, k := range [4]int{1, 0, 2, 3} { // left, right, up, down
		if n[k] > 0 {
			means = append(means, sum[k]/n[k])
		}
	}
	u := uncertainty.NewSample(means).Standard() * ref.Dynamic
	if !(u > 0) {
		return nil // of fewer than two sides there is none
	}
	r := Response{Name: "reference anchor", Unit: "Pa", Category: uncertainty.Reference, Kind: uncertainty.Independent, Standard: u, DOF: float64(len(means) - 1)}
	return m.sides(r, func(d float64) (Vector, error) {
		return m.Layout.again(m.plane, m.given, shared{m.geometry, m.flow.wake, d})
	})
}

// wall is the way that a side from a to b looks, of four: right, left, up, down.
func wall(a, b grid.Point) int {
	x, y, k := b.Y-a.Y, a.X-b.X, 0
	if math.Abs(y) > math.Abs(x) {
		x, k = y, 2
	}
	if x < 0 {
		k++
	}
	return k
}

// of returns the sensitivity of headline number i to the input and its
// contribution; ok is false where the number is not computable on both sides.
func (r *Response) of(i int, base Vector) (c, standard float64, ok bool) {
	if r.Draws != nil {
		// Root mean square about the base: a shift of all draws is part of the error.
		var sq float64
		for _, d := range r.Draws {
			sq += (d[i] - base[i]) * (d[i] - base[i])
		}
		standard = math.Sqrt(sq / float64(len(r.Draws)))
		return math.NaN(), standard, !math.IsNaN(standard)
	}
	half := (r.Plus[i] - r.Minus[i]) / 2
	return half / r.Standard, math.Abs(half), !math.IsNaN(half + base[i])
}

// InputItems are the items that the stated inputs bring to headline number i of a
// survey or, with a second one, of the difference second minus first. What is
// common to both is taken as one error of both: it contributes the difference of
// the two sensitivities, and Cancelled is what it would be if it were not common. What is one of
// two surveys' own is not common.
//
// Where the number is not computable with an input off, what that does is not known.
//
// What only one of them has is in the difference with what it is in that one; but every mean has a
// time average, so that what one of two tells of it is not known of the other, unless that is
// steady. The time
// average of a drag from velocities off point by point is an upper bound: they overstate it 1.5 to 3
// times, since in a flow the parts of the pressure and of the velocity go against each
// other and the section's mass flux is fixed (measured on snapshots of a simulation).
func InputItems(i int, ms ...*Measurement) []uncertainty.Item {
	var out []uncertainty.Item
	for _, name := range responseNames(ms) {
		var r *Response
		var without *Measurement
		var sum, c float64
		var each, dof []float64
		kind, ok, draws, points := uncertainty.Common, true, false, false
		for n, m := range ms {
			k := slices.IndexFunc(m.Responses, func(r Response) bool { return r.Name == name })
			if k < 0 {
				without = m
				continue
			}
			r = &m.Responses[k]
			draws, points = draws || r.Draws != nil, points || r.PointByPoint
			if r.Kind != uncertainty.Common {
				kind = r.Kind
			}
			ck, u, had := r.of(i, m.Values)
			ok = ok && had
			c += sign(n, ms) * ck
			sum += sign(n, ms) * ck * r.Standard
			each, dof = append(each, u), append(dof, cmp.Or(r.DOF, math.Inf(1)))
		}
		if without != nil && r.Category == uncertainty.TimeAverage && !without.given.Uncertainty.Steady {
			out = append(out, uncertainty.Declared(r.Category, uncertainty.Unknown, "of "+without.Plane.Name()))
		}
		if !ok {
			out = append(out, uncertainty.Declared(r.Category, uncertainty.Unknown, r.Name+" (not computable with it off)"))
			continue
		}
		apart := floats.Norm(each, 2)
		if apart == 0 && strings.HasSuffix(name, wake.FromLog) {
			// A source that this number does not feel.
			continue
		}
		it := uncertainty.Item{Name: r.Name, Category: r.Category, How: r.How, Kind: kind, Standard: apart, Unit: r.Unit}
		switch {
		case points && ms[0].Layout.isDrag(i):
			it.Name += ", upper bound"
		case points:
			// Errors that are alike all over a plane hardly change a place or an area.
			it.Name, it.How = it.Name+", which stresses do not tell", uncertainty.Unknown
		}
		if nu := uncertainty.EffectiveDOF(each, dof); !math.IsInf(nu, 1) {
			it.DOF = &nu
		}
		if !draws {
			// What the samples' own errors are drawn by has no unit and no size to show.
			if u := r.Standard; r.Unit != "" {
				it.Input = &u
				if len(ms) == 1 || kind == uncertainty.Common {
					it.Sensitivity = &c
				}
			}
			if len(ms) == 2 && kind == uncertainty.Common {
				it.Standard, it.Cancelled = math.Abs(sum), &apart
			}
		}
		out = append(out, it)
	}
	return out
}

// responseNames are the names of all responses, each once, in the order in which they
// are met.
func responseNames(ms []*Measurement) []string {
	var out []string
	for _, m := range ms {
		for _, r := range m.Responses {
			if !slices.Contains(out, r.Name) {
				out = append(out, r.Name)
			}
		}
	}
	return out
}
