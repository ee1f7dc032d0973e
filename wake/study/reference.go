package study

import (
	"cmp"
	"context"
	"fmt"

	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// with puts what is stated in the place of what was. A pressure and a plane that it comes from
// exclude each other, and so does a plane with the speed of the stream before it.
func (s Stream) with(o *Stream) Stream {
	if o == nil {
		return s
	}
	if o.Plane != "" {
		s.Plane, s.Speed, s.Pressure, s.TotalPressure = o.Plane, nil, nil, nil
	}
	if o.Pressure != nil {
		s.Plane, s.TotalPressure = "", nil
	}
	s.Speed, s.Density = cmp.Or(o.Speed, s.Speed), cmp.Or(o.Density, s.Density)
	s.Pressure, s.TotalPressure = cmp.Or(o.Pressure, s.Pressure), cmp.Or(o.TotalPressure, s.TotalPressure)
	return s
}

// referred are the study's options with the reference of a configuration, and of one of its
// surveys, in place of the study's; nil for none.
func (r *runner) referred(ctx context.Context, cfg *Configuration, own *Stream) (measure.Options, error) {
	s, opt := r.c.Reference.Stream.with(cfg.Own).with(own), r.base
	if missing := s.Into(&opt.Reference, r.c.Planes == AtStations); missing != "" {
		return opt, r.lacks(missing, cfg.Own != nil || own != nil, cfg)
	}
	if s.Plane != "" {
		p, err := r.referencePlane(ctx, s.Plane, opt.Reference.Density)
		if err != nil {
			return opt, err
		}
		if err := opt.ReferenceFrom(p, s.Plane); err != nil {
			return opt, err
		}
	}
	r.c.Uncertainty.Into(&opt)
	opt.Uncertainty.Steady = opt.Uncertainty.Steady || cfg.Steady
	opt.Uncertainty.OwnReference = cfg.Own != nil || own != nil
	return opt, nil
}

// needed says why a number of the reference is needed.
var needed = map[string]string{
	"speed":    "it is the speed far upstream, as in --speed \"25 m/s\"",
	"density":  "pressures and a reference plane need it, as in --density 1.2",
	"pressure": "it is the static pressure far upstream on the file's scale, as in --pressure 0 for gauge values",
}

// lacks is the fault of a configuration's reference that lacks a number.
func (r *runner) lacks(key string, own bool, cfg *Configuration) error {
	e := &wake.InputError{File: r.c.File, Text: "[reference] has no " + key, Cure: "the reference is never guessed; add it"}
	switch {
	case r.c.Planes != AtStations:
		e.Text, e.Cure = "--"+key+" is missing: "+needed[key], "the reference is never guessed"
	case own:
		e.Text += fmt.Sprintf(", and configuration %q none of its own", cfg.Name)
	}
	return e
}

// referencePlane reads a plane that a reference comes from, once.
func (r *runner) referencePlane(ctx context.Context, name string, density float64) (*wake.Plane, error) {
	if p := r.referencePlanes[name]; p != nil {
		return p, nil
	}
	if err := r.enter("reference", "", name); err != nil {
		return nil, err
	}
	read := r.readOpt
	read.Uniform = true
	planes, err := r.readFile(ctx, name, read, density)
	if err != nil {
		return nil, err
	}
	if len(planes) != 1 {
		return nil, &wake.InputError{File: name, Text: fmt.Sprintf("%d planes, the reference is one", len(planes)), Cure: "give a file with one plane"}
	}
	r.referencePlanes[name] = planes[0]
	return planes[0], nil
}
