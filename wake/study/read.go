package study

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/rake"
	"wakeledger/wake/survey/settings"
)

// reading is one survey that is read: its planes, the files that they are of, and the
// rake's corrections where it is of one.
type reading struct {
	cfg    int
	survey Survey
	role   string
	opt    measure.Options
	planes []*wake.Plane
	rake   *rake.Result
}

// read reads all surveys.
func (r *runner) read(ctx context.Context) error {
	n := len(r.c.Configurations)
	r.planes, r.repeats, r.refined = make([][]*wake.Plane, n), make([][][]*wake.Plane, n), make([][][]*wake.Plane, n)
	all, err := r.readings(ctx)
	if err != nil {
		return err
	}
	for _, g := range all {
		if err := r.enterSurvey(g); err != nil {
			return err
		}
	}
	if err := grid.Each(ctx, len(all), func(i int) error { return all[i].read(ctx, r) }); err != nil {
		return err
	}
	r.by = map[*wake.Plane]measure.Options{}
	for _, g := range all {
		if g.rake != nil {
			r.out.Rakes = append(r.out.Rakes, Rake{r.c.Configurations[g.cfg].Name, g.survey.Name(), g.rake})
		}
		for _, p := range g.planes {
			r.by[p] = g.opt
		}
		switch g.role {
		case "survey":
			r.planes[g.cfg] = append(r.planes[g.cfg], g.planes...)
		case "repeat":
			r.repeats[g.cfg] = append(r.repeats[g.cfg], g.planes)
		default:
			r.refined[g.cfg] = append(r.refined[g.cfg], g.planes)
		}
	}
	r.withoutCopies()
	if err := r.readTares(ctx); err != nil {
		return err
	}
	return r.records()
}

// readings are the surveys of all configurations, each with what it is measured with.
func (r *runner) readings(ctx context.Context) (all []reading, err error) {
	taken := map[string]string{} // what a file is, by where it lies
	for k, cfg := range r.c.Configurations {
		for _, list := range []struct {
			role    string
			surveys []Survey
		}{{"survey", cfg.Surveys}, {"repeat", cfg.Repeats}, {"refinement", cfg.Refinements}} {
			for _, v := range list.surveys {
				g := reading{cfg: k, survey: v, role: list.role, opt: r.opts[k]}
				if v.Own != nil {
					if g.opt, err = r.referred(ctx, &r.c.Configurations[k], v.Own); err != nil {
						return nil, err
					}
				}
				is, at := fmt.Sprintf("a %s of %q", g.role, cfg.Name), r.path(v.Name())
				if was := taken[at]; was != "" && r.c.Planes == AtStations && g.role != "repeat" {
					r.warn("same-file", r.c.File, "one file has no difference; check the names", "%s, %s, is also %s", settings.Quote(v.Name()), is, was)
				}
				taken[at] = cmp.Or(taken[at], is)
				all = append(all, g)
			}
		}
	}
	return all, nil
}

// read reads the survey.
func (g *reading) read(ctx context.Context, r *runner) (err error) {
	switch v := g.survey; {
	case v.Snapshots != nil:
		g.planes, err = r.average(ctx, v, g.opt)
	case v.File != "":
		g.planes, err = r.readFile(ctx, v.File, r.readOpt, g.opt.Reference.Density)
	default:
		g.planes, g.rake, err = r.readRake(ctx, v, g.opt.Reference)
	}
	r.did("mesh", 0)
	return err
}

// path is where a file of the study lies.
func (r *runner) path(name string) string { return InFolder(r.dir, name) }

// InFolder is a file that is named relative to a folder.
func InFolder(dir, name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(dir, name)
}

// enter enters files among the inputs, each once for a configuration.
func (r *runner) enter(role, configuration string, names ...string) error {
	for _, name := range names {
		paths, err := survey.Parts(r.path(name))
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(r.out.Inputs, func(o Input) bool { return o.Role == role && o.Configuration == configuration && o.File == name }) {
			r.add(role, configuration, name, paths)
		}
	}
	return nil
}

// add enters the files behind a name, before they are read.
func (r *runner) add(role, configuration, name string, paths []string) {
	r.out.Inputs = append(r.out.Inputs, Input{Role: role, Configuration: configuration, File: name, Paths: paths, same: survey.Steady(paths...)})
}

// fingerprint takes size and SHA-256 of the files of an input, one after the other, which have to be as they were
// read. Of what is no file, a pipe, there is none: it cannot be read twice.
func (in *Input) fingerprint(ctx context.Context) error {
	h := sha256.New()
	for _, path := range in.Paths {
		if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
			return nil
		}
		f, err := os.Open(path)
		for err == nil {
			var n int64
			if n, err = io.CopyN(h, f, 64<<20); err == nil {
				err = ctx.Err()
			}
			in.Bytes += n
		}
		f.Close()
		if err != io.EOF {
			return cmp.Or(ctx.Err(), in.same(), err)
		}
	}
	in.SHA256 = fmt.Sprintf("%x", h.Sum(nil))
	return in.same()
}

// enterSurvey enters the files of a survey.
func (r *runner) enterSurvey(g reading) error {
	v, of := g.survey, r.c.Configurations[g.cfg].Name
	switch {
	case v.Snapshots != nil:
		r.add(g.role, of, v.Name(), r.paths(v.Files))
		return nil
	case v.File != "":
		return r.enter(g.role, of, v.File)
	}
	return cmp.Or(r.enter(g.role, of, v.Logs...), r.enter("layout", "", v.Layout))
}

func (r *runner) paths(names []string) []string {
	return grid.Fill(len(names), func(i int) string { return r.path(names[i]) })
}

// readFile reads the planes of a file. Results carry the name as the study gives it,
// not where it lay.
func (r *runner) readFile(ctx context.Context, name string, read survey.Options, density float64) ([]*wake.Plane, error) {
	if r.c.Planes == AtStations {
		read.Density = density
	}
	return r.planesOf(name, func() (*wake.Samples, error) { return average.Read(ctx, r.path(name), read) })
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
	switch in, ok := errors.AsType[*wake.InputError](err); {
	case r.c.Planes != AtStations:
	case ok && strings.Contains(in.Cure+in.Text, "--column"):
		// The reader speaks of the flag, which this command has not.
		in.Cure += "; in a study file: columns = { x = \"NAME\", … } under [measure]"
	case err == nil:
		s.File = name
		for w := range s.Warnings {
			s.Warnings[w].Where = name
		}
	}
	if err != nil {
		return nil, err
	}
	r.did("read", s.N)
	return wake.Planes(s, r.planeOpt)
}
