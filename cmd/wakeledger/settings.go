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
	"wakeledger/wake/study"
	"wakeledger/wake/survey/settings"
)

// stated are the settings that the flags of a command state of its files.
type stated struct {
	study.Settings
	file  settings.File
	flags []*settings.Flag
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
			return &usageError{fmt.Sprintf("--%s is given %s, for %s", g.Name, wake.Plural(k, "time"), wake.Plural(n, "file")), "give it once for all, or once for each in their order"}
		}
	}
	s.Check(&s.file)
	return s.file.Err()
}

// own is the stream that is stated for file k; nil where all files share one.
func (s *stated) own(k int) (stream *study.Stream) {
	out := s.Settings
	for _, g := range s.flags {
		if g.Is("each") && len(g.Texts) > 1 {
			_ = g.On(&out, g.Texts[k], false) // its error came when the flag was set
			stream = &out.Reference.Stream
		}
	}
	return stream
}

// study is what the flags state of files whose planes stand to each other in a way, and how maps
// are drawn.
func (s *stated) study(files []string, planes study.Arrangement) (*study.Config, atlas.Options, error) {
	if err := s.check(len(files)); err != nil {
		return nil, atlas.Options{}, err
	}
	c := &study.Config{Settings: s.Settings, Planes: planes}
	for k, v := range surveys(files) {
		c.Configurations = append(c.Configurations, study.Configuration{Name: v.File, Surveys: []study.Survey{v}, Own: s.own(k)})
	}
	maps, _, err := drawing(&s.Maps, "")
	return c, maps, err
}

func surveys(files []string) (out []study.Survey) {
	for _, name := range files {
		out = append(out, study.Survey{File: name})
	}
	return out
}

// run carries out a study, with its progress.
func (e *env) run(ctx context.Context, c *study.Config, dir string) (*study.Outcome, []study.Fields, error) {
	var files []string
	for _, g := range c.Configurations {
		for _, v := range g.Surveys {
			files = append(files, v.File)
		}
	}
	if c.Planes != study.AtStations {
		hugePages(files)
	}
	p := e.progress("study", study.Steps(c))
	defer p.done()
	outcome, fields, err := study.Run(ctx, c, dir, func(stage string, samples int) {
		lean(samples)
		e.clock.lap(stage)
		if stage != "read" {
			p.step()
		}
	})
	if err == nil {
		for _, in := range outcome.Inputs {
			e.reads(in.Paths...)
		}
		if c.Maps.Silhouette != "" {
			e.reads(study.InFolder(dir, c.Maps.Silhouette))
		}
	}
	return outcome, fields, err
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
