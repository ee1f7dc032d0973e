package study

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey/settings"
)

// Config is a study file in SI units, checked. A pointer is nil, and a list or
// word empty, where the file says nothing.
type Config struct {
	// File is the name of the study file, for messages.
	File  string
	Title string `toml:"title"`
	// Baseline is the name of one of the configurations.
	Baseline string `toml:"baseline"`
	// Quote is the station whose drag is quoted first; empty leaves it to the study.
	Quote string `toml:"quote"`
	Settings
	// Stations is empty when the planes' own positions are to make them.
	Stations       []Station       `toml:"station"`
	Configurations []Configuration `toml:"configuration"`
	// Part is what Only keeps, nil for all.
	Part *Part
	// Planes is AtStations but where a command states the files and the settings.
	Planes Arrangement
}

// Arrangement says where planes belong: AtStations by their positions, those of a study file.
// Else each plane is a configuration of its own, Apart at a station of its own, or Together at
// the station of the first, which is the baseline.
type Arrangement int

const (
	AtStations Arrangement = iota
	Apart
	Together
)

// Station is a place where planes are expected.
type Station struct {
	Name string `toml:"name" need:"add name = \"…\""`
	// Normal is x, y or z, Position the coordinate along it, m.
	Normal   string  `toml:"normal" is:"x|y|z" or:"x"`
	Position float64 `toml:"position" is:"length" or:"nan" need:"add position = \"-0.58 m\""`
	// Tolerance is how far a plane may lie from Position, m.
	Tolerance float64 `toml:"tolerance" is:"length>=0" or:"0.02"`
	// Files, if not empty, is a pattern for the base names of the files whose planes the
	// station takes, with * and ? as in a shell: it tells apart stations at one place, such as a
	// window and the whole section.
	Files string `toml:"files"`
}

// Configuration is one state of the vehicle.
type Configuration struct {
	Name    string   `toml:"name" need:"add name = \"…\""`
	Note    string   `toml:"note"`
	Surveys []Survey `toml:"surveys"`
	Force   *Force   `toml:"force" label:"the force"`
	Repeats []Survey `toml:"repeats"`
	// Refinements are surveys of the configuration on refined meshes, the coarsest first.
	Refinements []Survey `toml:"refinements"`
	// Snapshots make one more of Surveys.
	Snapshots []string `toml:"snapshots" is:"files"`
	TimeStep  float64  `toml:"time_step" is:"time>0"`
	// Steady declares that its planes are of a steady solution.
	Steady bool `toml:"steady"`
	// Own is its own reference in place of the study's, nil for none: what is not stated there
	// stays as it is in the study's.
	Own *Stream `toml:"reference" label:"the reference of a configuration or survey"`
}

// Survey is a survey by its files, named as written: File; Snapshots, TimeStep apart (s,
// 0 for unknown), that are averaged to one plane; or the Logs of a rake's traverse with their Layout.
type Survey struct {
	File   string   `toml:"file"`
	Logs   []string `toml:"rake" is:"files"`
	Layout string   `toml:"layout"`
	// Own is its own reference in place of the configuration's, nil for none.
	Own *Stream `toml:"reference" label:"the reference of a configuration or survey"`

	// Snapshots are those of the configuration, Files what their wildcards name, once Expand has
	// looked.
	Snapshots, Files []string
	TimeStep         float64
}

// Name is the file, or the snapshots or logs joined by plus signs.
func (s Survey) Name() string {
	if s.Snapshots != nil {
		return strings.Join(s.Snapshots, "+")
	}
	return cmp.Or(s.File, strings.Join(s.Logs, "+"))
}

// Force is a drag area known from elsewhere, m², with its standard uncertainty.
type Force struct {
	DragArea            *float64 `toml:"drag_area" is:"area"`
	StandardUncertainty *float64 `toml:"standard_uncertainty" is:"area>=0"`
	// Records, if not nil, are files with the force over time of one run, which DragArea and
	// its uncertainty are taken from; Start leaves out what comes before, s, and Parts groups
	// their columns by names. Repeats are records of further runs of the configuration, one file
	// each.
	Records []string            `toml:"record" is:"files"`
	Repeats []string            `toml:"repeats" is:"files"`
	Start   *float64            `toml:"start" is:"time>=0"`
	Parts   map[string][]string `toml:"parts" is:"files" entry:"wheels = [\"front wheels\", \"rear wheels\"]"`
}

// maxFile is far above any study file, 4 MiB; it keeps a wrong file (a slice
// given for a study) from being taken apart as one.
const maxFile = 4 << 20

// Parse reads a study file.
//
// The text is TOML 1.0, with or without a byte-order mark. It is read strictly:
// a key that is not known, a value of the wrong type, a number that is not
// finite, an empty or repeated name, a reversed box are refused. A physical value
// is a plain number in SI or a text with its unit ("90 km/h", "2.303 m2").
//
// All problems that can be found are reported at once, in the order of the file:
// the error joins (errors.Join) one *wake.InputError for each, with line and byte
// column counted after a byte-order mark. A text that is not TOML gives just one.
func Parse(name string, data []byte) (*Config, error) {
	f, root, err := settings.Parse(name, data, maxFile, "a study file lists surveys and settings; the surveys stay in files of their own", "the study file has to be TOML 1.0")
	if err != nil {
		return nil, err
	}
	c := &Config{File: name}
	f.Bind(root, c)
	c.Check(f)
	c.stations(f)
	c.configurations(f)
	c.baseline(f)
	return c, f.Err()
}

// samePlace is the distance, m, below which two stations are one place: far
// below any positioning of a probe or a slice, far above the rounding of a unit.
const samePlace = 1e-6

func (c *Config) stations(f *settings.File) {
	unique(f, "station", c.Stations, func(s *Station) string { return s.Name })
	for k, s := range c.Stations {
		at := settings.At("station", k)
		if _, err := filepath.Match(s.Files, ""); err != nil {
			f.FailAt(f.Places.Of(at.Key("files")), fmt.Sprintf("files = %q is no pattern", s.Files), "* means any letters and ? one, as in \"*_whole*\"")
		}
		for _, o := range c.Stations[:k] {
			if o.Normal == s.Normal && math.Abs(o.Position-s.Position) <= samePlace && (o.Files == "" || s.Files == "" || o.Files == s.Files) {
				f.FailAt(f.Places.Of(at.Key("position")), fmt.Sprintf("station %q is at %s = %g m like station %q", s.Name, s.Normal, s.Position, o.Name), "a plane has to belong to one station; remove one of them, or tell their files apart with files = \"*_whole*\"")
			}
		}
	}
}

func (c *Config) configurations(f *settings.File) {
	unique(f, "configuration", c.Configurations, func(g *Configuration) string { return g.Name })
	if !f.Has(settings.At("configuration")) {
		f.FailAt(settings.Position{}, "no configuration is named", "add [[configuration]] with name and surveys")
	}
	for k := range c.Configurations {
		g, at := &c.Configurations[k], settings.At("configuration", k)
		if g.Own != nil {
			g.Own.check(f, at.Key("reference"))
		}
		if g.Snapshots != nil {
			g.Surveys = append(g.Surveys, Survey{Snapshots: g.Snapshots, TimeStep: g.TimeStep})
		}
		if !f.Has(at.Key("surveys")) && !f.Has(at.Key("snapshots")) {
			f.Fail(at, "[[configuration]] has no surveys", `add surveys = ["file.csv"] or snapshots = "snapshots/bare_*.csv"`)
		}
		if g.Force != nil {
			g.Force.check(f, at.Key("force"))
		}
	}
}

func (v *Force) check(f *settings.File, at settings.Path) {
	fail := func(key, text, cure string) { f.FailAt(f.Places.Of(at.Key(key)), text, cure) }
	area, record := f.Has(at.Key("drag_area")), f.Has(at.Key("record"))
	switch {
	case record && area:
		fail("record", "the force has a record and a drag_area", "leave one of them out: the record gives its mean")
	case !record && (f.Has(at.Key("start")) || f.Has(at.Key("parts")) || f.Has(at.Key("repeats"))):
		fail("start", "the force has a start, parts or repeats without a record", `add record = "force.csv"`)
	case !record && !area:
		fail("drag_area", "the force has no drag_area", `add drag_area = "2.303 m2" or record = "force.csv"`)
	}
}

// Bind reads the name of a file, or a table.
func (s *Survey) Bind(f *settings.File, at settings.Path, what string, raw any, _ string) bool {
	const cure = `write "file.csv" or { rake = "log.csv", layout = "rake.toml" }`
	m, ok := raw.(map[string]any)
	if text, isText := raw.(string); isText {
		s.File, ok = f.Line(at, what, text)
		return ok
	} else if !ok {
		f.FailAt(f.Places.Of(at), fmt.Sprintf("%s is %s, neither a text nor a table", what, settings.Describe(raw)), cure)
		return false
	}
	f.Table(at, "the survey", m, s)
	if s.Own != nil {
		s.Own.check(f, at.Key("reference"))
	}
	if ok = s.File != "" || s.Logs != nil && s.Layout != ""; !ok {
		f.Fail(at, "the survey has no file, nor a rake's log and layout", cure)
	}
	return ok
}

func (c *Config) names() (names []string) {
	for _, g := range c.Configurations {
		if g.Name != "" {
			names = append(names, g.Name)
		}
	}
	return names
}

// baseline finds the configuration that the others are compared with. A single
// configuration is its own baseline.
func (c *Config) baseline(f *settings.File) {
	names := c.names()
	switch {
	case !f.Has(settings.At("baseline")) && len(c.Configurations) == 1:
		c.Baseline = c.Configurations[0].Name
	case !f.Has(settings.At("baseline")) && len(names) > 1:
		f.FailAt(settings.Position{}, fmt.Sprintf("no baseline is named among %d configurations", len(c.Configurations)), fmt.Sprintf("add baseline = %q at the top", names[0]))
	case c.Baseline != "" && len(names) > 0 && !slices.Contains(names, c.Baseline):
		_, cure := settings.Unknown(c.Baseline, "configuration", names)
		f.Wrong(settings.At("baseline"), settings.Quote(c.Baseline)+" is no configuration", cure)
	}
}

// Against makes another configuration the baseline.
func (c *Config) Against(name string) error {
	if names := c.names(); !slices.Contains(names, name) {
		text, cure := settings.Unknown(name, "configuration", names)
		return &wake.InputError{File: c.File, Text: text, Cure: cure}
	}
	c.Baseline = name
	return nil
}
