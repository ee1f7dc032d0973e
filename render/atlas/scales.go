package atlas

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/render"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// scales are those of a quantity and of its changes.
type scales struct {
	policy        render.Policy
	plain, change render.Scale
}

// policy finds how a quantity is coloured, with the limits that the user set.
func (o Options) policy(quantity string) (render.Policy, error) {
	p, ok := render.Limits(quantity)
	if !ok {
		return p, fmt.Errorf("map quantity %q has no colour scale; one of %s is expected", quantity, strings.Join(measure.MapQuantities, ", "))
	}
	return p, nil
}

// Check refuses quantities that are not known, and limits and levels that no scale
// can have, before anything is measured.
func (o Options) Check() error {
	for _, q := range o.quantities() {
		p, err := o.policy(q)
		if err != nil {
			return err
		}
		if lim, ok := o.Limits[q]; ok {
			if _, err := p.Between(lim[0], lim[1], o.Levels[q]); err != nil {
				return err
			}
		}
		if c, ok := o.ChangeLimits[q]; ok && !(c > 0) {
			return fmt.Errorf("limit %g of changes of %s: a positive number is needed", c, q)
		}
	}
	names := slices.Collect(maps.Keys(o.Limits))
	names = slices.AppendSeq(names, maps.Keys(o.Levels))
	names = slices.AppendSeq(names, maps.Keys(o.ChangeLimits))
	slices.Sort(names)
	for _, q := range names {
		if !slices.Contains(o.quantities(), q) {
			return fmt.Errorf("limits or levels of %q, which is not drawn: drawn are %s", q, strings.Join(o.quantities(), ", "))
		}
	}
	return nil
}

// scale is the study's scale of a quantity, or the common scale of fields where there
// is no study.
func (o Options) scale(quantity string, p render.Policy, fields []field) (render.Scale, error) {
	if s, ok := o.shared.scales[quantity]; ok {
		return s.plain, nil
	}
	if lim, ok := o.Limits[quantity]; ok {
		return p.Between(lim[0], lim[1], o.Levels[quantity])
	}
	s, err := render.AutoScale(p, o.weighted(fields)...)
	if err != nil {
		return s, err
	}
	if levels := o.Levels[quantity]; len(levels) > 0 {
		return render.NewScale(s.Lo, s.Hi, levels, p.Map)
	}
	return s, nil
}

// changeScale is the common scale of changes, each counting alike however large its plane. p is
// the policy of the quantity itself. A study has one for each station, since changes beside the
// vehicle are many times those behind it, and one for what is set side by side.
func (o Options) changeScale(quantity string, p render.Policy, changes []field) (render.Scale, error) {
	d := p.Difference()
	changes = slices.DeleteFunc(slices.Clone(changes), func(f field) bool { return f.values == nil })
	if c, ok := o.ChangeLimits[quantity]; ok {
		return d.Between(-c, c, nil)
	}
	if len(changes) == 0 {
		// Nothing is compared; the viewer still takes differences of what it is asked.
		return d.Between(-1, 1, nil)
	}
	w := o.weighted(changes)
	for k := range w {
		w[k].Weights = slices.Clone(w[k].Weights) // others need them as they are
		floats.Scale(1/floats.Sum(w[k].Weights), w[k].Weights)
	}
	return render.AutoScale(d, w...)
}

// For finds the scales of a study once, for the calls of Study and Viewer that are
// given the options it returns.
func (o Options) For(ctx context.Context, fields []study.Fields) (Options, error) {
	o.shared = nil
	return o.study(ctx, fields)
}

// study gives options that hold the scales of a study, one for each quantity and one for
// its changes side by side over all configurations and stations, and its longest cross-flow. A
// quantity that no plane has is left out.
func (o Options) study(ctx context.Context, fields []study.Fields) (Options, error) {
	if o.shared != nil && o.shared.scales != nil {
		return o, nil
	}
	o.shared = &shared{}
	var everything []*measure.Measurement
	for _, st := range fields {
		everything = append(everything, st.Single...)
	}
	o.shared.full = o.fullVector(everything)
	var err error
	if o.shared.windows, err = o.windows(everything); err != nil {
		return o, err
	}
	qs := o.quantities()
	found := make([]*scales, len(qs))
	if err := all(ctx, len(qs), func(i int) (err error) {
		found[i], err = o.scalesOf(ctx, qs[i], everything, fields)
		return err
	}); err != nil {
		return o, err
	}
	all := map[string]scales{}
	for i, s := range found {
		if s != nil {
			all[qs[i]] = *s
		}
	}
	o.shared.scales = all
	return o, nil
}

// scalesOf are the scales of a quantity over a study; nil where no plane has it.
func (o Options) scalesOf(ctx context.Context, q string, everything []*measure.Measurement, fields []study.Fields) (*scales, error) {
	p, err := o.policy(q)
	if err != nil {
		return nil, err
	}
	var plain, diffs []field
	for _, m := range everything {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		f, err := fieldOf(m, q)
		if err != nil {
			return nil, err
		}
		if f.values != nil {
			plain = append(plain, f)
		}
	}
	for _, st := range fields {
		_, d, err := changes(st.Compared, q)
		if err != nil {
			return nil, err
		}
		for _, f := range d {
			if f.values != nil {
				diffs = append(diffs, f)
			}
		}
	}
	if len(plain) == 0 {
		return nil, nil
	}
	s := &scales{policy: p}
	if s.plain, err = o.scale(q, p, plain); err != nil {
		return nil, err
	}
	s.change, err = o.changeScale(q, p, diffs)
	return s, err
}
