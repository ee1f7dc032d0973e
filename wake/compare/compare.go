package compare

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
)

// Options steer Compare.
type Options struct {
	Measure measure.Options
	// Count is the size of a drag count in C_D; 0 means 0.001.
	Count float64
	// Structures says how parts of the wake are found, matched and followed; nil leaves
	// that out. Regions come from Measure. Moves says what moves are set against.
	Structures *parts.Options
	Moves      shift.Options
	// TimeAverage says how far the finite average moves the mean velocities, for the moves
	// of parts of the wake; without samples the number in Measure.Uncertainty holds for
	// them too.
	TimeAverage parts.TimeAverage
	// Known are the planes as they were measured already with Measure and searched for
	// parts with Structures, by plane; nil entries for none. They are taken as they are
	// where the samples in common are all of a plane's, and for what a plane has alone.
	Known []*Known
	// Repeats are, by plane, further runs of its configuration as Repeat measures them; what
	// moves scatter by among them goes into the moves' budgets. For all other numbers
	// Measure.Uncertainty.Repeat holds it, from measure.Pool.
	Repeats [][]*Known
	// Each, if not nil, are the options by plane, which differ from Measure in the reference,
	// its uncertainty and Steady alone.
	Each []measure.Options
	// Force holds, by plane, the standard uncertainty of the force's mean over the time that the
	// plane is a mean of, with its degrees of freedom; nil entries where it is not known.
	Force []*uncertainty.Item
	// Names are those of the configurations for sentences, the baseline's first; the
	// planes' names are used where there are none.
	Names []string
}

// Known is a plane that was measured before, with what parts.Survey found in it.
type Known struct {
	*measure.Measurement
	Set  *parts.Set
	View *parts.TopView
}

// Pair holds the measurements behind a comparison, on the common samples, for
// maps: the baseline first. Sets are the structures found in them and Views the
// edges of top views; nil entries where there are none.
type Pair struct {
	Measurements []*measure.Measurement
	Sets         []*parts.Set
	Views        []*parts.TopView
}

// Compare sets planes[1:] against planes[0]. The reference, weight, thresholds
// and regions of the options hold for all. Errors say why planes cannot be
// compared (*wake.InputError).
func Compare(planes []*wake.Plane, opt Options) (*Comparison, *Pair, error) {
	if len(planes) < 2 {
		return nil, nil, &wake.InputError{Text: fmt.Sprintf("%d surveys, a comparison needs at least two", len(planes)), Cure: "name the baseline first, then the variants"}
	}
	if opt.Count == 0 {
		opt.Count = 0.001
	}
	if !(1e-9 <= opt.Count && opt.Count <= 1) {
		return nil, nil, &wake.InputError{Text: fmt.Sprintf("a drag count of %g in C_D", opt.Count), Cure: "a size from 1e-9 to 1 is expected, as in --count 0.001 or 0.0001"}
	}
	common, how, warnings, err := commonPlanes(planes)
	if err != nil {
		return nil, nil, err
	}
	// Numbers come from each plane's own samples; what is common serves maps.
	numbers, own := common, how != "same samples"
	if own {
		var of string
		if numbers, of = inOneWindow(planes); numbers == nil {
			return nil, nil, tooFew(planes[0])
		}
		how = of + "; maps of change at the " + how
	}
	c := &Comparison{Warnings: warnings, Common: Common{Grid: how}}
	ms := make([]*measure.Measurement, len(common))
	cp := &comparing{alike: alike(planes), opt: opt, own: planes, all: ms, out: c, joined: own, whole: make([]bool, len(planes)), scatters: map[any][]uncertainty.Item{}}
	for k, p := range numbers {
		if known := cp.known(k); known != nil && (p == known.Plane || sameMesh(p.Mesh, known.Plane.Mesh)) {
			cp.whole[k] = true
			m, r := *known.Measurement, *known.Result
			r.Warnings = slices.Clone(r.Warnings)
			m.Result = &r
			ms[k] = &m
		} else if ms[k], err = measure.Take(p, opt.of(k)); err != nil {
			return nil, nil, err
		}
		c.Warnings = append(c.Warnings, ms[k].Result.Warnings...)
	}
	cp.base = ms[0]
	cp.doubtReferences()
	c.Common.Window, c.Common.Area = ms[0].Result.Window, ms[0].Result.Mesh.Area
	c.Baseline = ms[0].Result
	if err := cp.ownMeasurements(ms); err != nil {
		return nil, nil, err
	}
	if err := cp.simulate(ms); err != nil {
		return nil, nil, err
	}
	if err := cp.find(ms); err != nil {
		return nil, nil, err
	}
	for k := range ms[1:] {
		v := cp.variant(k+1, ms[k+1])
		if err := cp.follow(k+1, &v); err != nil {
			return nil, nil, err
		}
		c.Variants = append(c.Variants, v)
	}
	c.Pairs = cp.pairs()
	for _, f := range cp.fields {
		if f != nil {
			f.ForgetTime()
		}
	}
	pair := &Pair{ms, cp.sets, cp.views}
	if own {
		pair.Measurements = make([]*measure.Measurement, len(common))
		for k, p := range common {
			if pair.Measurements[k], err = measure.Bare(p, opt.of(k)); err != nil {
				return nil, nil, err
			}
			// The maps are of the common samples, the numbers beside them each plane's own.
			pair.Measurements[k].Result = ms[k].Result
		}
	}
	return c, pair, nil
}

// of are the options that plane k is measured with.
func (o *Options) of(k int) measure.Options {
	if o.Each != nil {
		return o.Each[k]
	}
	return o.Measure
}

// comparing is what the steps of one Compare share.
type comparing struct {
	opt Options
	own []*wake.Plane
	// base is the measurement that differences are from: that of the baseline, but in pairs of
	// variants. from is its index.
	base *measure.Measurement
	from int
	all  []*measure.Measurement
	out  *Comparison
	// joined: the planes do not share samples, and each is measured on its own.
	joined bool
	// alike: the planes came with one mesh rule, so that common errors cancel.
	alike bool
	// trials are the changes that each survey showed in each Monte Carlo trial.
	trials [][]measure.Vector
	// ownResults are the planes measured over all of their own samples, where these
	// are not the common ones; nil entries otherwise.
	ownResults []*measure.Result
	// ownFields are those that parts would be found in over all samples, and ownOffs how far
	// off the parts' centroids then lie.
	ownFields []*parts.Field
	ownOffs   [][]float64
	// whole are the planes of which all samples are common and that are known.
	whole []bool
	// scatters are what moves scatter by from run to run, by the part or box.
	scatters map[any][]uncertainty.Item
	// sets, views and fields are of the structures.
	sets   []*parts.Set
	views  []*parts.TopView
	fields []*parts.Field
}

// known is what is known of plane k by itself; nil for nothing.
func (c *comparing) known(k int) *Known {
	if k >= len(c.opt.Known) || c.opt.Known[k] == nil || c.opt.Known[k].Plane != c.own[k] {
		return nil
	}
	return c.opt.Known[k]
}

// ownMeasurements measures each plane as it came where the common samples are
// fewer or others, and says what the difference is.
func (c *comparing) ownMeasurements(ms []*measure.Measurement) error {
	c.ownResults, c.ownFields, c.ownOffs = make([]*measure.Result, len(ms)), make([]*parts.Field, len(ms)), make([][]float64, len(ms))
	for k, p := range c.own {
		if p == ms[k].Plane || !c.joined && len(p.Mesh.Points) == len(ms[k].Plane.Mesh.Points) {
			continue
		}
		var r *measure.Result
		if known := c.known(k); known != nil {
			r = known.Result
			if known.Set != nil && !c.joined {
				c.ownFields[k] = known.Set.Field()
			}
		} else {
			m, err := measure.Take(p, c.opt.of(k))
			if err != nil {
				return err
			}
			r = m.Result
			if c.opt.Structures != nil && !c.joined {
				if c.ownFields[k], err = parts.NewField(m); err != nil {
					return err
				}
			}
		}
		c.ownResults[k] = r
		lost := r.Mesh.Area - ms[k].Result.Mesh.Area
		w := wake.Warning{
			Code: "common-samples", Where: p.Name(),
			Text: fmt.Sprintf("the comparison covers %.4f m2 of this plane's %.4f m2", ms[k].Result.Mesh.Area, r.Mesh.Area),
			Cure: "survey the same points in all configurations; where a body fills some of them, the own-samples figures stand beside",
		}
		if a, b := ms[k].Result.Drag, r.Drag; a != nil && b != nil && a.Momentum != nil && b.Momentum != nil {
			change := a.Momentum.DragArea - b.Momentum.DragArea
			w.Text += fmt.Sprintf("; its drag area changes by %+.4f m2", change)
			if c.joined {
				c.out.Common.Resampling = math.Max(c.out.Common.Resampling, math.Abs(change))
			}
		}
		if math.Abs(lost) > 1e-9 {
			c.out.Warnings = append(c.out.Warnings, w)
		}
	}
	return nil
}

func (c *comparing) variant(k int, m *measure.Measurement) Variant {
	v := Variant{Survey: m.Result}
	whole := quad.NewWeights(m.Plane.Mesh, nil)
	a, b := c.base.Result, m.Result
	v.Delta = c.headline(k, m, whole)
	v.Areas = c.areas(k, m, measure.Whole, a.Wake, b.Wake)
	// Where the body is cut, the plane's wake is no whole: its parts are followed
	// region by region.
	if !b.Mesh.CutsBody {
		v.Shift = c.shift(k, m, measure.Whole, nil, whole, a.Wake, b.Wake, "")
	}
	for r := range b.Regions {
		v.Regions = append(v.Regions, c.region(k, m, r))
	}
	return v
}

// pairs are the changes of drag between any two of the planes, by the second and then the
// first: those from the baseline are the variants', which have the warnings too.
func (c *comparing) pairs() []Between {
	var out []Between
	for k, m := range c.all {
		for i, base := range c.all[:k] {
			of := *c
			of.base, of.from, of.out = base, i, &Comparison{}
			d := c.out.Variants[k-1].Delta
			if i > 0 {
				d = of.headline(k, m, quad.NewWeights(m.Plane.Mesh, nil))
			}
			if d != nil {
				out = append(out, Between{Of: c.name(k), Minus: c.name(i), Delta: d, Closes: closes(base) && closes(m)})
			}
		}
	}
	return out
}

func closes(m *measure.Measurement) bool {
	e := m.Result.Edge
	return e != nil && !e.Open()
}

// headline is the difference of the drag that both surveys quote: of the momentum
// integral where no window is known not to close, of the wake-only drag where both have
// it and one does not close, else of the windows' momentum integrals; of two pitot surveys
// it is that of Jones's integrals. There is none where one of the two quotes no drag.
func (c *comparing) headline(k int, m *measure.Measurement, whole quad.Weights) *Delta {
	a, b := c.base.Result, m.Result
	if a.Drag != nil && b.Drag != nil && pitotAlone(a.Drag) && pitotAlone(b.Drag) {
		return c.pitot(k, m, whole, a.Drag, b.Drag)
	}
	if a.Drag == nil || b.Drag == nil || a.Drag.Momentum == nil || b.Drag.Momentum == nil || a.Drag.Headline == "" || b.Drag.Headline == "" {
		return nil
	}
	open := a.Edge.Open() || b.Edge.Open()
	if wa, wb := a.Drag.WakeOnly, b.Drag.WakeOnly; open && wa != nil && wb != nil {
		return c.delta(k, m, c.base.Layout.Method(measure.ByWakeOnly), measure.ByWakeOnly, wa.DragArea, wb.DragArea, c.wakeOnlyItems(m, whole))
	}
	items := append(c.dragItems(m, nil, whole, c.base.Local(), m.Local()), measure.EdgeItem(c.base, m))
	if !open {
		items = append(items, measure.MethodItems(c.base, m)...)
	}
	return c.delta(k, m, c.base.Layout.Drag(measure.Whole), measure.ByMomentum, a.Drag.Momentum.DragArea, b.Drag.Momentum.DragArea, items)
}

// wakeOnlyItems are those of a single survey's wake-only budget, of the difference:
// what the level of the outer flow does to both alike cancels.
func (c *comparing) wakeOnlyItems(m *measure.Measurement, whole quad.Weights) []uncertainty.Item {
	level := m.Result.Drag.Region.LevelHalf() - c.base.Result.Drag.Region.LevelHalf()
	return append(c.dragItems(m, nil, whole, c.base.Integrand(measure.ByWakeOnly), m.Integrand(measure.ByWakeOnly)), uncertainty.Item{
		Name: "level of the outer flow", Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: math.Abs(level) / math.Sqrt(3), Distribution: uncertainty.Rectangular,
	}, measure.SourceItem(c.base.Result.Drag.WakeOnly, m.Result.Drag.WakeOnly))
}

func (c *comparing) region(k int, m *measure.Measurement, r int) RegionDelta {
	a, b := c.base.Result.Regions[r], m.Result.Regions[r]
	box := c.opt.Measure.Regions[r].Box
	part := quad.NewWeights(m.Plane.Mesh, &box)
	out := RegionDelta{Name: a.Name, Side: a.Side, Areas: c.areas(k, m, r, a.Wake, b.Wake)}
	if a.DragArea != nil && b.DragArea != nil {
		items := append(c.dragItems(m, &box, part, c.base.Local(), m.Local()), c.edgeItem(m, "edge residual over the region", part.Area()))
		if own := [2]*float64{c.ownOf(c.from).Regions[r].DragArea, c.ownOf(k).Regions[r].DragArea}; own[0] != nil && own[1] != nil {
			items = append(items, c.ownItem(*b.DragArea-*a.DragArea, *own[1]-*own[0])...)
		}
		out.Delta = c.delta(k, m, c.base.Layout.Drag(r), "momentum, local drag in the box", *a.DragArea, *b.DragArea, items)
	}
	side := a.Side
	if side == "" {
		side = sideOf(box)
	}
	out.Shift = c.shift(k, m, r, &box, part, a.Wake, b.Wake, side)
	return out
}

// sideOf tells the side of a box that lies clear of the centre plane.
func sideOf(b grid.Box) string {
	switch {
	case b.Min.X >= 0:
		return "right"
	case b.Max.X <= 0:
		return "left"
	}
	return ""
}

// dragItems are the parts of a drag difference's budget that do not come from the
// edge, over a part of the plane in a box, nil for all; la and lb are the integrands of
// the baseline and the variant.
func (c *comparing) dragItems(m *measure.Measurement, box *grid.Box, part quad.Weights, la, lb []float64) []uncertainty.Item {
	if c.joined {
		of := func(m *measure.Measurement, l []float64) []uncertainty.Item {
			return append(measure.NewScatter(m.Plane.Mesh, l).Items(quad.NewWeights(m.Plane.Mesh, box), m.Scale), m.WithoutSamples(box, l)...)
		}
		return measure.JoinItems(of(c.base, la), of(m, lb))
	}
	d := make([]float64, len(lb))
	for i := range d {
		d[i] = lb[i] - la[i]
	}
	return append(measure.NewScatter(m.Plane.Mesh, d).Items(part, m.Scale), m.WithoutSamples(box, d)...)
}

// edgeItem is the difference of the two edge residuals over an area: what both
// have in common cancels.
func (c *comparing) edgeItem(m *measure.Measurement, name string, area float64) uncertainty.Item {
	d := m.Result.Edge.Residual - c.base.Result.Edge.Residual
	return uncertainty.Item{Name: name, Category: uncertainty.Sampling, Kind: uncertainty.Independent, Standard: m.Scale * math.Abs(d) * area / math.Sqrt(3), Distribution: uncertainty.Rectangular}
}

// areaWithoutSamples are the items of the difference of two areas for what no sample covers.
func (c *comparing) areaWithoutSamples(m *measure.Measurement, region int, threshold float64) []uncertainty.Item {
	var box *grid.Box
	if region != measure.Whole {
		box = &c.opt.Measure.Regions[region].Box
	}
	above := func(m *measure.Measurement) []float64 {
		out := make([]float64, len(m.Weight))
		for i, v := range m.Weight {
			if v > threshold {
				out[i] = 1
			}
		}
		return out
	}
	a, b := above(c.base), above(m)
	if c.joined {
		return measure.JoinItems(c.base.WithoutSamples(box, a), m.WithoutSamples(box, b))
	}
	for i := range b {
		b[i] -= a[i]
	}
	return m.WithoutSamples(box, b)
}
