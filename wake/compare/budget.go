package compare

import (
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

// alike reports whether all planes came with one mesh rule: the same kind of mesh
// and the same support. Then, on their common samples in one window and with one
// reference, an error of the reference acts on all of them alike.
func alike(planes []*wake.Plane) bool {
	for _, p := range planes[1:] {
		if p.Mesh.Kind != planes[0].Mesh.Kind || p.Mesh.Support != planes[0].Mesh.Support {
			return false
		}
	}
	return true
}

// simulate runs the Monte Carlo trials of all surveys and says where common errors
// do not cancel.
func (c *comparing) simulate(ms []*measure.Measurement) error {
	stated := slices.ContainsFunc(ms[0].Responses, func(r measure.Response) bool { return r.Kind == uncertainty.Common })
	if stated && !c.alike {
		c.out.Warnings = append(c.out.Warnings, wake.Warning{
			Code: "mesh-rule-differs", Where: c.own[0].Name(),
			Text: "the planes do not have one kind of mesh and support: what is common to them is taken not to cancel in the differences",
			Cure: "export all configurations alike, or state --support",
		})
	}
	c.trials = make([][]measure.Vector, len(ms))
	for k, m := range ms {
		t, err := m.Simulate(k)
		if err != nil {
			return err
		}
		c.trials[k] = t
	}
	return nil
}

// budget completes the items of a difference d of headline number index with the
// stated inputs, repeats and what is declared, and decides on it.
func (c *comparing) budget(k int, m *measure.Measurement, index int, d float64, items []uncertainty.Item) (uncertainty.Budget, uncertainty.Judgement) {
	input := measure.InputItems(index, c.base, m)
	if !c.alike {
		for i := range input {
			if it := &input[i]; it.Cancelled != nil {
				it.Standard, it.Cancelled, it.Kind, it.Simulated = *it.Cancelled, nil, uncertainty.Independent, false
			}
		}
	}
	items = slices.Concat(items, input, measure.RepeatItems(index, c.base, m), measure.TimeItems(c.base, m))
	if forces := c.forceItems(k); forces != nil && (index == c.base.Layout.Drag(measure.Whole) || index == c.base.Layout.Method(measure.ByWakeOnly)) {
		// What the forces scatter by over the same time knows more of the difference.
		items = append(uncertainty.Without(uncertainty.TimeAverage, items), forces...)
	}
	b := uncertainty.NewBudget(measure.WithoutKnownScatter(c.reference(k, items))...)
	a, v := measure.Change(c.trials[c.from], index), measure.Change(c.trials[k], index)
	for t := range v {
		v[t] -= a[t]
	}
	if !c.alike {
		v = nil
	}
	b.MonteCarlo = uncertainty.NewMonteCarlo(d, v, c.opt.Measure.Uncertainty.Trials, &b)
	return b, uncertainty.Judge(d, &b)
}

// forceItems are what the forces of the pair's first and of plane k say of the time average;
// nil unless both have one. Another run of a solver is another stretch of the same flow, so
// that what records scatter by holds what a rerun changes too; a tunnel's rig is set anew, and
// what is stated of a force says nothing of it.
func (c *comparing) forceItems(k int) []uncertainty.Item {
	if k >= len(c.opt.Force) || c.opt.Force[c.from] == nil || c.opt.Force[k] == nil {
		return nil
	}
	var out []uncertainty.Item
	for _, i := range []int{c.from, k} {
		it := *c.opt.Force[i]
		it.Name, it.Category, it.Kind = "time average, force of "+c.name(i), uncertainty.TimeAverage, uncertainty.Independent
		out = append(out, it)
	}
	if out[0].How+out[1].How == "" && len(c.own[c.from].Errors)+len(c.own[k].Errors) == 0 {
		out = append(out, uncertainty.Declared(uncertainty.RunToRun, uncertainty.Estimated, "a rerun is another stretch of the flow, in the force records"))
	}
	return out
}

// moveItems are the items that all moves of a part at a lateral place share, between the
// baseline and a plane. A position of the whole survey moves everything in it, a scale of its
// own what lies off the middle; an error of scale that is common to both, or of the
// reference, cancels. repeats is what repeats of the move scatter by.
func (c *comparing) moveItems(k int, at float64, repeats []uncertainty.Item) func(spread float64) []uncertainty.Item {
	return func(spread float64) []uncertainty.Item {
		m := c.all[k]
		items := slices.Concat(repeats, measure.TimeItems(c.base, m), c.opt.Measure.Uncertainty.PlaceItems(spread, 2))
		for _, r := range m.Responses {
			by, ok := map[string]float64{measure.AlongFirst: 1, measure.OfScale: math.Abs(at)}[r.Name]
			if ok && r.Kind == uncertainty.Independent {
				items = append(items, uncertainty.Item{
					Name: r.Name, Category: r.Category, How: r.How, Kind: r.Kind, Standard: math.Sqrt2 * by * r.Standard,
				})
			}
		}
		if len(c.base.Plane.Errors)+len(m.Plane.Errors) > 0 {
			items = append(items, uncertainty.Declared(uncertainty.Reference, uncertainty.Unknown, "what the log tells is not carried into the moves of parts"))
		}
		return c.reference(k, items)
	}
}

// areas pairs the areas of two wakes by threshold. What the two planes tell of
// their areas is taken as independent, since the level lines run elsewhere.
func (c *comparing) areas(k int, m *measure.Measurement, region int, a, b *measure.Wake) []AreaDelta {
	if a == nil || b == nil {
		return nil
	}
	ua, ub := c.base.Result.Uncertainty.Areas, m.Result.Uncertainty.Areas
	if region != measure.Whole {
		ua, ub = c.base.Result.Regions[region].Uncertainty.Areas, m.Result.Regions[region].Uncertainty.Areas
	}
	var out []AreaDelta
	for i := range a.Areas {
		d := AreaDelta{Threshold: a.Areas[i].Threshold, Delta: b.Areas[i].Area - a.Areas[i].Area}
		if i < len(ua) && i < len(ub) {
			index := c.base.Layout.Area(region, i)
			items := slices.Concat(measure.JoinAreas(&ua[i], &ub[i]), c.areaWithoutSamples(m, region, a.Areas[i].Threshold), measure.SolutionItems(index, c.base, m))
			if a.Areas[i].InScatter || b.Areas[i].InScatter {
				items = append(items, uncertainty.Declared(uncertainty.Sampling, uncertainty.Unknown, "islands of scatter at this threshold"))
			}
			if region != measure.Whole {
				if own := [2]*measure.Wake{c.ownOf(c.from).Regions[region].Wake, c.ownOf(k).Regions[region].Wake}; own[0] != nil && own[1] != nil {
					items = append(items, c.ownItem(d.Delta, own[1].Areas[i].Area-own[0].Areas[i].Area)...)
				}
			}
			d.Budget, d.Judgement = c.budget(k, m, index, d.Delta, items)
		}
		out = append(out, d)
	}
	return out
}
