package compare

import (
	"math"
	"slices"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
)

// repeated are the items of what a move scatters by from run to run, pooled over the
// configurations with further runs, of a thing and its mirror image, if any, as measure.Pool has
// it; none without any. between measures how far the thing moved
// from the survey of side j to a further run of it; ok is false where it is not found. It is
// the same for all variants, and found once for a thing.
func repeated[T comparable](c *comparing, things []T, between func(thing T, j int, run *Survey) (d float64, ok bool)) []uncertainty.Item {
	var all []uncertainty.Item
	for i, thing := range things {
		items, known := c.scatters[thing]
		if !known {
			var samples []uncertainty.Sample
			for j, s := range c.sides {
				at := []float64{0}
				for _, run := range s.own.Repeats {
					if d, ok := between(thing, j, run); ok {
						at = append(at, d)
					}
				}
				samples = append(samples, uncertainty.NewSample(at))
			}
			items = uncertainty.Scatter(2, samples...)
			c.scatters[thing] = items
		}
		switch {
		case i == 0:
			all = slices.Clone(items)
		case len(all) > 0 && len(items) > 0:
			all[0].Standard, all[0].DOF = math.Hypot(all[0].Standard, items[0].Standard)/math.Sqrt2, new(math.Min(*all[0].DOF, *items[0].DOF))
		}
	}
	return all
}

// Short reports whether the record that the plane is the mean of was found too short to judge its mean.
func (s *Survey) Short() bool {
	return slices.ContainsFunc(s.Plane.Warnings, func(w wake.Warning) bool { return w.Code == uncertainty.RecordShort })
}

// ofRuns says of items of repeats, in a difference of two, which runs they are of. Where a mean is of a
// record that is too short, and not all runs that are repeated are, their scatter does not hold its time average.
func (c *comparing) ofRuns(a, b *side, items []uncertainty.Item) []uncertainty.Item {
	items = slices.Clone(items)
	na, nb := len(a.own.Repeats), len(b.own.Repeats)
	for i := range items {
		switch items[i].Runs = 1 + min(na, nb); {
		case na+nb == 0:
			items[i].Name = "repeats of other configurations, taken to hold for both"
		case nb == 0:
			items[i].Name = "repeats of " + a.Name + ", taken to hold for both"
		case na == 0:
			items[i].Name = "repeats of " + b.Name + ", taken to hold for both"
		}
	}
	longer := func(s *Survey) bool { return !s.Short() }
	for _, s := range []*side{a, b} {
		if len(items) > 0 && s.own.Short() && slices.ContainsFunc(c.sides, func(o *side) bool {
			return len(o.own.Repeats) > 0 && (longer(o.own) || slices.ContainsFunc(o.own.Repeats, longer))
		}) {
			items[0].HoldsTime = false
			items = append(items, uncertainty.Declared(uncertainty.TimeAverage, uncertainty.Unknown, "the record of "+s.Name+" is too short, and repeats are of longer ones"))
			break
		}
	}
	return items
}

// partRepeats is repeated for the part of the baseline's wake with the given name, and its
// mirror image.
func (c *comparing) partRepeats(name string) []uncertainty.Item {
	base, names := c.sides[0].Set, []string{name}
	if i := base.Index(name); i >= 0 && base.Structures[i].MirrorOf != "" {
		names = append(names, base.Structures[i].MirrorOf)
	}
	return repeated(c, names, func(own string, j int, run *Survey) (float64, bool) {
		ok, other := run.Set != nil, ""
		if ok && j > 0 {
			own, ok = partner(base, c.sides[j].Set, own)
		}
		if ok {
			other, ok = partner(c.sides[j].Set, run.Set, own)
		}
		if !ok {
			return 0, false
		}
		return headline(shift.Between(c.sides[j].Set, run.Set, own, other, c.opt.Moves))
	})
}

// boxRepeats is repeated for the wake in a region's box, and its mirror image, or in the
// Whole plane.
func (c *comparing) boxRepeats(region int) []uncertainty.Item {
	regions := []int{region}
	if region != measure.Whole {
		if o := measure.Mirrored(c.opt.Measure.Regions, region); o >= 0 {
			regions = append(regions, o)
		}
	}
	return repeated(c, regions, func(region, j int, run *Survey) (float64, bool) {
		if run.Set == nil {
			return 0, false
		}
		return headline(shift.InBox(c.sides[j].field, run.Set.Field(), "", c.box(region), threshold(c.sides[0].Set), c.opt.Moves))
	})
}

// partner is the part of b that matches a part of a.
func partner(a, b *parts.Set, name string) (string, bool) {
	m := parts.Match(a, b)
	i := slices.IndexFunc(m.Pairs, func(p parts.MatchPair) bool { return p.A == name })
	if i < 0 {
		return "", false
	}
	return m.Pairs[i].B, true
}

// headline is the lateral move of a shift that was measured.
func headline(s *shift.Shift, err error) (float64, bool) {
	if err != nil || s.Headline == nil {
		return 0, false
	}
	return s.Headline.Lateral, true
}
