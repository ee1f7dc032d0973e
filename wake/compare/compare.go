package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
)

// Options configure Compare.
type Options struct {
	Measure measure.Options
	// Count is the size of a drag count in C_D; 0 means 0.001.
	Count float64
	// Structures says how parts of the wake are found, matched and followed; nil leaves
	// that out. Regions come from Measure. Moves says what moves are set against.
	Structures *parts.Options
	Moves      shift.Options
}

// Survey is a plane as it was measured over all of its samples, with the parts of its wake.
type Survey struct {
	// Name is that of its configuration for sentences.
	Name string
	*measure.Measurement
	// By are the options that it was measured with. They differ from those of all in the
	// reference, its uncertainty and Steady alone.
	By   measure.Options
	Set  *parts.Set
	View *parts.TopView
	// Repeats are further runs of its configuration; what moves scatter by among them goes into
	// the moves' budgets. For all other numbers Measure.Uncertainty.Repeat holds it, from
	// measure.Pool.
	Repeats []*Survey
	// Force is the standard uncertainty of the force's mean over the time that the plane is a
	// mean of, with its degrees of freedom; nil where it is not known.
	Force *uncertainty.Item
}

// NewSurvey finds the parts of the wake of a plane that was measured with by, named by its file.
func NewSurvey(m *measure.Measurement, by measure.Options, opt Options) (*Survey, error) {
	s := &Survey{Name: m.Plane.Name(), Measurement: m, By: by}
	return s, s.find(opt)
}

func (s *Survey) find(opt Options) (err error) {
	if opt.Structures != nil {
		find := *opt.Structures
		find.Regions = opt.Measure.Regions
		s.Set, s.View, err = parts.Survey(s.Measurement, find)
	}
	return err
}

// Pair holds the measurements behind a comparison, on the common samples, for
// maps: the baseline first. Sets are the structures found in them; nil entries where there are
// none.
type Pair struct {
	Measurements []*measure.Measurement
	// Own are of each plane's own samples, over the window that all have.
	Own  []*measure.Measurement
	Sets []*parts.Set
}

// Compare sets surveys[1:] against surveys[0]. The weight, thresholds and regions of the
// options hold for all. Errors say why planes cannot be compared (*wake.InputError).
func Compare(surveys []*Survey, opt Options) (*Comparison, *Pair, error) {
	planes := grid.Fill(len(surveys), func(k int) *wake.Plane { return surveys[k].Plane })
	opt.Count = cmp.Or(opt.Count, 0.001)
	if !(1e-9 <= opt.Count && opt.Count <= 1) {
		return nil, nil, &wake.InputError{Text: fmt.Sprintf("a drag count of %g in C_D", opt.Count), Cure: "a size from 1e-9 to 1 is expected, as in --count 0.001 or 0.0001"}
	}
	common, how, warnings, err := commonPlanes(planes)
	if err != nil {
		return nil, nil, err
	}
	// Numbers come from each plane's own samples; what is common serves maps.
	numbers, joined := common, how != sameSamples
	if joined {
		var of string
		if numbers, of = inOneWindow(planes); numbers == nil {
			return nil, nil, tooFew(planes[0])
		}
		how = of + "; maps of change at the " + how
	}
	c := &comparing{opt: opt, alike: alike(planes), joined: joined, out: &Comparison{Warnings: warnings, Common: Common{Grid: how}}, scatters: map[any][]uncertainty.Item{}}
	for k, p := range numbers {
		if err := c.take(surveys[k], p); err != nil {
			return nil, nil, err
		}
	}
	c.doubtReferences()
	c.doubtPosition()
	base := c.sides[0].Result
	c.out.Common.Window, c.out.Common.Area, c.out.Baseline = base.Window, base.Mesh.Area, base
	c.ownSamples()
	if err := c.simulate(); err != nil {
		return nil, nil, err
	}
	for _, s := range c.sides[1:] {
		v := c.variant(s)
		if err := c.follow(s, &v); err != nil {
			return nil, nil, err
		}
		c.out.Variants = append(c.out.Variants, v)
	}
	c.pairs()
	pair := &Pair{}
	for k, s := range c.sides {
		m := s.Measurement
		if joined {
			if m, err = measure.Bare(common[k], s.own.By); err != nil {
				return nil, nil, err
			}
			// The maps are of the common samples, the numbers beside them each plane's own.
			m.Result = s.Result
		}
		pair.Measurements, pair.Own, pair.Sets = append(pair.Measurements, m), append(pair.Own, s.Measurement), append(pair.Sets, s.Set)
		if s.field != nil {
			s.field.Time = nil // four bytes a sample each
		}
	}
	return c.out, pair, nil
}

// comparing is what the steps of one Compare share.
type comparing struct {
	opt   Options
	sides []*side // the baseline first
	out   *Comparison
	// joined: the planes do not share samples, and each is measured on its own.
	joined bool
	// alike: the planes came with one mesh rule, so that common errors cancel.
	alike bool
	// scatters are what moves scatter by from run to run, by the part or box.
	scatters map[any][]uncertainty.Item
}

// side is one of the planes as its numbers are taken, over the common samples or its own in one
// window.
type side struct {
	Survey
	field *parts.Field // that the parts are of
	// trials are the changes that the survey showed in each Monte Carlo trial.
	trials []measure.Vector
	// own is as it came, all its result. Where its samples are not those of the numbers, allField
	// is what its parts are found in, and off how far off the parts' centroids then lie.
	own      *Survey
	all      *measure.Result
	allField *parts.Field
	off      []float64
	// whole: all samples are common.
	whole bool
}

// take measures a survey on p, which its numbers are to be of.
func (c *comparing) take(own *Survey, p *wake.Plane) (err error) {
	s := &side{Survey: Survey{Name: own.Name, By: own.By}, own: own}
	if s.whole = p == own.Plane || sameMesh(p.Mesh, own.Plane.Mesh); s.whole {
		m, r := *own.Measurement, *own.Result
		r.Warnings = slices.Clone(r.Warnings)
		m.Result = &r
		s.Measurement, s.Set, s.View = &m, own.Set, own.View
	} else if s.Measurement, err = measure.Take(p, own.By); err == nil {
		err = s.find(c.opt)
	}
	if err != nil {
		return err
	}
	if s.Set != nil {
		s.field = s.Set.Field()
		s.field.DrawTime(s.Measurement)
	}
	s.all = s.Result
	c.sides, c.out.Warnings = append(c.sides, s), append(c.out.Warnings, s.Result.Warnings...)
	return nil
}

// ownSamples says what the difference is where the common samples are fewer than a plane's or
// others.
func (c *comparing) ownSamples() {
	for _, s := range c.sides {
		if s.whole || !c.joined && len(s.own.Plane.Mesh.Points) == len(s.Plane.Mesh.Points) {
			continue
		}
		r := s.own.Result
		s.all = r
		if !c.joined && s.own.Set != nil {
			s.allField = s.own.Set.Field()
		}
		w := wake.Doubt("common-samples", s.own.Plane.Name(), "survey the same points in all configurations; where a body covers some, read the own-samples figures",
			"the comparison covers %.4f m2 of this plane's %.4f m2", s.Result.Mesh.Area, r.Mesh.Area)
		if a, b := momentumOf(s.Result), momentumOf(r); a != nil && b != nil {
			change := a.DragArea - b.DragArea
			w.Text += fmt.Sprintf("; its drag area changes by %+.4f m2", change)
			if c.joined {
				c.out.Common.Resampling = math.Max(c.out.Common.Resampling, math.Abs(change))
			}
		}
		if math.Abs(r.Mesh.Area-s.Result.Mesh.Area) > 1e-9 {
			c.out.Warnings = append(c.out.Warnings, w)
		}
	}
}

// momentumOf is the momentum integral of a result, nil where there is none.
func momentumOf(r *measure.Result) *measure.Momentum {
	if r.Drag == nil {
		return nil
	}
	return r.Drag.Momentum
}

func (c *comparing) variant(b *side) Variant {
	a := c.sides[0]
	v := Variant{Survey: b.Result, Delta: c.headline(a, b), Areas: c.areas(b, measure.Whole, a.Result.Wake, b.Result.Wake)}
	// Where the body is cut, the plane's wake is no whole: its parts are followed
	// region by region.
	if !b.Result.Mesh.CutsBody {
		v.Shift = c.shift(b, measure.Whole, nil, a.Result.Wake, b.Result.Wake, "")
	}
	for r := range b.Result.Regions {
		v.Regions = append(v.Regions, c.region(b, r))
	}
	return v
}

// pairs are the changes of drag between any two of the planes, by the second and then the
// first: those from the baseline are the variants'.
func (c *comparing) pairs() {
	for k, b := range c.sides {
		for i, a := range c.sides[:k] {
			d := c.out.Variants[k-1].Delta
			if i > 0 {
				d = c.headline(a, b)
			}
			if d != nil {
				c.out.Pairs = append(c.out.Pairs, Between{Of: b.Name, Minus: a.Name, Delta: d, Closes: a.closes() && b.closes()})
			}
		}
	}
}

func (s *side) closes() bool { return s.Result.Edge != nil && !s.Result.Edge.Open() }

// headline is the difference of the drag that both surveys quote: of the momentum
// integral where no window is known not to close, of the wake-only drag where both have
// it and one does not close, else of the windows' momentum integrals; of two pitot surveys
// it is that of Jones's integrals. There is none where one of the two quotes no drag.
func (c *comparing) headline(a, b *side) *Delta {
	da, db := a.Result.Drag, b.Result.Drag
	if da == nil || db == nil || da.Headline == "" || db.Headline == "" {
		return nil
	}
	if pitotAlone(da) && pitotAlone(db) {
		return c.pitot(a, b, da, db)
	}
	if da.Momentum == nil || db.Momentum == nil {
		return nil
	}
	open := a.Result.Edge.Open() || b.Result.Edge.Open()
	if wa, wb := da.WakeOnly, db.WakeOnly; open && wa != nil && wb != nil {
		// Of the items of a single survey's wake-only budget what the level of the outer flow does
		// to both alike cancels.
		items := append(c.dragItems(a, b, nil, a.Integrand(measure.ByWakeOnly), b.Integrand(measure.ByWakeOnly)),
			uncertainty.HalfWidth("level of the outer flow", db.Region.LevelHalf()-da.Region.LevelHalf()), measure.SourceItem(wa, wb), measure.WakeEdgeItem(a.Measurement, b.Measurement),
			// Either may be the better one where a window cuts the wake: anything from one to the other.
			uncertainty.HalfWidth("method, wake only or momentum", (wb.DragArea-wa.DragArea)-(db.Momentum.DragArea-da.Momentum.DragArea)))
		return c.delta(a, b, a.Layout.Method(measure.ByWakeOnly), measure.ByWakeOnly, wa.DragArea, wb.DragArea, items)
	}
	items := append(c.dragItems(a, b, nil, a.Local(), b.Local()), measure.EdgeItem(a.Measurement, b.Measurement))
	if !open {
		items = append(items, measure.MethodItems(a.Measurement, b.Measurement)...)
	}
	return c.delta(a, b, a.Layout.Drag(measure.Whole), measure.ByMomentum, da.Momentum.DragArea, db.Momentum.DragArea, items)
}

func (c *comparing) region(s *side, r int) RegionDelta {
	base := c.sides[0]
	a, b := base.Result.Regions[r], s.Result.Regions[r]
	box := c.opt.Measure.Regions[r].Box
	out := RegionDelta{Name: a.Name, Side: a.Side, Areas: c.areas(s, r, a.Wake, b.Wake)}
	if a.DragArea != nil && b.DragArea != nil {
		// What the edge residuals have in common cancels.
		residual := s.Result.Edge.Beside - base.Result.Edge.Beside
		items := append(c.dragItems(base, s, &box, base.Local(), s.Local()), uncertainty.HalfWidth("edge residual over the region", s.Scale*residual*quad.NewWeights(s.Plane.Mesh, &box).Area()))
		if x, y := base.all.Regions[r].DragArea, s.all.Regions[r].DragArea; x != nil && y != nil {
			items = append(items, c.ownItem(*b.DragArea-*a.DragArea, *y-*x)...)
		}
		out.Delta = c.delta(base, s, base.Layout.Drag(r), "momentum, local drag in the box", *a.DragArea, *b.DragArea, items)
	}
	out.Shift = c.shift(s, r, &box, a.Wake, b.Wake, cmp.Or(a.Side, sideOf(box)))
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

// between are the items, from one plane's values or the difference of two, that of makes for
// the difference b − a: sample by sample, where what both planes' samples do alike cancels, or of
// the two by themselves where each has its own samples.
func (c *comparing) between(a, b *side, va, vb []float64, of func(m *measure.Measurement, v []float64) []uncertainty.Item) []uncertainty.Item {
	if c.joined {
		return measure.JoinItems(of(a.Measurement, va), of(b.Measurement, vb))
	}
	d := slices.Clone(vb)
	floats.Sub(d, va)
	return of(b.Measurement, d)
}

// dragItems are the parts of a drag difference's budget that do not come from the
// edge, over a part of the plane in a box, nil for all; la and lb are the integrands of
// the two.
func (c *comparing) dragItems(a, b *side, box *grid.Box, la, lb []float64) []uncertainty.Item {
	return c.between(a, b, la, lb, func(m *measure.Measurement, v []float64) []uncertainty.Item {
		return append(measure.NewScatter(m.Plane.Mesh, v).Items(quad.NewWeights(m.Plane.Mesh, box), m.Scale), m.WithoutSamples(box, v)...)
	})
}

// box is that of a region, nil for the Whole.
func (c *comparing) box(region int) *grid.Box {
	if region == measure.Whole {
		return nil
	}
	return &c.opt.Measure.Regions[region].Box
}
