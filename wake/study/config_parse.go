package study

import (
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey/settings"
)

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
// The warnings are about what was accepted and is doubtful; they are nil when the
// error is not.
func Parse(name string, data []byte) (*Config, []wake.Warning, error) {
	f, root, err := settings.Parse(name, data, maxFile, "a study file lists surveys and settings; the surveys stay in files of their own", "the study file has to be TOML 1.0")
	if err != nil {
		return nil, nil, err
	}
	d := &decoder{File: f}
	c := d.config(d.open("", "", root))
	if err := f.Err(); err != nil {
		return nil, nil, err
	}
	return c, d.warns, nil
}

func (d *decoder) config(root table) *Config {
	c := &Config{File: d.Name}
	c.Title, _ = root.text("title")
	c.Quote, _ = root.text("quote")
	c.Reference = d.reference(root.table("reference", "reference"))
	if root.has("section") {
		c.Section = d.section(root.table("section", "section"))
	}
	c.Regions = d.regions(root)
	c.Stations = d.stations(root)
	c.Configurations = d.configurations(root)
	c.Baseline = d.baseline(root, c.Configurations)
	c.Measure = d.measure(root.table("measure", "measure"))
	c.Structures = d.structures(root.table("structures", "structures"))
	c.Maps = d.maps(root.table("maps", "maps"))
	c.Uncertainty = d.uncertainty(root.table("uncertainty", "uncertainty"))
	if s := c.Structures; s.CorrelationLength != nil && s.EffectiveSamples == nil && c.Uncertainty.EffectiveSamples == nil {
		root.table("structures", "structures").fail("correlation_length", "correlation_length acts on nothing without a number of effective samples", "add effective_samples to [structures] or [uncertainty]")
	}
	return c
}

func (d *decoder) reference(t table) Reference {
	r := Reference{
		Speed:         t.value("speed", speedDim, positive),
		Density:       t.value("density", densityDim, positive),
		Pressure:      t.value("pressure", pressureDim, anyNumber),
		TotalPressure: t.value("total_pressure", pressureDim, anyNumber),
		FrontalArea:   t.value("frontal_area", areaDim, positive),
		Tare:          t.names("tare"),
		Count:         0.001,
		Anchor:        "none",
	}
	if x := t.value("count", dimensionless, positive); x != nil {
		r.Count = *x
	}
	if text, ok := t.m["yaw"].(string); ok {
		t.fail("yaw", "yaw is "+quote(text)+", not a number", "write the number of degrees, as in yaw = 5, positive where the free stream has a part toward +y")
	} else if x := t.value("yaw", dimensionless, anyNumber); x != nil {
		r.Yaw = *x
	}
	if s := t.word("anchor", "none", "edge"); s != "" {
		r.Anchor = s
	}
	if s, ok := t.text("frame"); ok {
		if _, err := wake.ParseFrame(s); err != nil {
			t.fail("frame", err.Error(), "")
		}
		r.Frame = s
	}
	// file is the older word.
	for _, key := range []string{"file", "plane"} {
		if s, ok := t.text(key); ok {
			r.Plane = s
		}
	}
	t.onePressure()
	if r.Pressure != nil && r.TotalPressure != nil && !(*r.TotalPressure > *r.Pressure) {
		t.fail("total_pressure", fmt.Sprintf("total_pressure is %g Pa, not above pressure = %g Pa", *r.TotalPressure, *r.Pressure), "give both on the same scale, both gauge or both absolute")
	}
	return r
}

func (d *decoder) section(t table) *Section {
	s := &Section{Floor: t.word("floor", "none", "slip", "belt", "fixed")}
	for k, to := range []*float64{&s.Width, &s.Height} {
		key := [...]string{"width", "height"}[k]
		if x := t.value(key, lengthDim, positive); x != nil {
			*to = *x
		} else if !t.has(key) && t.m != nil {
			t.failTable("[section] has no "+key, "a section needs both width and height; remove it for free air")
		}
	}
	return s
}

func (d *decoder) regions(root table) []Region {
	var out []Region
	seen := map[string]settings.Position{}
	for _, t := range d.list(root, "region") {
		r := Region{Name: t.nameOf(), Side: t.word("side", "left", "right")}
		d.unique(t, r.Name, seen)
		if r.Name == "total" || r.Name == "rest" {
			t.fail("name", fmt.Sprintf("the region name %q is taken by the program's own tables", r.Name), "choose another name")
		}
		if !t.has("box") {
			t.failTable("[[region]] has no box", "add box = { y = [lower, upper], z = [lower, upper] }")
		} else if b := t.table("box", "region.box"); b.m != nil {
			for _, axis := range []string{"y", "z"} {
				if !b.has(axis) {
					b.fail(axis, "the box has no "+axis, "a box needs y = [lower, upper] and z = [lower, upper]")
					continue
				}
				limits, _ := b.pair(b.at.Key(axis), axis, b.m[axis], lengthDim)
				if axis == "y" {
					r.Box.Y = limits
				} else {
					r.Box.Z = limits
				}
			}
		}
		if s := r.Side; s == "right" && r.Box.Y[1] < 0 || s == "left" && r.Box.Y[0] > 0 {
			d.warn("side-and-box", d.Places.Of(t.at.Key("side")), fmt.Sprintf("region %q is said to be on the %s, but its box runs from y = %g m to %g m", r.Name, s, r.Box.Y[0], r.Box.Y[1]), "y is positive to the vehicle's right; correct the side or the box")
		}
		out = append(out, r)
	}
	return out
}

// samePlace is the distance, m, below which two stations are one place: far
// below any positioning of a probe or a slice, far above the rounding of a unit.
const samePlace = 1e-6

func (d *decoder) stations(root table) []Station {
	var out []Station
	seen := map[string]settings.Position{}
	for _, t := range d.list(root, "station") {
		s := Station{Name: t.nameOf(), Normal: "x", Tolerance: t.value("tolerance", lengthDim, notMinus)}
		d.unique(t, s.Name, seen)
		if t.has("normal") {
			s.Normal = t.word("normal", "x", "y", "z")
		}
		if f, ok := t.text("files"); ok {
			if _, err := filepath.Match(f, ""); err != nil || f == "" {
				t.fail("files", fmt.Sprintf("files = %q is no pattern", f), "* means any letters and ? one, as in \"*_whole*\"")
			}
			s.Files = f
		}
		if x := t.value("position", lengthDim, anyNumber); x != nil {
			s.Position = *x
			for _, o := range out {
				if o.Normal == s.Normal && math.Abs(o.Position-s.Position) <= samePlace && (o.Files == "" || s.Files == "" || o.Files == s.Files) {
					t.fail("position", fmt.Sprintf("station %q is at %s = %g m like station %q", s.Name, s.Normal, s.Position, o.Name), "a plane has to belong to one station; remove one of them, or tell their files apart with files = \"*_whole*\"")
				}
			}
		} else {
			if !t.has("position") {
				t.failTable("[[station]] has no position", `add position = "-0.58 m"`)
			}
			s.Position = math.NaN() // equal to no other; the file is refused anyway
		}
		out = append(out, s)
	}
	return out
}

func (d *decoder) configurations(root table) []Configuration {
	var out []Configuration
	seen := map[string]settings.Position{}
	used := map[string]string{} // configuration by survey
	for _, t := range d.list(root, "configuration") {
		c := Configuration{Name: t.nameOf(), Surveys: t.surveys("surveys"), Repeats: t.surveys("repeats"), Refinements: t.surveys("refinements"), Tare: t.names("tare"), Steady: t.flag("steady"), Own: t.ownReference()}
		d.unique(t, c.Name, seen)
		c.Note, _ = t.text("note")
		if t.has("snapshots") {
			if s, ok := t.snapshots(); ok {
				c.Surveys = append(c.Surveys, s)
			}
		} else if t.has("time_step") {
			t.fail("time_step", "time_step acts on nothing without snapshots", `add snapshots = "snapshots/bare_*.csv"`)
		}
		if !t.has("surveys") && !t.has("snapshots") {
			t.failTable("[[configuration]] has no surveys", `add surveys = ["file.csv"] or snapshots = "snapshots/bare_*.csv"`)
		}
		for i, v := range c.Surveys {
			f := v.Name()
			if other, ok := used[f]; ok {
				d.warn("same-survey", d.Places.Of(t.at.Key("surveys").Index(i)), fmt.Sprintf("survey %s is listed for %q and for %q", quote(f), other, c.Name), "two configurations with one file have no difference; check the names")
			} else {
				used[f] = c.Name
			}
		}
		if t.has("force") {
			f := t.table("force", "force")
			area, u := f.value("drag_area", areaDim, anyNumber), f.value("standard_uncertainty", areaDim, notMinus)
			records, repeats := f.names("record"), f.names("repeats")
			start := f.value("start", timeDim, notMinus)
			switch {
			case records != nil && f.has("drag_area"):
				f.fail("record", "the force has a record and a drag_area", "leave one of them out: the record gives its mean")
			case records != nil:
				c.Force = &Force{Records: records, Repeats: repeats, Start: start, StandardUncertainty: u, Parts: f.parts()}
			case f.has("record"):
			case f.has("start"), f.has("parts"), f.has("repeats"):
				f.fail("start", "the force has a start, parts or repeats without a record", `add record = "force.csv"`)
			case area != nil:
				c.Force = &Force{DragArea: *area, StandardUncertainty: u}
			case f.m != nil && !f.has("drag_area"):
				f.fail("drag_area", "the force has no drag_area", `add drag_area = "2.303 m2" or record = "force.csv"`)
			}
		}
		out = append(out, c)
	}
	if !root.has("configuration") {
		d.FailAt(settings.Position{}, "no configuration is named", "add [[configuration]] with name and surveys")
	}
	return out
}

// baseline finds the configuration that the others are compared with. A single
// configuration is its own baseline.
func (d *decoder) baseline(root table, cs []Configuration) string {
	var names []string
	for _, c := range cs {
		if c.Name != "" {
			names = append(names, c.Name)
		}
	}
	if !root.has("baseline") {
		if len(cs) == 1 {
			return cs[0].Name
		}
		if len(names) > 1 {
			d.FailAt(settings.Position{}, fmt.Sprintf("no baseline is named among %d configurations", len(cs)), fmt.Sprintf("add baseline = %q at the top", names[0]))
		}
		return ""
	}
	s, ok := root.text("baseline")
	if !ok || len(names) == 0 || slices.Contains(names, s) {
		return s
	}
	root.fail("baseline", fmt.Sprintf("baseline %s is no configuration", quote(s)), whichConfiguration(s, names))
	return ""
}

func whichConfiguration(s string, names []string) string {
	cure := "configurations are " + strings.Join(names, ", ")
	if near, ok := settings.Nearest(s, names); ok {
		cure = fmt.Sprintf("did you mean %q? %s", near, cure)
	}
	return cure
}

// Against makes another configuration the baseline.
func (c *Config) Against(name string) error {
	var names []string
	for _, cfg := range c.Configurations {
		names = append(names, cfg.Name)
	}
	if !slices.Contains(names, name) {
		return &wake.InputError{File: c.File, Text: fmt.Sprintf("%s is no configuration", quote(name)), Cure: whichConfiguration(name, names)}
	}
	c.Baseline = name
	return nil
}

func (d *decoder) measure(t table) Measure {
	m := Measure{
		Weight:     t.word("weight", "total-pressure", "deficit", "momentum", "drag"),
		Support:    t.word("support", "cells", "nodes"),
		Symmetry:   t.word("symmetry", "half", "full"),
		Turbulence: t.word("turbulence", "stress", "isotropic", "none"),

		PressureIncludesK: t.flag("pressure_includes_k"),
		SourcePart:        t.flag("source_part"),
	}
	if v, ok := t.m["onset"]; ok {
		m.Onset, _ = t.two(t.at.Key("onset"), "onset", v, speedDim, [2]string{"v", "w"})
	}
	if v, ok := t.m["threshold"]; ok {
		m.Threshold, _ = t.numbers(t.at.Key("threshold"), "threshold", v, dimensionless, positive)
	}
	v, ok := t.m["columns"]
	if !ok {
		return m
	}
	cols, ok := v.(map[string]any)
	if !ok {
		t.fail("columns", "columns is "+describe(v)+", not a table", `write columns = { p = "Pressure [Pa]" }`)
		return m
	}
	var known []string
	for q := range wake.NumQuantities {
		known = append(known, q.String())
	}
	c := table{d: d, at: t.at.Key("columns"), name: "columns", m: cols}
	m.Columns = map[string]string{}
	for _, k := range slices.Sorted(maps.Keys(cols)) {
		if !slices.Contains(known, k) {
			cure := "quantities are " + strings.Join(known, " ")
			if near, ok := settings.Nearest(k, known); ok {
				cure = fmt.Sprintf("did you mean %q? %s", near, cure)
			}
			d.FailAt(d.Places.OfKey(c.at.Key(k)), fmt.Sprintf("unknown quantity %s in columns", quote(k)), cure)
			continue
		}
		if s, ok := c.text(k); ok {
			m.Columns[k] = s
		}
	}
	return m
}

func (d *decoder) uncertainty(t table) Uncertainty {
	u := Uncertainty{
		Speed:         t.band("speed", speedDim),
		Density:       t.band("density", densityDim),
		Pressure:      t.band("pressure", pressureDim),
		TotalPressure: t.band("total_pressure", pressureDim),
		Position:      t.band("position", lengthDim),
		Solution:      t.band("solution", dimensionless),

		Steady:            t.flag("steady"),
		EffectiveSamples:  t.value("effective_samples", dimensionless, positive),
		CorrelationLength: t.value("correlation_length", lengthDim, positive),
		Independent:       t.texts("independent"),
	}
	for i, n := range u.Independent {
		if !slices.Contains(measure.InputNames, n) {
			cure := "inputs are " + strings.Join(measure.InputNames, ", ")
			if near, ok := settings.Nearest(n, measure.InputNames); ok {
				cure = fmt.Sprintf("did you mean %q? %s", near, cure)
			}
			d.FailAt(d.Places.Of(t.at.Key("independent").Index(i)), fmt.Sprintf("%s is no input", quote(n)), cure)
		}
	}
	if x := t.value("trials", dimensionless, notMinus); x != nil {
		u.Trials = int(*x)
		if float64(u.Trials) != *x || (&measure.Inputs{Trials: u.Trials}).Check() != nil {
			t.fail("trials", fmt.Sprintf("trials is %g", *x), "give 0 for none, or a whole number from 200 to 1000000")
		}
	}
	return u
}

// list returns the tables of a list and refuses an empty one.
func (d *decoder) list(root table, key string) []table {
	ts := root.tables(key)
	if v, ok := root.m[key].([]any); ok && len(v) == 0 {
		root.fail(key, key+" is an empty list", "add [["+key+"]] or remove the key")
	}
	return ts
}

// unique refuses a name that an earlier table of the list has.
func (d *decoder) unique(t table, name string, seen map[string]settings.Position) {
	if name == "" {
		return
	}
	pos := d.Places.Of(t.at.Key("name"))
	if first, ok := seen[name]; ok {
		d.FailAt(pos, fmt.Sprintf("the %s name %s is taken on line %d", t.name, quote(name), first.Line), "give each "+t.name+" a name of its own")
		return
	}
	seen[name] = pos
}
