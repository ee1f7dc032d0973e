package study

import (
	"context"
	"fmt"
	"math"

	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
)

// stream is a reference while it is put together: the study's, then what a configuration
// and a survey have of their own.
type stream struct {
	speed, density, pressure, total *float64
	plane                           string
}

// with puts what is stated in the place of what was. A pressure and a plane that it comes from
// exclude each other, and so does a plane with the speed of the stream before it.
func (s stream) with(o *OwnReference) stream {
	if o == nil {
		return s
	}
	if o.Plane != "" {
		s.plane, s.speed, s.pressure, s.total = o.Plane, nil, nil, nil
	}
	if o.Pressure != nil {
		s.plane, s.pressure, s.total = "", o.Pressure, nil
	}
	for _, v := range []struct{ to, from **float64 }{{&s.speed, &o.Speed}, {&s.density, &o.Density}, {&s.total, &o.TotalPressure}} {
		if *v.from != nil {
			*v.to = *v.from
		}
	}
	return s
}

// referred are the study's options with the reference of a configuration, and of one of its
// surveys, in place of the study's; nil for none.
func (r *runner) referred(ctx context.Context, cfg *Configuration, own *OwnReference) (measure.Options, error) {
	c := &r.c.Reference
	s := stream{c.Speed, c.Density, c.Pressure, c.TotalPressure, c.Plane}.with(cfg.Own).with(own)
	opt := r.base
	need := []struct {
		name string
		v    *float64
		to   *float64
	}{{"density", s.density, &opt.Reference.Density}, {"speed", s.speed, &opt.Reference.Speed}, {"pressure", s.pressure, &opt.Reference.Pressure}}
	for i, n := range need {
		switch {
		case n.v != nil:
			*n.to = *n.v
		case i == 0 || s.plane == "":
			e := &wake.InputError{File: r.c.File, Text: "[reference] has no " + n.name, Cure: "the reference is never guessed; add it"}
			if cfg.Own != nil || own != nil {
				e.Text += fmt.Sprintf(", and configuration %q none of its own", cfg.Name)
			}
			return opt, e
		}
	}
	opt.Reference.TotalPressure = math.NaN()
	if s.total != nil {
		opt.Reference.TotalPressure = *s.total
	}
	if s.plane != "" {
		p, err := r.referencePlane(ctx, s.plane, opt.Reference.Density)
		if err != nil {
			return opt, err
		}
		if err := opt.ReferenceFrom(p, s.plane); err != nil {
			return opt, err
		}
	}
	r.uncertainty(&opt)
	opt.Uncertainty.Steady = opt.Uncertainty.Steady || cfg.Steady
	if cfg.Own != nil || own != nil {
		opt.OwnReference()
	}
	return opt, nil
}

// referencePlane reads a plane that a reference comes from, once.
func (r *runner) referencePlane(ctx context.Context, name string, density float64) (*wake.Plane, error) {
	if p := r.referencePlanes[name]; p != nil {
		return p, nil
	}
	file, read := r.path(name), r.readOpt
	read.Density = density
	s, err := average.Read(ctx, file, read)
	if err != nil {
		return nil, err
	}
	planes, err := wake.Planes(s, r.planeOpt)
	if err != nil {
		return nil, err
	}
	if len(planes) != 1 {
		return nil, &wake.InputError{File: file, Text: fmt.Sprintf("%d planes, the reference is one", len(planes)), Cure: "give a file with one plane"}
	}
	in, err := r.input(name, "reference", "")
	if err != nil {
		return nil, err
	}
	r.out.Inputs = append(r.out.Inputs, in)
	r.referencePlanes[name] = planes[0]
	return planes[0], nil
}
