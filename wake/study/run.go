package study

import (
	"context"
	"errors"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/survey"
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
// the folder that file names are relative to; did, if not nil, is called after
// each stage of a piece of work (read, mesh, measure) with the samples that it was of, 0 where
// they were counted before. Work is spread over all processors and the
// outcome does not depend on their number. Wildcards in c are expanded (Expand).
//
// A configuration without a plane at a station is a warning. Errors are those of
// reading (*wake.InputError), or ctx's.
func Run(ctx context.Context, c *Config, dir string, did func(stage string, samples int)) (*Outcome, []Fields, error) {
	if did == nil {
		did = func(string, int) {}
	}
	if err := c.Expand(dir); err != nil {
		return nil, nil, err
	}
	r := &runner{c: c, dir: dir, did: did, out: &Outcome{Title: c.Title, Baseline: c.Baseline, Count: c.Reference.Count}}
	for _, cfg := range c.Configurations {
		r.out.Configurations = append(r.out.Configurations, ConfigurationOutcome{Name: cfg.Name, Note: cfg.Note})
	}
	for _, stage := range []func(context.Context) error{r.options, r.read, r.assign, r.measure, r.follow} {
		if err := stage(ctx); err != nil {
			if in, ok := errors.AsType[*wake.InputError](err); ok && c.Planes == AtStations && strings.HasPrefix(in.Text, "cannot be opened") {
				in.Cure = "check the name, which is relative to the study file, and the permissions"
			}
			return nil, nil, err
		}
	}
	r.headline()
	r.forces()
	r.pool()
	return r.out, r.fields, nil
}

// Steps is how many surveys Run meshes and stations it measures.
func Steps(c *Config) int {
	n := map[Arrangement]int{AtStations: len(c.Stations), Apart: len(c.Configurations), Together: 1}[c.Planes]
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
	c   *Config
	dir string
	did func(stage string, samples int)
	out *Outcome
	// base are the options without a reference, opts those of each configuration, opt those of the
	// baseline, and by those that each plane is measured with.
	base, opt measure.Options
	opts      []measure.Options
	by        map[*wake.Plane]measure.Options
	// referencePlanes are those that references come from, by name.
	referencePlanes map[string]*wake.Plane
	readOpt         survey.Options
	planeOpt        wake.PlaneOptions
	// planes[k] are those of configuration k.
	planes [][]*wake.Plane
	// repeats and refined are by configuration and file.
	repeats, refined [][][]*wake.Plane
	stations         []Station
	tares            []*wake.Plane // of the empty section
	// at[s][k] is the plane of configuration k at station s, or nil.
	at     [][]*wake.Plane
	fields []Fields
	// found are the structures of each station by configuration, of the common samples where there
	// is a comparison.
	found []map[string]*parts.Set
}

// options turns the study's words into those of the stages.
func (r *runner) options(ctx context.Context) error {
	c := r.c
	var err error
	by := "study"
	if c.Planes != AtStations {
		by = "flag"
	}
	r.base, r.readOpt, r.planeOpt = c.Options(), c.Read(by), c.Plane(by)
	if st := c.Stations; len(st) > 0 && !slices.ContainsFunc(st, func(s Station) bool { return s.Normal != st[0].Normal }) {
		r.planeOpt.Normal, r.planeOpt.NormalBy = wake.Axis(strings.Index("xyz", st[0].Normal)), "study"
	}
	r.planeOpt.Release = true
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

func (r *runner) warn(code, where, cure, format string, a ...any) {
	r.out.Warnings = append(r.out.Warnings, wake.Doubt(code, where, cure, format, a...))
}

// measure measures and compares at every station, that with most samples first: the last one is then
// short. Before these it takes the fingerprints of what was read, which memory may still hold.
func (r *runner) measure(ctx context.Context) error {
	r.fields, r.found = make([]Fields, len(r.at)), make([]map[string]*parts.Set, len(r.at))
	samples, order := make([]int, len(r.at)), make([]int, len(r.at))
	for s, planes := range r.at {
		order[s] = s
		for _, p := range planes {
			if p != nil {
				samples[s] += p.Samples
			}
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return samples[b] - samples[a] })
	inputs := r.out.Inputs
	if r.c.Planes != AtStations { // the results of single planes do not list them
		inputs = nil
	}
	return grid.Each(ctx, len(inputs)+len(order), func(i int) error {
		if i < len(inputs) {
			return inputs[i].fingerprint(ctx)
		}
		defer r.did("measure", 0)
		return r.measureAt(order[i-len(inputs)])
	})
}

// measureAt measures and compares at station s.
func (r *runner) measureAt(s int) error {
	o, f := &r.out.Stations[s], &r.fields[s]
	all := compare.Options{Measure: r.opt, Count: r.c.Reference.Count}
	all.Structures, all.Moves = r.c.Parts()
	repeats, err := r.repeated(s, &all)
	if err != nil {
		return err
	}
	if err := r.refinements(s); err != nil {
		return err
	}
	r.found[s] = map[string]*parts.Set{}
	var group []*compare.Survey // the baseline first
	for k, p := range r.at[s] {
		if p == nil {
			continue
		}
		m, own, err := r.survey(s, p, all)
		if err != nil {
			return err
		}
		own.Name, own.Repeats = r.c.Configurations[k].Name, repeats[k]
		own.Force = r.out.Configurations[k].Force.scatter(own)
		r.found[s][own.Name] = own.Set
		f.Single = append(f.Single, m)
		of := StationSurvey{Configuration: own.Name, Result: m.Result}
		if r.c.Planes == AtStations {
			of.Profiles, of.Extent = m.Profiles(profileStrips), m.Extent()
		}
		o.Surveys = append(o.Surveys, of)
		at := len(group)
		if own.Name == r.c.Baseline {
			at = 0
		} else {
			o.Variants = append(o.Variants, own.Name)
		}
		group = slices.Insert(group, at, own)
	}
	if len(o.Variants) == 0 || len(group) == len(o.Variants) {
		o.Variants = []string{}
		return nil
	}
	c, pair, err := compare.Compare(group, all)
	if err != nil {
		return err
	}
	for k, set := range pair.Sets {
		if set != nil {
			r.found[s][group[k].Name] = set
		}
	}
	o.Comparison, f.Compared = c, pair.Measurements
	r.against(s)
	return nil
}

// survey measures a plane of station s, and makes of it what a comparison takes.
func (r *runner) survey(s int, p *wake.Plane, all compare.Options) (*measure.Measurement, *compare.Survey, error) {
	opt := r.by[p]
	opt.Uncertainty.Repeat, opt.Uncertainty.RepeatDOF = all.Measure.Uncertainty.Repeat, all.Measure.Uncertainty.RepeatDOF
	m, err := r.take(s, p, opt)
	if err != nil {
		return nil, nil, err
	}
	whole := m
	if len(r.tares) > 0 { // one less the empty section is not what a comparison takes
		if whole, err = measure.Take(p, opt); err != nil {
			return nil, nil, err
		}
	}
	own, err := compare.NewSurvey(whole, opt, all)
	return m, own, err
}
