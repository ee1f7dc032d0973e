package compare

import (
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
)

// Repeat measures a further run of a configuration with own instead of opt.Measure, without a
// budget, and finds the parts of its wake.
func Repeat(p *wake.Plane, opt Options, own measure.Options) (*Known, error) {
	m, err := measure.Bare(p, own)
	if err != nil {
		return nil, err
	}
	k := &Known{Measurement: m}
	if opt.Structures != nil {
		find := *opt.Structures
		find.Regions = opt.Measure.Regions
		k.Set, k.View, err = parts.Survey(m, find)
	}
	return k, err
}

// repeated is the item of what a move scatters by from run to run, pooled over the
// configurations with further runs; none without any. between measures how far the thing moved
// from the survey of plane j to a further run of it; ok is false where it is not found. It is
// the same for all variants, and found once for a thing.
func (c *comparing) repeated(thing any, between func(j int, run *Known) (d float64, ok bool)) []uncertainty.Item {
	if known, ok := c.scatters[thing]; ok {
		return known
	}
	var items []uncertainty.Item
	var samples []uncertainty.Sample
	for j, runs := range c.opt.Repeats {
		at := []float64{0}
		for _, run := range runs {
			if d, ok := between(j, run); ok {
				at = append(at, d)
			}
		}
		samples = append(samples, uncertainty.NewSample(at))
	}
	if sd, dof := uncertainty.Pooled(samples...); dof > 0 {
		items = []uncertainty.Item{{Name: "repeats", Category: uncertainty.RunToRun, HoldsTime: true, Kind: uncertainty.Random, Standard: math.Sqrt2 * sd, DOF: &dof}}
	}
	c.scatters[thing] = items
	return items
}

// oneScatter is what two mirror images scatter by, as measure.Pool has it.
func oneScatter(a, b []uncertainty.Item) []uncertainty.Item {
	if len(a) == 0 || len(b) == 0 {
		return a
	}
	it, dof := a[0], math.Min(*a[0].DOF, *b[0].DOF)
	it.Standard, it.DOF = math.Hypot(it.Standard, b[0].Standard)/math.Sqrt2, &dof
	return []uncertainty.Item{it}
}

// partRepeats is repeated for the part of the baseline's wake with the given name, and its
// mirror image.
func (c *comparing) partRepeats(name string) []uncertainty.Item {
	out := c.ofPart(name)
	if i := c.sets[0].Index(name); i >= 0 && c.sets[0].Structures[i].MirrorOf != "" {
		out = oneScatter(out, c.ofPart(c.sets[0].Structures[i].MirrorOf))
	}
	return out
}

func (c *comparing) ofPart(name string) []uncertainty.Item {
	return c.repeated(name, func(j int, run *Known) (float64, bool) {
		own, ok := name, true
		if j > 0 {
			own, ok = partner(parts.Match(c.sets[0], c.sets[j]), name)
		}
		if !ok || run.Set == nil {
			return 0, false
		}
		other, ok := partner(parts.Match(c.sets[j], run.Set), own)
		if !ok {
			return 0, false
		}
		return headline(shift.Between(c.sets[j], run.Set, own, other, c.opt.Moves))
	})
}

// boxRepeats is repeated for the wake in a region's box, and its mirror image, or in the
// Whole plane.
func (c *comparing) boxRepeats(region int) []uncertainty.Item {
	if region == measure.Whole {
		return c.ofBox(nil)
	}
	boxes := c.opt.Measure.Regions
	out := c.ofBox(&boxes[region].Box)
	if o := measure.Mirrored(boxes, region); o >= 0 {
		out = oneScatter(out, c.ofBox(&boxes[o].Box))
	}
	return out
}

func (c *comparing) ofBox(box *grid.Box) []uncertainty.Item {
	thing := any(nil)
	if box != nil {
		thing = *box
	}
	return c.repeated(thing, func(j int, run *Known) (float64, bool) {
		if run.Set == nil {
			return 0, false
		}
		return headline(shift.InBox(c.fields[j], run.Set.Field(), "", box, threshold(c.sets[0]), c.opt.Moves))
	})
}

func partner(m *parts.Matching, name string) (string, bool) {
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
