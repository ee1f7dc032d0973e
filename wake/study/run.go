package study

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/rake"
	"wakeledger/wake/uncertainty"
)

// defaultTolerance is how far a plane may lie from its station when the study
// file does not say: 20 mm.
const defaultTolerance = 0.02

// profileStrips is the number of strips of a profile: fine enough to tell a wheel
// from the underbody, coarse enough to read.
const profileStrips = 36

// Fields keeps, for maps, what was measured at each station: on the common
// samples where there is a comparison (baseline first, then its variants), else
// each plane by itself in the order of StationOutcome.Surveys.
type Fields struct {
	Compared []*measure.Measurement
	Single   []*measure.Measurement
}

// Run carries out a study: it reads every survey, assigns its planes to stations
// by position, measures each and compares the variants with the baseline. dir is
// the folder that file names are relative to; step, if not nil, is called after
// each of the steps(c) pieces of work. Work is spread over all processors and the
// outcome does not depend on their number. Wildcards in c are expanded (Expand).
//
// A configuration without a plane at a station is a warning. Errors are those of
// reading (*wake.InputError), or ctx's.
func Run(ctx context.Context, c *Config, dir string, step func()) (*Outcome, []Fields, error) {
	if step == nil {
		step = func() {}
	}
	if err := c.Expand(dir); err != nil {
		return nil, nil, err
	}
	r := &runner{c: c, dir: dir, step: step, out: &Outcome{Title: c.Title, Baseline: c.Baseline, Count: c.Reference.Count}}
	if err := r.options(ctx); err != nil {
		return nil, nil, err
	}
	for _, cfg := range c.Configurations {
		o := ConfigurationOutcome{Name: cfg.Name, Note: cfg.Note}
		if cfg.Force != nil {
			o.Force = &ForceValue{DragArea: cfg.Force.DragArea, Standard: cfg.Force.StandardUncertainty, stated: cfg.Force.StandardUncertainty}
		}
		r.out.Configurations = append(r.out.Configurations, o)
	}
	if err := r.read(ctx); err != nil {
		return nil, nil, err
	}
	if err := r.assign(); err != nil {
		return nil, nil, err
	}
	if err := r.reached(); err != nil {
		return nil, nil, err
	}
	if err := r.measure(ctx); err != nil {
		return nil, nil, err
	}
	if err := r.follow(); err != nil {
		return nil, nil, err
	}
	r.headline()
	r.forces()
	r.pool()
	return r.out, r.fields, nil
}

// Steps is how often Run calls step.
func Steps(c *Config) int {
	n := len(c.Stations)
	if c.Part != nil && c.Part.station != "" {
		n = 1
	}
	for _, cfg := range c.Configurations {
		n += len(cfg.Surveys) + len(cfg.Repeats) + len(cfg.Refinements)
	}
	return n
}

// runner is one run of a study.
type runner struct {
	c    *Config
	dir  string
	step func()
	out  *Outcome
	// base are the options without a reference, opts those of each configuration, opt those of the
	// baseline, and own those of planes with a reference of their own beside that.
	base, opt measure.Options
	opts      []measure.Options
	own       map[*wake.Plane]measure.Options
	// referencePlanes are those that references come from, by name.
	referencePlanes map[string]*wake.Plane
	readOpt         survey.Options
	planeOpt        wake.PlaneOptions
	// planes[k] are those of configuration k.
	planes [][]*wake.Plane
	// repeats and refined are by configuration and file.
	repeats, refined [][][]*wake.Plane
	stations         []Station
	// tares are by configuration: the planes of the empty section that it is measured
	// against.
	tares [][]*wake.Plane
	// at[s][k] is the plane of configuration k at station s, or nil.
	at     [][]*wake.Plane
	fields []Fields
	// found are the structures of each station.
	found []found
}

// options turns the study's words into those of the stages.
func (r *runner) options(ctx context.Context) error {
	c, o := r.c, &r.base
	var err error
	o.PressureIncludesK, o.SourcePart, o.Onset = c.Measure.PressureIncludesK, c.Measure.SourcePart, c.Measure.Onset
	o.Yaw = c.Reference.Yaw
	if c.Reference.FrontalArea != nil {
		o.FrontalArea = *c.Reference.FrontalArea
	}
	o.Anchor = c.Reference.Anchor
	o.Thresholds, o.Turbulence, o.Half = c.Measure.Threshold, c.Measure.Turbulence, c.Measure.Symmetry == "half"
	if c.Measure.Weight != "" {
		if o.Weight, err = measure.ParseWeight(c.Measure.Weight); err != nil {
			return err
		}
	}
	if c.Section != nil {
		o.Section, o.Floor = [2]float64{c.Section.Width, c.Section.Height}, c.Section.Floor
	}
	for _, g := range c.Regions {
		o.Regions = append(o.Regions, measure.Box{Name: g.Name, Side: g.Side, Box: grid.Box{
			Min: grid.Point{X: g.Box.Y[0], Y: g.Box.Z[0]}, Max: grid.Point{X: g.Box.Y[1], Y: g.Box.Z[1]},
		}})
	}
	switch c.Measure.Support {
	case "cells":
		r.planeOpt = wake.PlaneOptions{Support: grid.Cells, SupportBy: "study"}
	case "nodes":
		r.planeOpt = wake.PlaneOptions{Support: grid.Nodes, SupportBy: "study"}
	}
	if st := c.Stations; len(st) > 0 && !slices.ContainsFunc(st, func(s Station) bool { return s.Normal != st[0].Normal }) {
		r.planeOpt.Normal, r.planeOpt.NormalBy = wake.Axis(strings.Index("xyz", st[0].Normal)), "study"
	}
	r.planeOpt.Release = true
	r.readOpt = survey.Options{By: "study"}
	for _, name := range slices.Sorted(maps.Keys(c.Measure.Columns)) {
		q, ok := wake.ParseQuantity(name)
		if !ok {
			return &wake.InputError{File: c.File, Text: fmt.Sprintf("column of %q: no such quantity", name), Cure: "one of x y z u v w p pt cp cpt rho k uu vv ww area is expected"}
		}
		if r.readOpt.Columns == nil {
			r.readOpt.Columns = map[wake.Quantity]string{}
		}
		r.readOpt.Columns[q] = c.Measure.Columns[name]
	}
	if c.Reference.Frame != "" {
		if r.readOpt.Frame, err = wake.ParseFrame(c.Reference.Frame); err != nil {
			return err
		}
	}
	r.referencePlanes = map[string]*wake.Plane{}
	r.opts = make([]measure.Options, len(c.Configurations))
	for k := range c.Configurations {
		if r.opts[k], err = r.referred(ctx, &c.Configurations[k], nil); err != nil {
			return err
		}
		if k == 0 || c.Configurations[k].Name == c.Baseline {
			r.opt = r.opts[k]
		}
	}
	return nil
}

// each runs f(0) … f(n-1) on all processors and returns the first error by index.
func each(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	slot := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wg sync.WaitGroup
	for i := range n {
		slot <- struct{}{}
		wg.Go(func() {
			defer func() { <-slot }()
			if errs[i] = ctx.Err(); errs[i] == nil {
				errs[i] = f(i)
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// read reads all surveys and takes their fingerprints.
func (r *runner) read(ctx context.Context) error {
	type job struct {
		cfg    int
		survey Survey
		role   string
	}
	var jobs []job
	n := len(r.c.Configurations)
	r.planes, r.repeats, r.refined = make([][]*wake.Plane, n), make([][][]*wake.Plane, n), make([][][]*wake.Plane, n)
	for k, cfg := range r.c.Configurations {
		for _, list := range []struct {
			role    string
			surveys []Survey
		}{{"survey", cfg.Surveys}, {"repeat", cfg.Repeats}, {"refinement", cfg.Refinements}} {
			for _, v := range list.surveys {
				jobs = append(jobs, job{k, v, list.role})
			}
		}
	}
	planes, inputs, rakes := make([][]*wake.Plane, len(jobs)), make([][]Input, len(jobs)), make([]*rake.Result, len(jobs))
	opts := make([]measure.Options, len(jobs))
	for i, j := range jobs {
		var err error
		if opts[i] = r.opts[j.cfg]; j.survey.Own != nil {
			if opts[i], err = r.referred(ctx, &r.c.Configurations[j.cfg], j.survey.Own); err != nil {
				return err
			}
		}
	}
	err := each(ctx, len(jobs), func(i int) error {
		defer r.step()
		role, name := jobs[i].role, r.c.Configurations[jobs[i].cfg].Name
		v := jobs[i].survey
		var err error
		if inputs[i], err = r.filesOf(v, role, name); err != nil {
			return err
		}
		// The fingerprint and the samples have to be those of the same bytes.
		var paths []string
		for _, in := range inputs[i] {
			paths = append(paths, in.Paths...)
		}
		steady := survey.Steady(paths...)
		for k := range inputs[i] {
			if err := inputs[i][k].fingerprint(); err != nil {
				return err
			}
		}
		switch {
		case v.Snapshots != nil:
			planes[i], err = r.average(ctx, v, opts[i])
		case v.File != "":
			planes[i], err = r.readFile(ctx, v.File, opts[i].Reference.Density)
		default:
			planes[i], rakes[i], err = r.readRake(ctx, v, opts[i].Reference)
		}
		if err != nil {
			return err
		}
		return steady()
	})
	if err != nil {
		return err
	}
	for i, list := range inputs {
		for _, in := range list {
			// One layout serves many logs.
			if in.Role != "layout" || !slices.ContainsFunc(r.out.Inputs, func(o Input) bool { return o.File == in.File }) {
				r.out.Inputs = append(r.out.Inputs, in)
			}
		}
		if rakes[i] != nil {
			r.out.Rakes = append(r.out.Rakes, Rake{r.c.Configurations[jobs[i].cfg].Name, jobs[i].survey.Name(), rakes[i]})
		}
	}
	r.own = map[*wake.Plane]measure.Options{}
	for i, j := range jobs {
		if j.survey.Own != nil {
			for _, p := range planes[i] {
				r.own[p] = opts[i]
			}
		}
		switch j.role {
		case "survey":
			r.planes[j.cfg] = append(r.planes[j.cfg], planes[i]...)
		case "repeat":
			r.repeats[j.cfg] = append(r.repeats[j.cfg], planes[i])
		default:
			r.refined[j.cfg] = append(r.refined[j.cfg], planes[i])
		}
	}
	if err := r.readTares(ctx); err != nil {
		return err
	}
	return r.records()
}

// path is where a file of the study lies.
func (r *runner) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(r.dir, name)
}

// input is the entry of a file.
func (r *runner) input(name, role, configuration string) (Input, error) {
	paths, err := survey.Parts(r.path(name))
	if err != nil {
		return Input{}, err
	}
	in := Input{Role: role, Configuration: configuration, File: name, Paths: paths}
	return in, in.fingerprint()
}

// filesOf are the entries of a survey's files, without their fingerprints.
func (r *runner) filesOf(v Survey, role, configuration string) ([]Input, error) {
	if v.Snapshots != nil {
		return []Input{{Role: role, Configuration: configuration, File: v.Name(), Paths: r.paths(v.Files)}}, nil
	}
	out := []Input{}
	for _, f := range slices.Concat([]string{v.File}, v.Logs, []string{v.Layout}) {
		if f == "" {
			continue
		}
		paths, err := survey.Parts(r.path(f))
		if err != nil {
			return nil, err
		}
		in := Input{Role: role, Configuration: configuration, File: f, Paths: paths}
		if f == v.Layout {
			in.Role, in.Configuration = "layout", ""
		}
		out = append(out, in)
	}
	return out, nil
}

func (r *runner) paths(names []string) []string {
	out := make([]string, len(names))
	for i, f := range names {
		out[i] = r.path(f)
	}
	return out
}

// readFile reads the planes of a file. Results carry the name as the study gives it,
// not where it lay.
func (r *runner) readFile(ctx context.Context, name string, density float64) ([]*wake.Plane, error) {
	read := r.readOpt
	read.Density = density
	return r.planesOf(name, func() (*wake.Samples, error) { return average.Read(ctx, r.path(name), read) })
}

// of are the options that a plane of configuration k is measured with.
func (r *runner) of(k int, p *wake.Plane) measure.Options {
	if opt, ok := r.own[p]; ok {
		return opt
	}
	return r.opts[k]
}

// average makes the mean plane of snapshots, with its blocks.
func (r *runner) average(ctx context.Context, v Survey, of measure.Options) ([]*wake.Plane, error) {
	read, opt := r.readOpt, average.Options{Reference: &of.Reference, Plane: r.planeOpt, Half: of.Half, TimeStep: v.TimeStep}
	read.Density = of.Reference.Density
	return r.planesOf(v.Name(), func() (*wake.Samples, error) {
		return average.Snapshots(ctx, v.Name(), r.paths(v.Files), read, opt)
	})
}

// planesOf makes planes of samples that are named as the study names them.
func (r *runner) planesOf(name string, read func() (*wake.Samples, error)) ([]*wake.Plane, error) {
	s, err := read()
	if err != nil {
		// The reader speaks of the flag, which this command has not.
		var in *wake.InputError
		if errors.As(err, &in) && strings.Contains(in.Cure+in.Text, "--column") {
			in.Cure += "; in a study file: columns = { x = \"NAME\", … } under [measure]"
		}
		return nil, err
	}
	s.File = name
	for w := range s.Warnings {
		s.Warnings[w].Where = name
	}
	return wake.Planes(s, r.planeOpt)
}

// fingerprint takes size and SHA-256 of the files of an input, one after the other.
func (in *Input) fingerprint() error {
	h := sha256.New()
	for _, path := range in.Paths {
		f, err := os.Open(path)
		if err != nil {
			return &wake.InputError{File: path, Text: "cannot be opened: " + wake.Reason(err), Cure: "check the name; it is relative to the study file"}
		}
		if st, err := f.Stat(); err == nil && st.IsDir() {
			f.Close()
			return &wake.InputError{File: path, Text: "is a folder", Cure: "name the files in it"}
		}
		k, err := io.Copy(h, f)
		f.Close()
		if err != nil {
			return &wake.InputError{File: path, Text: "cannot be read: " + wake.Reason(err), Cure: "check the file"}
		}
		in.Bytes += k
	}
	in.SHA256 = hex.EncodeToString(h.Sum(nil))
	return nil
}

func (r *runner) warn(code, where, cure, format string, a ...any) {
	r.out.Warnings = append(r.out.Warnings, wake.Warning{Code: code, Where: where, Text: fmt.Sprintf(format, a...), Cure: cure})
}

// assign gives each plane to the nearest station of its kind within tolerance.
// Without stations in the file, the planes' own positions make them. Those that Only leaves out go
// with their planes.
func (r *runner) assign() error {
	stations := r.c.Stations
	if len(stations) == 0 {
		stations = r.foundStations()
	}
	r.stations = stations
	r.at = make([][]*wake.Plane, len(stations))
	for s := range stations {
		r.at[s] = make([]*wake.Plane, len(r.planes))
	}
	for k, planes := range r.planes {
		name := r.c.Configurations[k].Name
		for _, p := range planes {
			best := -1
			for s, st := range stations {
				if st.Normal != p.Normal.String() || !(math.Abs(p.Position-st.Position) <= tolerance(st)) || !takes(st, p) {
					continue
				}
				if best < 0 || math.Abs(p.Position-st.Position) < math.Abs(p.Position-stations[best].Position) {
					best = s
				}
			}
			switch {
			case best < 0:
				r.warn("no-station", p.Name(), "add a [[station]] or its tolerance", "the plane at %s = %.4g m belongs to no station and is left out", p.Normal, p.Position)
			case r.at[best][k] != nil:
				r.warn("station-taken", p.Name(), "give each plane a station of its own, or list it as a repeat", "configuration %q already has %s at station %q; this plane is left out", name, r.at[best][k].Name(), stations[best].Name)
			default:
				r.at[best][k] = p
			}
		}
	}
	if err := r.keepPart(); err != nil {
		return err
	}
	for s, st := range r.stations {
		o := StationOutcome{Name: st.Name, Normal: st.Normal, Position: st.Position, Missing: []string{}, Variants: []string{}}
		for k, cfg := range r.c.Configurations {
			if r.at[s][k] == nil {
				o.Missing = append(o.Missing, cfg.Name)
			}
		}
		r.out.Stations = append(r.out.Stations, o)
	}
	r.missing()
	return nil
}

// missing warns, once for each configuration, of the stations where it has no plane and the
// baseline has one, and of those where the baseline has none.
func (r *runner) missing() {
	for _, cfg := range r.c.Configurations {
		var at []string
		for _, st := range r.out.Stations {
			if slices.Contains(st.Missing, cfg.Name) && (cfg.Name == r.c.Baseline || !slices.Contains(st.Missing, r.c.Baseline)) {
				at = append(at, st.Name)
			}
		}
		switch {
		case at == nil:
		case cfg.Name == r.c.Baseline:
			r.warn("missing-station", cfg.Name, "add the survey to the baseline", "the baseline %s has no plane at %s: nothing is compared there", cfg.Name, strings.Join(at, ", "))
		default:
			r.warn("missing-station", cfg.Name, "add the survey to the configuration", "%s has no plane at %s, where the baseline has one", cfg.Name, strings.Join(at, ", "))
		}
	}
}

// reached refuses a study in which no plane lies at any station, or of which the station to
// quote is none.
func (r *runner) reached() error {
	var planes, places, names []string
	for s, st := range r.stations {
		for _, p := range r.at[s] {
			if p != nil {
				planes = append(planes, p.Name())
			}
		}
		places = append(places, fmt.Sprintf("%s = %.4g m", st.Normal, st.Position))
		names = append(names, st.Name)
	}
	if q := r.c.Quote; q != "" && !slices.Contains(names, q) {
		return &wake.InputError{File: r.c.File, Text: fmt.Sprintf("quote is %s, which is no station", quote(q)), Cure: "one of " + strings.Join(names, ", ") + " is expected"}
	}
	if len(planes) > 0 {
		return nil
	}
	var lie []string
	for _, list := range r.planes {
		for _, p := range list {
			if at := fmt.Sprintf("%s = %.4g m", p.Normal, p.Position); !slices.Contains(lie, at) {
				lie = append(lie, at)
			}
		}
	}
	return &wake.InputError{
		File: r.c.File, Text: fmt.Sprintf("no plane lies at a station: the planes are at %s, the stations at %s", strings.Join(lie, ", "), strings.Join(places, ", ")),
		Cure: "correct the positions, or leave the stations out and the planes make them",
	}
}

func tolerance(st Station) float64 {
	if st.Tolerance != nil {
		return *st.Tolerance
	}
	return defaultTolerance
}

// takes reports whether the station's pattern lets the plane's file in.
func takes(st Station, p *wake.Plane) bool {
	if st.Files == "" {
		return true
	}
	ok, err := filepath.Match(st.Files, filepath.Base(p.File))
	return ok && err == nil
}

// foundStations makes a station of each place where planes lie.
func (r *runner) foundStations() []Station {
	var out []Station
	for _, planes := range r.planes {
		for _, p := range planes {
			known := slices.ContainsFunc(out, func(s Station) bool {
				return s.Normal == p.Normal.String() && math.Abs(s.Position-p.Position) <= defaultTolerance
			})
			if !known {
				out = append(out, Station{Name: fmt.Sprintf("%s = %.2f m", p.Normal, p.Position), Normal: p.Normal.String(), Position: p.Position})
			}
		}
	}
	slices.SortFunc(out, func(a, b Station) int {
		if a.Normal != b.Normal {
			if a.Normal < b.Normal {
				return -1
			}
			return 1
		}
		if a.Position < b.Position {
			return -1
		}
		return 1
	})
	return out
}

// measure measures and compares at every station.
func (r *runner) measure(ctx context.Context) error {
	base := slices.IndexFunc(r.c.Configurations, func(c Configuration) bool { return c.Name == r.c.Baseline })
	r.fields, r.found = make([]Fields, len(r.at)), make([]found, len(r.at))
	find, moves := r.parts()
	return each(ctx, len(r.at), func(s int) error {
		defer r.step()
		o, f := &r.out.Stations[s], &r.fields[s]
		all := compare.Options{Measure: r.opt, Count: r.c.Reference.Count, Structures: find, Moves: moves, TimeAverage: r.timeAverage()}
		repeats, err := r.repeated(s, &all)
		if err != nil {
			return err
		}
		if err := r.refinements(s); err != nil {
			return err
		}
		r.found[s] = found{map[string]*parts.Set{}, map[string]*parts.TopView{}}
		var group []*wake.Plane
		var known []*compare.Known
		var first *compare.Known
		// Of the planes that are compared, the baseline's first.
		each, force, runs := make([]measure.Options, 1), []*uncertainty.Item{nil}, [][]*compare.Known{nil}
		for k, p := range r.at[s] {
			if p == nil {
				continue
			}
			own := r.of(k, p)
			own.Uncertainty.Repeat, own.Uncertainty.RepeatDOF = all.Measure.Uncertainty.Repeat, all.Measure.Uncertainty.RepeatDOF
			m, err := r.take(s, k, p, own)
			if err != nil {
				return err
			}
			one := &compare.Known{Measurement: m}
			if find != nil {
				if one.Set, one.View, err = parts.Survey(m, *find); err != nil {
					return err
				}
				name := r.c.Configurations[k].Name
				r.found[s].sets[name], r.found[s].views[name] = one.Set, one.View
			}
			if len(r.tares[k]) > 0 {
				// Less the empty section, which a comparison leaves in.
				one = nil
			}
			f.Single = append(f.Single, m)
			o.Surveys = append(o.Surveys, StationSurvey{Configuration: r.c.Configurations[k].Name, Result: m.Result, Profiles: m.Profiles(profileStrips), Extent: m.Extent()})
			if k == base {
				first, each[0], force[0], runs[0] = one, own, r.out.Configurations[k].Force.scatter(), repeats[k]
			} else {
				group, known = append(group, p), append(known, one)
				each, force, runs = append(each, own), append(force, r.out.Configurations[k].Force.scatter()), append(runs, repeats[k])
				o.Variants = append(o.Variants, r.c.Configurations[k].Name)
			}
		}
		if base < 0 || r.at[s][base] == nil || len(group) == 0 {
			o.Variants = []string{}
			return nil
		}
		group = append([]*wake.Plane{r.at[s][base]}, group...)
		all.Known, all.Names = append([]*compare.Known{first}, known...), append([]string{r.c.Baseline}, o.Variants...)
		all.Each, all.Force, all.Repeats = each, force, runs
		cmp, pair, err := compare.Compare(group, all)
		if err != nil {
			return err
		}
		r.found[s].keep(all.Names, pair)
		o.Comparison, f.Compared = cmp, pair.Measurements
		r.against(s)
		return nil
	})
}

// StudyInput is the entry of the study file itself.
func StudyInput(name string, data []byte) Input {
	h := sha256.Sum256(data)
	return Input{Role: "study", File: name, Bytes: int64(len(data)), SHA256: hex.EncodeToString(h[:])}
}
