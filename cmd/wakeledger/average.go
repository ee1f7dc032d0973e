package main

import (
	"context"
	"fmt"
	"math"
	"path/filepath"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/survey"
)

// averageFlags are those of average beside what reading needs.
type averageFlags struct {
	survey          *surveyFlags
	speed, pressure string
	timeStep        string
	first, state    int
}

func runAverage(ctx context.Context, e *env, args []string) error {
	fs := e.flags()
	f := &averageFlags{survey: &surveyFlags{fs: fs}}
	s := f.survey
	fs.StringVar(&f.speed, "speed", "", "reference speed U, for the time series of the momentum integral, for example 25 or \"90 km/h\"")
	fs.StringVar(&s.density, "density", "", "reference density in kg/m3")
	fs.StringVar(&f.pressure, "pressure", "", "reference static pressure on the scale of the files' pressures, in Pa")
	fs.StringArrayVar(&s.regions, "region", nil, "`NAME:ymin,ymax,zmin,zmax`, a box with a time series of its own (repeatable)")
	fs.StringVar(&s.symmetry, "symmetry", "full", "half doubles the integrals of a half plane")
	addReadFlags(fs, s)
	fs.StringVar(&f.timeStep, "time-step", "", "time from one snapshot to the next, for example \"29.1 ms\"")
	fs.IntVar(&f.first, "first", 1, "number of the first snapshot in the whole record, where this is a part of it")
	fs.IntVar(&f.state, "state", 0, "of a record in two states, average the snapshots in this one: 1 has the lower drag, 2 the higher")
	partial := addPartialFlag(fs)
	if err := e.parse(fs, args, `wakeledger average snapshots/bare_*.csv.gz --speed 25 --density 1.2 --pressure 0 --time-step "29.1 ms" --out mean`); err != nil {
		return err
	}
	if err := e.needFiles(fs.Args(), 1); err != nil {
		return err
	}
	read, err := s.read()
	if err != nil {
		return err
	}
	opt, err := f.options()
	if err != nil {
		return err
	}
	var doubts readingDoubts
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
				doubts.note(s.Warnings)
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
	return e.averaged(state, *partial, doubts.list())
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

// readingDoubts keeps each kind of doubt once, with the file where it was first
// met: ten thousand snapshots of one export have the same ones.
type readingDoubts struct {
	first []wake.Warning
	count map[string]int
}

func (d *readingDoubts) note(ws []wake.Warning) {
	if d.count == nil {
		d.count = map[string]int{}
	}
	for _, w := range ws {
		if d.count[w.Code] == 0 {
			d.first = append(d.first, w)
		}
		d.count[w.Code]++
	}
}

func (d *readingDoubts) list() []wake.Warning {
	var out []wake.Warning
	for _, w := range d.first {
		if n := d.count[w.Code] - 1; n > 0 {
			w.Text += fmt.Sprintf(" (and %d more doubts of this kind)", n)
		}
		out = append(out, w)
	}
	return out
}

// options gives those of averaging. Without any of --speed, --density and
// --pressure there is no time series; with one of them all are needed.
func (f *averageFlags) options() (average.Options, error) {
	s := f.survey
	var opt average.Options
	var err error
	if f.first < 1 {
		return opt, &usageError{fmt.Sprintf("--first %d", f.first), "numbers start at 1"}
	}
	if opt.Plane, err = s.plane(); err != nil {
		return opt, err
	}
	if f.timeStep != "" {
		if opt.TimeStep, err = value("time-step", f.timeStep, wake.Time, ""); err != nil {
			return opt, err
		}
		if !(opt.TimeStep > 0) {
			return opt, &usageError{fmt.Sprintf("--time-step %q", f.timeStep), `a positive time is expected, as in "29.1 ms"`}
		}
	}
	switch s.symmetry {
	case "full", "":
	case "half":
		opt.Half = true
	default:
		return opt, &usageError{fmt.Sprintf("--symmetry %q is not known", s.symmetry), "half or full is expected"}
	}
	if opt.Regions, err = parseRegions(s.regions, nil); err != nil {
		return opt, err
	}
	// A density alone is for kinematic pressures and asks for nothing else.
	if f.speed == "" && f.pressure == "" {
		if len(opt.Regions) > 0 {
			return opt, &usageError{"--region without a reference", "give --speed, --density and --pressure"}
		}
		return opt, nil
	}
	r := wake.Freestream{TotalPressure: math.NaN()}
	if r.Speed, err = value("speed", f.speed, wake.Velocity, "the momentum integral needs it, as in --speed \"25 m/s\""); err != nil {
		return opt, err
	}
	if r.Density, err = value("density", s.density, wake.Density, "the momentum integral needs it, as in --density 1.2"); err != nil {
		return opt, err
	}
	if r.Pressure, err = value("pressure", f.pressure, wake.Pressure, "the momentum integral needs it, as in --pressure 0 for gauge values"); err != nil {
		return opt, err
	}
	opt.Reference = &r
	return opt, nil
}

func addPartialFlag(fs *pflag.FlagSet) *string {
	return fs.String("partial", "", "write the state of the average into `FILE`, for the command merge")
}

// runMerge joins the states of parts of a record.
func runMerge(ctx context.Context, e *env, args []string) error {
	fs := e.flags()
	partial := addPartialFlag(fs)
	if err := e.parse(fs, args, "wakeledger merge part-*.state --out mean"); err != nil {
		return err
	}
	if err := e.needFiles(fs.Args(), 1); err != nil {
		return err
	}
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
	return e.averaged(all, *partial, nil)
}

// averaged writes what was asked for of a state: the partial state, the folder,
// and the summary. reading are the doubts of reading the snapshots.
func (e *env) averaged(s *average.State, partial string, reading []wake.Warning) error {
	r, err := s.Result()
	if err != nil {
		return err
	}
	r.Warnings = append(reading, r.Warnings...)
	if err := e.judge(r.Warnings); err != nil {
		return err
	}
	if partial != "" && e.out == "" {
		o := newOutput()
		if err := o.table(filepath.Base(partial), s.Encode); err != nil {
			return err
		}
		if err := o.write(filepath.Dir(partial), e.read); err != nil {
			return err
		}
	}
	return e.finish(r.Warnings, r.WriteText, r.WriteJSON, "average", func(o *output) error {
		if err := o.table("mean.csv", r.WritePlane); err != nil {
			return err
		}
		if err := o.table("mean.state", s.Encode); err != nil {
			return err
		}
		if len(r.Series) > 0 {
			if err := o.table("series.csv", r.WriteSeries); err != nil {
				return err
			}
		}
		if err := convergence(r, o); err != nil {
			return err
		}
		if partial == "" {
			return nil
		}
		// All files are put in place together, those outside the folder too.
		name, err := relative(e.out, partial)
		if err != nil {
			return err
		}
		return o.table(name, s.Encode)
	})
}

// convergence adds a chart for each time series.
func convergence(r *average.Result, o *output) error {
	var names []string
	for i := range r.Series {
		names = append(names, r.Series[i].Name)
	}
	words := atlas.FileWords(names)
	for i := range r.Series {
		v := &r.Series[i]
		c := report.Convergence(v.Name, v.Values(), v.Running(), v.Mean, v.Expanded, r.TimeStep)
		if len(c.Shapes) == 0 {
			continue
		}
		png, err := atlas.Chart(c, r.Files[0], atlas.Options{})
		if err != nil {
			return err
		}
		o.add("convergence_"+words[i]+".png", png)
	}
	return nil
}

// relative is the way from the folder dir to a file.
func relative(dir, file string) (string, error) {
	d, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	f, err := filepath.Abs(file)
	if err != nil {
		return "", err
	}
	return filepath.Rel(d, f)
}
