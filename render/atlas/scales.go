package atlas

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/render"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
)

// scales are those of a quantity and of its changes.
type scales struct {
	policy        render.Policy
	plain, change render.Scale
}

// Check refuses limits and levels that no scale can have, before anything is measured.
func (o Options) Check() error {
	for _, q := range o.quantities() {
		if lim, ok := o.Limits[q]; ok {
			p, _ := render.Limits(q)
			if _, err := p.Between(lim[0], lim[1], o.Levels[q]); err != nil {
				return err
			}
		}
	}
	return nil
}

// weighted pairs fields with the areas that their samples represent.
func (o Options) weighted(fields []field) []render.Weighted {
	var w []render.Weighted
	for _, f := range fields {
		if f.values != nil {
			of, _ := o.shared.weights.LoadOrStore(f.mesh, sync.OnceValue(func() []float64 { return quad.NewWeights(f.mesh, nil).Weight }))
			w = append(w, render.Weighted{Values: f.values, Weights: of.(func() []float64)()})
		}
	}
	return w
}

// scalesOf are the study's scales of a quantity, or where there is no study those that are
// common to fields and to changes; nil where no plane has the quantity.
func (o Options) scalesOf(quantity string, fields, changes []field) (*scales, error) {
	if o.shared.scales != nil {
		return o.shared.scales[quantity], nil
	}
	w := o.weighted(fields)
	if len(w) == 0 {
		return nil, nil
	}
	p, _ := render.Limits(quantity)
	s, err := &scales{policy: p}, error(nil)
	if lim, ok := o.Limits[quantity]; ok {
		s.plain, err = p.Between(lim[0], lim[1], o.Levels[quantity])
	} else if s.plain, err = render.AutoScale(p, w...); err == nil && len(o.Levels[quantity]) > 0 {
		s.plain, err = p.Between(s.plain.Lo, s.plain.Hi, o.Levels[quantity])
	}
	if err != nil {
		return nil, err
	}
	s.change, err = o.changeScale(quantity, p, changes)
	return s, err
}

// changeScale is the common scale of changes, each counting alike however large its plane. p is
// the policy of the quantity itself. A study has one for each station, since changes beside the
// vehicle are many times those behind it, and one for what is set side by side.
func (o Options) changeScale(quantity string, p render.Policy, changes []field) (render.Scale, error) {
	d := p.Difference()
	if c, ok := o.ChangeLimits[quantity]; ok {
		return d.Between(-c, c, nil)
	}
	w := o.weighted(changes)
	if len(w) == 0 {
		// Nothing is compared; the viewer still takes differences of what it is asked.
		return d.Between(-1, 1, nil)
	}
	for k := range w {
		w[k].Weights = slices.Clone(w[k].Weights) // others need them as they are
		floats.Scale(1/floats.Sum(w[k].Weights), w[k].Weights)
	}
	return render.AutoScale(d, w...)
}

// For gives options that hold the scales of a study, one for each quantity and one for its changes
// side by side over all configurations and stations, and what its pictures share; those that it
// gave, it gives back. A quantity that no plane has is left out.
func (o Options) For(ctx context.Context, out *study.Outcome, fields []study.Fields) (Options, error) {
	if o.shared != nil {
		return o, nil
	}
	var everything []*measure.Measurement
	for _, st := range fields {
		everything = append(everything, st.Single...)
	}
	var err error
	if o.shared, err = o.sharing(everything); err != nil {
		return o, err
	}
	qs := o.quantities()
	found := make([]*scales, len(qs))
	if err := grid.Each(ctx, len(qs), func(i int) (err error) {
		found[i], err = o.studyScales(ctx, qs[i], everything, fields)
		return err
	}); err != nil {
		return o, err
	}
	o.shared.scales = map[string]*scales{}
	for i, s := range found {
		o.shared.scales[qs[i]] = s
	}
	var cs []*compare.Comparison
	for _, st := range out.Stations {
		cs = append(cs, st.Comparison)
	}
	o.magnify = o.magnified(cs)
	return o, nil
}

func (o Options) studyScales(ctx context.Context, q string, everything []*measure.Measurement, fields []study.Fields) (*scales, error) {
	var plain, diffs []field
	for _, m := range everything {
		f, err := fieldOf(m, q)
		if err = cmp.Or(ctx.Err(), err); err != nil {
			return nil, err
		}
		plain = append(plain, f)
	}
	for _, st := range fields {
		_, d, err := changes(st.Compared, q)
		if err != nil {
			return nil, err
		}
		diffs = append(diffs, d...)
	}
	return o.scalesOf(q, plain, diffs)
}
