package study

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/rake"
)

// reading is one survey that is read: its planes, the files that they are of, and the
// rake's corrections where it is of one.
type reading struct {
	cfg    int
	survey Survey
	role   string
	opt    measure.Options
	planes []*wake.Plane
	inputs []Input
	rake   *rake.Result
}

// read reads all surveys and takes their fingerprints.
func (r *runner) read(ctx context.Context) error {
	n := len(r.c.Configurations)
	r.planes, r.repeats, r.refined = make([][]*wake.Plane, n), make([][][]*wake.Plane, n), make([][][]*wake.Plane, n)
	all, err := r.readings(ctx)
	if err != nil {
		return err
	}
	if err := each(ctx, len(all), func(i int) error { return all[i].read(ctx, r) }); err != nil {
		return err
	}
	r.own = map[*wake.Plane]measure.Options{}
	for _, g := range all {
		for _, in := range g.inputs {
			// One layout serves many logs.
			if in.Role != "layout" || !slices.ContainsFunc(r.out.Inputs, func(o Input) bool { return o.File == in.File }) {
				r.out.Inputs = append(r.out.Inputs, in)
			}
		}
		if g.rake != nil {
			r.out.Rakes = append(r.out.Rakes, Rake{r.c.Configurations[g.cfg].Name, g.survey.Name(), g.rake})
		}
		if g.survey.Own != nil {
			for _, p := range g.planes {
				r.own[p] = g.opt
			}
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
	if err := r.readTares(ctx); err != nil {
		return err
	}
	return r.records()
}

// readings are the surveys of all configurations, each with what it is measured with.
func (r *runner) readings(ctx context.Context) (all []reading, err error) {
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
				all = append(all, g)
			}
		}
	}
	return all, nil
}

// read reads the survey.
func (g *reading) read(ctx context.Context, r *runner) (err error) {
	v := g.survey
	if g.inputs, err = r.filesOf(v, g.role, r.c.Configurations[g.cfg].Name); err != nil {
		return err
	}
	// The fingerprint and the samples have to be those of the same bytes.
	var paths []string
	for _, in := range g.inputs {
		paths = append(paths, in.Paths...)
	}
	steady := survey.Steady(paths...)
	for k := range g.inputs {
		if err := r.fingerprint(&g.inputs[k]); err != nil {
			return err
		}
	}
	switch {
	case v.Snapshots != nil:
		g.planes, err = r.average(ctx, v, g.opt)
	case v.File != "":
		g.planes, err = r.readFile(ctx, v.File, g.opt.Reference.Density)
	default:
		g.planes, g.rake, err = r.readRake(ctx, v, g.opt.Reference)
	}
	if err != nil {
		return err
	}
	r.did("mesh", 0)
	return steady()
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

// input is the entry of a file, without its fingerprint.
func (r *runner) input(name, role, configuration string) (Input, error) {
	paths, err := survey.Parts(r.path(name))
	return Input{Role: role, Configuration: configuration, File: name, Paths: paths}, err
}

// enter enters a file among the inputs.
func (r *runner) enter(name, role, configuration string) error {
	in, err := r.input(name, role, configuration)
	if err == nil {
		err = r.fingerprint(&in)
	}
	r.out.Inputs = append(r.out.Inputs, in)
	return err
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
		in, err := r.input(f, role, configuration)
		if err != nil {
			return nil, err
		}
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
	if r.c.Planes == AtStations {
		read.Density = density
	}
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
	var in *wake.InputError
	switch {
	case r.c.Planes != AtStations:
	case errors.As(err, &in) && strings.Contains(in.Cure+in.Text, "--column"):
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

// fingerprint takes size and SHA-256 of the files of an input, one after the other. The results of
// single planes do not state them.
func (r *runner) fingerprint(in *Input) error {
	if r.c.Planes != AtStations {
		return nil
	}
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
