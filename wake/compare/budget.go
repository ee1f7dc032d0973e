package compare

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// alike reports whether all planes came with one mesh rule: the same kind of mesh
// and the same support. Then, on their common samples in one window and with one
// reference, an error of the reference acts on all of them alike.
func alike(planes []*wake.Plane) bool {
	first := planes[0].Mesh
	return !slices.ContainsFunc(planes, func(p *wake.Plane) bool { return p.Mesh.Kind != first.Kind || p.Mesh.Support != first.Support })
}

// simulate runs the Monte Carlo trials of all surveys and says where common errors
// do not cancel.
func (c *comparing) simulate() (err error) {
	stated := slices.ContainsFunc(c.sides[0].Responses, func(r measure.Response) bool { return r.Kind == uncertainty.Common })
	if stated && !c.alike {
		c.out.Warnings = append(c.out.Warnings, wake.Doubt("mesh-rule-differs", c.sides[0].own.Plane.Name(), "export all configurations alike, or state --support",
			"the planes do not have one kind of mesh and support: what is common to them is taken not to cancel in the differences"))
	}
	for k, s := range c.sides {
		if s.trials, err = s.Simulate(k); err != nil {
			return err
		}
	}
	return nil
}

// budget completes the items of a difference d of headline number index with the
// stated inputs, repeats and what is declared, and decides on it.
func (c *comparing) budget(a, b *side, index int, d float64, items []uncertainty.Item) (uncertainty.Budget, uncertainty.Judgement) {
	input := measure.InputItems(index, a.Measurement, b.Measurement)
	if !c.alike {
		for i := range input {
			if it := &input[i]; it.Cancelled != nil {
				it.Standard, it.Cancelled, it.Kind = *it.Cancelled, nil, uncertainty.Independent
			}
		}
	}
	items = slices.Concat(items, input, c.ofRuns(a, b, measure.RepeatItems(index, a.Measurement, b.Measurement)), measure.TimeItems(a.Measurement, b.Measurement))
	if forces := forceItems(a, b); forces != nil && (index == a.Layout.Drag(measure.Whole) || index == a.Layout.Method(measure.ByWakeOnly)) {
		// What the forces scatter by over the same time knows more of the difference.
		items = append(uncertainty.Without(uncertainty.TimeAverage, items), forces...)
	}
	bud := uncertainty.NewBudget(measure.WithoutKnownScatter(reference(a, b, items))...)
	v := measure.Change(b.trials, index)
	floats.Sub(v, measure.Change(a.trials, index))
	if !c.alike {
		v = nil
	}
	bud.MonteCarlo = uncertainty.NewMonteCarlo(d, v, c.opt.Measure.Uncertainty.Trials, &bud)
	return bud, uncertainty.Judge(d, &bud)
}

// forceItems are what the forces of a pair say of the time average; nil unless both have one.
// Another run of a solver is another stretch of the same flow, so
// that what records scatter by holds what a rerun changes too; a tunnel's rig is set anew, and
// what is stated of a force says nothing of it.
func forceItems(a, b *side) (out []uncertainty.Item) {
	if a.own.Force == nil || b.own.Force == nil {
		return nil
	}
	for _, s := range []*side{a, b} {
		it := *s.own.Force
		it.Name, it.Category, it.Kind = "time average, force of "+s.Name, uncertainty.TimeAverage, uncertainty.Independent
		out = append(out, it)
	}
	if out[0].How+out[1].How == "" && len(a.own.Plane.Errors)+len(b.own.Plane.Errors) == 0 {
		out = append(out, uncertainty.Declared(uncertainty.RunToRun, uncertainty.Estimated, "a rerun is another stretch of the flow, in the force records"))
	}
	return out
}

// moveItems are the items that all moves of a part share, between the baseline and a plane. A
// position of the whole survey moves everything in it; an error of scale or of the reference
// cancels. repeats is what repeats of the move scatter by.
func (c *comparing) moveItems(b *side, repeats []uncertainty.Item) func(spread float64) []uncertainty.Item {
	a := c.sides[0]
	return func(spread float64) []uncertainty.Item {
		items := slices.Concat(c.ofRuns(a, b, repeats), measure.TimeItems(a.Measurement, b.Measurement), c.opt.Measure.Uncertainty.PlaceItems(spread, 2))
		for _, r := range b.Responses {
			if r.Name == measure.AlongFirst {
				items = append(items, uncertainty.Item{Name: r.Name, Category: r.Category, How: r.How, Kind: r.Kind, Standard: math.Sqrt2 * r.Standard})
			}
		}
		if len(a.Plane.Errors)+len(b.Plane.Errors) > 0 {
			items = append(items, uncertainty.Declared(uncertainty.Reference, uncertainty.Unknown, "what the log tells is not carried into the moves of parts"))
		}
		return reference(a, b, items)
	}
}

// areas pairs the areas of two wakes by threshold. What the two planes tell of
// their areas is taken as independent, since the level lines run elsewhere.
func (c *comparing) areas(s *side, region int, a, b *measure.Wake) (out []AreaDelta) {
	if a == nil || b == nil {
		return nil
	}
	base := c.sides[0]
	of := func(r *measure.Result) []uncertainty.Budget {
		if region != measure.Whole {
			return r.Regions[region].Uncertainty.Areas
		}
		return r.Uncertainty.Areas
	}
	ua, ub := of(base.Result), of(s.Result)
	for i := range a.Areas {
		t := a.Areas[i].Threshold
		d := AreaDelta{Threshold: t, Delta: b.Areas[i].Area - a.Areas[i].Area}
		if i < len(ua) && i < len(ub) {
			open := c.between(base, s, base.Above(t), s.Above(t), func(m *measure.Measurement, v []float64) []uncertainty.Item {
				return m.WithoutSamples(c.box(region), v)
			})
			// The first two items of either are what its samples bring.
			index := base.Layout.Area(region, i)
			items := slices.Concat(measure.JoinItems(ua[i].Items[:2], ub[i].Items[:2]), open, measure.SolutionItems(index, base.Measurement, s.Measurement))
			if a.Areas[i].InScatter || b.Areas[i].InScatter {
				items = append(items, uncertainty.Declared(uncertainty.Sampling, uncertainty.Unknown, "islands of scatter at this threshold"))
			}
			if region != measure.Whole {
				if x, y := base.all.Regions[region].Wake, s.all.Regions[region].Wake; x != nil && y != nil {
					items = append(items, c.ownItem(d.Delta, y.Areas[i].Area-x.Areas[i].Area)...)
				}
			}
			d.Budget, d.Judgement = c.budget(base, s, index, d.Delta, items)
		}
		out = append(out, d)
	}
	return out
}
