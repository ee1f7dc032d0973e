package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/settings"
)

// averageFlags are those of average beside the settings.
type averageFlags struct {
	*stated
	record struct {
		TimeStep float64 `flag:"time-step" is:"time>0" say:"<TIME> from one snapshot to the next, for example \"116.4 ms\""`
	}
	first, state int
}

func runAverage(e *env, fs *pflag.FlagSet) work {
	f := &averageFlags{stated: addSettings(fs, reading("speed", "pressure", "region", "symmetry"))}
	for name, usage := range map[string]string{
		"speed":    "reference `SPEED`, for the time series of the momentum integral, for example 25 or \"90 km/h\"",
		"pressure": "reference static `PRESSURE` on the scale of the files' pressures, in Pa",
		"region":   "`NAME:ymin,ymax,zmin,zmax`, a box with a time series of its own (repeatable)",
		"symmetry": "`full|half`: half doubles the integrals of a half plane",
	} {
		fs.Lookup(name).Usage = usage
	}
	addFlags(fs, &settings.File{}, &f.record, func(*settings.Flag) bool { return true })
	fs.IntVar(&f.first, "first", 1, "`NUMBER` of the first snapshot in the whole record, where this is a part of it")
	fs.IntVar(&f.state, "state", 0, "of a record in two states, average the snapshots in `1|2`: 1 has the lower drag, 2 the higher")
	return func(ctx context.Context) error {
		if err := f.check(fs.NArg()); err != nil {
			return err
		}
		read := f.Read("flag")
		opt, err := f.options()
		if err != nil {
			return err
		}
		var doubts []wake.Warning
		run := func(only func(int) bool) (*average.State, error) {
			a, err := average.New(opt)
			if err != nil {
				return nil, err
			}
			a.Only = only
			progress := e.progress("averaging", fs.NArg())
			defer progress.done()
			err = a.Run(ctx, fs.Args(), f.first, func(ctx context.Context, name string) (*wake.Samples, error) {
				return survey.Read(ctx, name, read)
			}, func(s *wake.Samples) {
				if only == nil {
					doubts = append(doubts, s.Warnings...)
				}
				progress.step()
			})
			return a.State(), err
		}
		state, err := run(nil)
		if err != nil {
			return err
		}
		if f.state != 0 {
			only, err := f.inState(state)
			if err != nil {
				return err
			}
			if state, err = run(only); err != nil {
				return err
			}
		}
		e.clock.lap("average")
		return e.averaged(state, once(doubts))
	}
}

// inState says which snapshots of a record are in the state that is asked for.
func (f *averageFlags) inState(all *average.State) (func(int) bool, error) {
	r, err := all.Result()
	if err != nil {
		return nil, err
	}
	flag := fmt.Sprintf("--state %d", f.state)
	switch {
	case f.state != 1 && f.state != 2:
		return nil, &usageError{flag, "1 or 2 is expected"}
	case len(r.Series) == 0:
		return nil, &usageError{flag + " without a momentum integral, which tells the states", "give --speed, --density and --pressure"}
	case r.Series[0].States == nil:
		return nil, &usageError{flag + ": the record is not in two states", "leave out --state"}
	}
	at := map[int]bool{}
	for i, n := range r.Numbers() {
		at[int(n)] = r.Series[0].States.Of[i] == f.state-1
	}
	return func(n int) bool { return at[n] }, nil
}

// once keeps each kind of doubt once, with the file where it was first met: ten thousand
// snapshots of one export have the same ones.
func once(doubts []wake.Warning) (out []wake.Warning) {
	count := map[string]int{}
	for _, w := range doubts {
		if count[w.Code]++; count[w.Code] == 1 {
			out = append(out, w)
		}
	}
	for k := range out {
		if n := count[out[k].Code] - 1; n > 0 {
			out[k].Text += fmt.Sprintf(" (and %d more doubts of this kind)", n)
		}
	}
	return out
}

// options gives those of averaging. Without any of --speed, --density and
// --pressure there is no time series; with one of them all are needed.
func (f *averageFlags) options() (average.Options, error) {
	if f.first < 1 {
		return average.Options{}, &usageError{fmt.Sprintf("--first %d", f.first), "numbers start at 1"}
	}
	all, r := f.Options(), &f.Reference.Stream
	opt := average.Options{Plane: f.Plane("flag"), TimeStep: f.record.TimeStep, Half: all.Half, Regions: all.Regions}
	// A density alone is for kinematic pressures and asks for nothing else.
	if r.Speed == nil && r.Pressure == nil {
		if len(opt.Regions) > 0 {
			return opt, &usageError{"--region without a reference", "give --speed, --density and --pressure"}
		}
		return opt, nil
	}
	opt.Reference = &wake.Freestream{}
	if key := r.Into(opt.Reference, true); key != "" {
		return opt, &usageError{"--" + key + " is missing: the momentum integral needs it", "give --speed, --density and --pressure"}
	}
	return opt, nil
}

// runMerge joins the states of parts of a record.
func runMerge(e *env, fs *pflag.FlagSet) work {
	return func(ctx context.Context) error {
		var all *average.State
		progress := e.progress("merging", fs.NArg())
		defer progress.done()
		for _, name := range fs.Args() {
			if err := ctx.Err(); err != nil {
				return err
			}
			s, err := average.ReadState(name)
			if err != nil {
				return err
			}
			if all == nil {
				all = s
			} else if err := all.Merge(name, s); err != nil {
				return err
			}
			progress.step()
		}
		e.clock.lap("merge")
		return e.averaged(all, nil)
	}
}

// averaged writes the folder of a state and prints its summary. reading are the doubts of
// reading the snapshots.
func (e *env) averaged(s *average.State, reading []wake.Warning) error {
	r, err := s.Result()
	if err != nil {
		return err
	}
	r.Warnings = append(reading, r.Warnings...)
	return e.finish(result{
		warnings: r.Warnings, name: "average",
		text: func(w io.Writer, _ bool) error { return report.AverageText(w, r) },
		json: document(struct {
			Schema   string         `json:"schema"`
			Warnings []wake.Warning `json:"warnings"`
			*average.Result
		}{"wakeledger.average/1", r.Warnings, r}),
		files: func(o *output) error {
			if err := errors.Join(o.table("mean.csv", r.WritePlane), o.table("mean.state", s.Encode)); err != nil {
				return err
			}
			if len(r.Series) == 0 {
				return nil
			}
			return o.table("series.csv", r.WriteSeries)
		},
	})
}
