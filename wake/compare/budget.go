package compare

import (
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
// stated inputs, and decides on it: by the budget, or by the trials where these do
// not agree with it.
func (c *comparing) budget(k int, m *measure.Measurement, index int, d float64, items []uncertainty.Item) (uncertainty.Budget, string) {
	input := measure.InputItems(index, c.base, m)
	if !c.alike {
		for i := range input {
			if it := &input[i]; it.Cancelled != nil {
				it.Standard, it.Cancelled, it.Kind, it.Simulated = *it.Cancelled, nil, uncertainty.Independent, false
			}
		}
	}
	b := uncertainty.NewBudget(measure.WithoutKnownScatter(append(items, input...))...)
	a, v := measure.Change(c.trials[0], index), measure.Change(c.trials[k], index)
	for t := range v {
		v[t] -= a[t]
	}
	if !c.alike {
		v = nil
	}
	b.MonteCarlo = uncertainty.NewMonteCarlo(d, v, c.opt.Measure.Uncertainty.Trials, &b)
	if mc := b.MonteCarlo; mc != nil && !mc.Agrees {
		if mc.Interval[0] > 0 || mc.Interval[1] < 0 {
			return b, Resolved
		}
		return b, NotResolved
	}
	return b, verdict(d, b.Expanded)
}

// interval is that of the budget, or of the trials where these do not agree.
func interval(d float64, b *uncertainty.Budget) [2]float64 {
	if mc := b.MonteCarlo; mc != nil && !mc.Agrees {
		return mc.Interval
	}
	return [2]float64{d - b.Expanded, d + b.Expanded}
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
			bud, decided := c.budget(k, m, c.base.Layout.Area(region, i), d.Delta, measure.JoinAreas(&ua[i], &ub[i]))
			d.Standard, d.Expanded, d.Coverage, d.DOF, d.Items, d.MonteCarlo = bud.Standard, bud.Expanded, bud.Coverage, bud.DOF, bud.Items, bud.MonteCarlo
			d.Verdict = decided
			if a.Areas[i].InScatter || b.Areas[i].InScatter {
				// The interval does not hold the islands of scatter.
				d.Verdict = NotResolved
			}
		}
		out = append(out, d)
	}
	return out
}
