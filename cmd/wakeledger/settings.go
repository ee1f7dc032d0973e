package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"os"
	"slices"

	"github.com/spf13/pflag"

	"wakeledger/render"
	"wakeledger/render/atlas"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/survey/settings"
)

// stated are the settings that the flags of a command state of its files.
type stated struct {
	study.Settings
	file  settings.File
	flags []*settings.Flag
	maps  atlas.Options
}

// addSettings makes the flags that a command wants.
func addSettings(fs *pflag.FlagSet, want func(*settings.Flag) bool) *stated {
	s := &stated{}
	s.flags = addFlags(fs, &s.file, &s.Settings, want)
	return s
}

func addFlags(fs *pflag.FlagSet, file *settings.File, to any, want func(*settings.Flag) bool) (out []*settings.Flag) {
	for _, g := range file.Flags(to) {
		if !want(g) {
			continue
		}
		out = append(out, g)
		f := fs.VarPF(g, g.Name, "", g.Usage)
		if g.Type() == "bool" {
			f.NoOptDefVal = "true"
		}
		if g.Is(seldom) {
			f.Annotations = map[string][]string{seldom: nil}
		}
	}
	return out
}

// reading are the flags that reading alone needs, and those named.
func reading(names ...string) func(*settings.Flag) bool {
	return func(g *settings.Flag) bool { return g.Is("read") || slices.Contains(names, g.Name) }
}

// check refuses what the flags state to no use, and those that are given neither once nor
// once for each of n files, before a file is read.
func (s *stated) check(n int) error {
	for _, g := range s.flags {
		if k := len(g.Texts); g.Is("each") && k > 1 && k != n {
			return &usageError{fmt.Sprintf("--%s is given %d times, files: %d", g.Name, k, n), "give it once for all, or once for each in their order"}
		}
	}
	s.Check(&s.file)
	return s.file.Err()
}

// own reports whether files have references of their own.
func (s *stated) own() bool {
	return slices.ContainsFunc(s.flags, func(g *settings.Flag) bool { return g.Is("each") && len(g.Texts) > 1 })
}

// of is the stream that is stated for file k.
func (s *stated) of(k int) study.Stream {
	out := s.Settings
	for _, g := range s.flags {
		if g.Is("each") && len(g.Texts) > 1 {
			_ = g.On(&out, g.Texts[k], false) // its error came when the flag was set
		}
	}
	return out.Reference.Stream
}

// missing says why a number of the reference is needed.
var missing = map[string]string{
	"speed":    "it is the speed far upstream, as in --speed \"25 m/s\"",
	"density":  "pressures and a reference plane need it, as in --density 1.2",
	"pressure": "it is the static pressure far upstream on the file's scale, as in --pressure 0 for gauge values",
}

// options gives the options of measuring file k, but for what a plane tells of its reference.
// pressure says whether any plane holds a pressure.
func (s *stated) options(k int, pressure bool) (measure.Options, error) {
	opt, stream := s.Options(), s.of(k)
	if key := stream.Into(&opt.Reference, pressure); key != "" {
		return opt, &usageError{"--" + key + " is missing: " + missing[key], "the reference is never guessed"}
	}
	s.Uncertainty.Into(&opt)
	return opt, nil
}

// ready finds the faults of a call that measures files and draws maps, before a file is read.
func (s *stated) ready(e *env, files []string) error {
	if err := s.check(len(files)); err != nil {
		return err
	}
	for k := range files {
		if _, err := s.options(k, false); err != nil {
			return err
		}
	}
	if s.Maps.Silhouette != "" {
		e.reads(s.Maps.Silhouette)
	}
	var err error
	s.maps, _, err = drawing(&s.Maps, "")
	return err
}

// read reads the planes, and settles how each is measured.
func (s *stated) read(ctx context.Context, e *env, files []string) (planes []*wake.Plane, opts []measure.Options, err error) {
	each, err := e.loadEach(ctx, files, s)
	if err != nil {
		return nil, nil, err
	}
	var opt measure.Options
	for k, of := range each {
		if own := s.own(); own || k == 0 {
			// What one file holds is asked of all that share a reference.
			all := of
			if !own {
				all = slices.Concat(each...)
			}
			if opt, err = s.options(k, slices.ContainsFunc(all, func(p *wake.Plane) bool {
				return p.Has(wake.P) || p.Has(wake.Pt) || p.Has(wake.Cp) || p.Has(wake.Cpt)
			})); err != nil {
				return nil, nil, err
			}
			if file := s.of(k).Plane; file != "" {
				if err := e.referred(ctx, &opt, file, s); err != nil {
					return nil, nil, err
				}
			}
			if own {
				opt.OwnReference()
			}
		}
		for _, p := range of {
			planes, opts = append(planes, p), append(opts, opt)
		}
	}
	return planes, opts, nil
}

// referred takes the reference from the plane of a file.
func (e *env) referred(ctx context.Context, opt *measure.Options, file string, s *stated) error {
	planes, err := e.load(ctx, []string{file}, s)
	if err != nil {
		return err
	}
	if len(planes) != 1 {
		return &wake.InputError{File: file, Text: fmt.Sprintf("%d planes, the reference is one", len(planes)), Cure: "give a file with one plane"}
	}
	if err := opt.ReferenceFrom(planes[0], file); err != nil {
		return err
	}
	s.Uncertainty.Into(opt)
	return nil
}

// drawing are the options of pictures, with the silhouette's file, which is named relative to
// a folder.
func drawing(m *study.Maps, dir string) (opt atlas.Options, outline []byte, err error) {
	px, dpi, _ := m.Pixels() // which Check has looked at
	opt = atlas.Options{
		Quantities: m.Quantities, Levels: m.Levels, Limits: m.Limits, ChangeLimits: m.ChangeLimits,
		Size: image.Pt(px[0], px[1]), DPI: dpi, Vectors: m.Vectors, Single: m.Single, Window: map[string][2]float64{}, WholeWindow: m.Window.Whole,
	}
	if slices.Equal(m.Quantities, []string{"none"}) {
		opt.Quantities = []string{} // nil would mean those that are drawn by default
	}
	if m.Theme == "dark" {
		opt.Theme = render.Dark
	}
	for axis, limits := range map[string]*[2]float64{"x": m.Window.X, "y": m.Window.Y, "z": m.Window.Z} {
		if limits != nil {
			opt.Window[axis] = *limits
		}
	}
	if err := opt.Check(); err != nil {
		return opt, nil, &wake.InputError{Text: err.Error(), Cure: "correct the maps, their limits or levels"}
	}
	if m.Silhouette == "" {
		return opt, nil, nil
	}
	if outline, err = os.ReadFile(study.InFolder(dir, m.Silhouette)); err != nil {
		return opt, nil, &wake.InputError{File: m.Silhouette, Text: "the silhouette cannot be read", Cure: "check the name"}
	}
	opt.Silhouette, err = atlas.ReadSilhouette(m.Silhouette, bytes.NewReader(outline))
	return opt, outline, err
}
