package study

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/settings"
)

// Settings are what a study file states of all its planes, and a command's flags of its files.
// Each is declared here, for both: package settings reads the tags. A pointer is nil, and a
// list or word empty, where nothing is said. Options of flags: "each" may be given once for
// each file, "read" is of reading alone, "seldom" is left to --help-all, "compare" is of
// comparisons alone.
type Settings struct {
	Reference   Reference   `toml:"reference"`
	Section     Section     `toml:"section" flag:"section" say:"<WIDTHxHEIGHT> of the section in m"`
	Regions     []Region    `toml:"region" flag:"region" say:"<NAME:ymin,ymax,zmin,zmax>, a box to report (repeatable)"`
	Measure     Measure     `toml:"measure"`
	Structures  Structures  `toml:"structures"`
	Maps        Maps        `toml:"maps"`
	Uncertainty Uncertainty `toml:"uncertainty"`
	// ForceStart is the Start of all records of force where flags state it, s.
	ForceStart *float64 `flag:"start,compare,seldom" is:"time>=0" say:"<TIME> that the records of --force count from, in s (default: after a start-up, if one is found)"`
	// Side is that of all Regions where flags state them.
	Side string `flag:"side" is:"left|right" say:"side that all regions are on: <left|right>"`
	// Normal is that of the planes, and Gap a factor on the spacing, where flags state them.
	Normal string  `flag:"normal,read,seldom" is:"x|y|z" say:"the axis that planes are normal to: <x|y|z> (default: found from the samples)"`
	Gap    float64 `flag:"gap,read,seldom" is:"ratio>=0" say:"<FACTOR> on the local spacing above which a triangle bridges a gap (0: the default)"`
}

// Stream is an undisturbed stream by its numbers, m/s, kg/m³, and Pa on one scale, or by a
// plane that the pressure comes from, and the speed where none is stated.
type Stream struct {
	Speed         *float64 `toml:"speed" is:"speed>0" flag:"speed,each" say:"<SPEED> of the free stream, for example 25 or \"90 km/h\""`
	Density       *float64 `toml:"density" is:"density>0" flag:"density,read" say:"reference <DENSITY> in kg/m3"`
	Pressure      *float64 `toml:"pressure" is:"pressure" flag:"pressure,each" say:"reference static <PRESSURE> in Pa; once, or once for each file"`
	TotalPressure *float64 `toml:"total_pressure" is:"pressure" flag:"total-pressure,each,seldom" say:"reference total <PRESSURE>, if it is not p + ½ρU²; likewise"`
	Plane         string   `toml:"plane" flag:"reference,each,seldom" say:"take pressure, and speed unless stated, from this undisturbed plane <FILE>, such as an inlet; likewise"`
}

// Reference is the stream of all, and what coefficients are formed with.
type Reference struct {
	Stream
	// FrontalArea, m²; without it no coefficient can be given. Count is the size of a drag count in C_D.
	FrontalArea *float64 `toml:"frontal_area" is:"area>0" flag:"area" say:"frontal <AREA> in m2, for coefficients"`
	Count       float64  `toml:"count" is:"ratio>0" or:"0.001" flag:"count" say:"<SIZE> of a drag count in C_D"`
	Frame       string   `toml:"frame" flag:"frame,read,seldom" say:"the file's <AXES>, for example \"x forward, y left, z up\""`
	Anchor      string   `toml:"anchor" is:"none|edge" or:"none" flag:"anchor,seldom" say:"tie the total-pressure reference to the open edge: <none|edge>"`
	// Tare names surveys of the empty section that are taken off the planes at their stations.
	Tare []string `toml:"tare" is:"files" flag:"tare,seldom" say:"subtract this survey <FILE> of the empty section"`
	// Yaw is the angle of the free stream to x, degrees; Speed is then |V∞|.
	Yaw float64 `toml:"yaw" is:"ratio" flag:"yaw,seldom" say:"yaw in <DEGREES>, positive where the free stream has a part toward +y (wind from the left); --speed is then |V∞| and q = ½ρ|V∞|²"`
}

// Section is the test section that the survey stood in, m.
type Section struct {
	Width  float64 `toml:"width" is:"length>0" need:"a section needs both width and height; remove it for free air"`
	Height float64 `toml:"height" is:"length>0" need:"a section needs both width and height; remove it for free air"`
	Floor  string  `toml:"floor" is:"none|slip|belt|fixed" flag:"floor,seldom" say:"what the lower border is: <none|slip|belt|fixed>"`
}

// Raw reads WIDTHxHEIGHT.
func (*Section) Raw(text string) (any, bool) {
	w, h, ok := strings.Cut(strings.ReplaceAll(text, "×", "x"), "x")
	return map[string]any{"width": w, "height": h}, ok
}

// Region is a named box in a cross-flow plane.
type Region struct {
	Name string `toml:"name" need:"add name = \"…\""`
	Box  Box    `toml:"box" label:"the box" need:"add box = { y = [lower, upper], z = [lower, upper] }"`
	Side string `toml:"side" is:"left|right"`
}

// Box has lower and upper limits, m, lower first.
type Box struct {
	Y [2]float64 `toml:"y" is:"length" need:"a box needs y = [lower, upper] and z = [lower, upper]"`
	Z [2]float64 `toml:"z" is:"length" need:"a box needs y = [lower, upper] and z = [lower, upper]"`
}

// Raw reads NAME:ymin,ymax,zmin,zmax.
func (*Region) Raw(text string) (any, bool) {
	cut := strings.LastIndex(text, ":")
	v := strings.Split(text[cut+1:], ",")
	if cut < 1 || len(v) != 4 {
		return nil, false
	}
	return map[string]any{"name": strings.TrimSpace(text[:cut]), "box": map[string]any{"y": []any{v[0], v[1]}, "z": []any{v[2], v[3]}}}, true
}

// Measure says how planes are measured.
type Measure struct {
	Threshold  []float64 `toml:"threshold" is:"ratio>0,rising" flag:"threshold" say:"<LIST> of thresholds for areas (default 0.01,0.05,0.1,0.5)"`
	Weight     string    `toml:"weight" is:"total-pressure|deficit|momentum|drag" or:"total-pressure" flag:"weight,seldom" say:"<QUANTITY> that weighs the wake: total-pressure, deficit, momentum or drag"`
	Support    string    `toml:"support" is:"cells|nodes" flag:"support,read,seldom" say:"what a lattice sample represents: <cells|nodes> (default: as the file says, else nodes)"`
	Symmetry   string    `toml:"symmetry" is:"half|full" or:"full" flag:"symmetry,seldom" say:"<full|half>: half doubles drags and areas of a half plane"`
	Turbulence string    `toml:"turbulence" is:"stress|isotropic|none" flag:"turbulence,seldom" say:"normal stress from its column, from k as isotropic, or none: <stress|isotropic|none> (default: stress if present)"`
	// Columns says which column of the files holds a quantity, "NAME [unit]" by the quantity's name.
	Columns map[string]string `toml:"columns" entry:"p = \"Pressure [Pa]\"" flag:"column,read" say:"<QUANTITY=\"NAME [unit]\">: which column holds x y z u v w p pt cp cpt rho k uu vv ww area (repeatable)"`
	// PressureIncludesK: the pressure holds ⅔ρk.
	PressureIncludesK bool `toml:"pressure_includes_k" flag:"pressure-includes-k,seldom" say:"the pressure holds 2/3 of density times k, which is taken out"`
}

// Structures says how parts of the wake are found and what their moves are set against.
type Structures struct {
	By string `toml:"by" is:"weight|vorticity|none" or:"weight" flag:"structures,seldom" say:"find parts of the wake by <QUANTITY>: weight or vorticity, or none"`
	// Threshold, in the unit of what By names, and Prominence are 0 for the default.
	Threshold  float64 `toml:"threshold" is:"ratio>=0" flag:"structure-threshold,seldom" say:"<LEVEL> that bounds a part (0: a weight of 0.1, or a tenth of the largest vorticity, 1/s)"`
	Prominence float64 `toml:"prominence" is:"ratio<1" flag:"prominence,seldom" say:"<PART> of its height by which a peak must rise above its saddle to be a part by itself (0: 0.05)"`
	// Width, m, is a tyre's or the vehicle's.
	Width *float64 `toml:"width" is:"length>0" flag:"width,compare,seldom" say:"tyre or vehicle <WIDTH>, to give moves as a part of"`
}

// Maps says what to draw.
type Maps struct {
	Quantities []string `toml:"quantities" is:"once" flag:"map" say:"<LIST> of maps that --out draws: u/U, Cpt, local drag, vorticity, 1-Cpt, Cp, k, or none (default u/U,Cpt,local drag,vorticity)"`
	// Levels are the level lines of a quantity, Limits the ends of its colour scale, and
	// ChangeLimits those of its changes, from −c to c.
	Levels       map[string][]float64  `toml:"levels" is:"ratio,rising" entry:"cpt = [0.2, 0.5, 0.9]" flag:"levels,seldom" say:"<QUANTITY=A,B,…>, borders of the bands of a map (repeatable)"`
	Limits       map[string][2]float64 `toml:"limits" is:"ratio" entry:"cpt = [0.2, 0.9]" flag:"limits,seldom" say:"<QUANTITY=LO,HI>, ends of the colour scale of a map (repeatable)"`
	ChangeLimits map[string]float64    `toml:"change_limits" is:"ratio>0" entry:"cpt = 0.2" flag:"change-limit,compare,seldom" say:"<QUANTITY=C>, changes are coloured from −C to C (repeatable)"`
	Size         string                `toml:"size" flag:"size,seldom" say:"<WIDTHxHEIGHT> of a map, in pixels or in print, as in \"160 mm x 90 mm\" (default 1600x900)"`
	DPI          float64               `toml:"dpi" is:"ratio>=0" flag:"dpi,seldom" say:"<PIXELS> to an inch in print; 300 for a --size in mm"`
	Theme        string                `toml:"theme" is:"light|dark" or:"light" flag:"theme,seldom" say:"page of a map: <light|dark>"`
	Vectors      bool                  `toml:"vectors" flag:"vectors,seldom" say:"draw the cross-flow over the maps"`
	// Single draws a map of each survey beside the sheets.
	Single bool `toml:"single"`
	// Silhouette is a file with the vehicle's outline.
	Silhouette string `toml:"silhouette" flag:"silhouette,seldom" say:"<FILE> with the vehicle's outline, lines of y and z with an empty line between polylines"`
	Window     Window `toml:"window" label:"[maps.window]" flag:"window,seldom" say:"<AXIS=LO,HI>, part of the plane that maps show, m (repeatable); \"whole\" for all; otherwise the wake and the body with a margin"`
}

// Window is the part of the planes that is shown, m; along the other axes it is the wake and
// the body, or with Whole all.
type Window struct {
	X     *[2]float64 `toml:"x" is:"length"`
	Y     *[2]float64 `toml:"y" is:"length"`
	Z     *[2]float64 `toml:"z" is:"length"`
	Whole bool
}

// Raw reads AXIS=LO,HI, or "whole".
func (*Window) Raw(text string) (any, bool) {
	axis, limits, ok := strings.Cut(text, "=")
	if lo, hi, two := strings.Cut(limits, ","); ok && two {
		return map[string]any{strings.TrimSpace(axis): []any{lo, hi}}, true
	}
	return text, text == "whole"
}

// Bind reads the word "whole", or limits by axis.
func (w *Window) Bind(f *settings.File, at settings.Path, what string, raw any, _ string) bool {
	m, ok := raw.(map[string]any)
	if w.Whole = raw == "whole"; !ok && !w.Whole {
		f.Wrong(at, "is "+settings.Describe(raw)+", not a table", "write { y = [-1.5, 1.5] }, or \"whole\"")
		return false
	}
	f.Table(at, "[maps.window]", m, w)
	return true
}

// Uncertainty holds the user's own standard uncertainties.
type Uncertainty struct {
	// Speed and Density: absolute, or relative to the reference value. Pressure and
	// TotalPressure: absolute, or relative to the dynamic pressure. Position: a length, or
	// relative as an error of scale. Solution: the analyst's band for the solver's error,
	// relative to the drag area.
	Speed         *Band `toml:"speed" is:"speed>=0" flag:"u-speed,seldom" say:"standard uncertainty <U> of the reference speed, for example 0.05 or \"0.2 %\""`
	Density       *Band `toml:"density" is:"density>=0" flag:"u-density,seldom" say:"<U> of the reference density"`
	Pressure      *Band `toml:"pressure" is:"pressure>=0" flag:"u-pressure,seldom" say:"<U> of the reference pressure, in Pa or in % of the dynamic pressure"`
	TotalPressure *Band `toml:"total_pressure" is:"pressure>=0" flag:"u-total-pressure,seldom" say:"<U> of the reference total pressure, likewise"`
	Position      *Band `toml:"position" is:"length>=0" flag:"u-position,seldom" say:"<U> of the whole survey's position, as a length, or in % as an error of scale"`
	Solution      *Band `toml:"solution" is:"ratio>=0" flag:"solution-band,seldom" say:"<PERCENT> of the drag area that another run of the solver changes, as a standard uncertainty; 0 states that it changes nothing"`
	// Steady declares that all planes are of steady solutions, which have no time average.
	Steady bool `toml:"steady" flag:"steady,seldom" say:"the planes are of converged steady solutions, which have no time average"`
	// EffectiveSamples is the number of independent samples in the time average.
	EffectiveSamples float64 `toml:"effective_samples" is:"ratio>=0" flag:"effective-samples,seldom" say:"<NUMBER> of independent samples in the time average, for its uncertainty from the stress columns"`
	Trials           int     `toml:"trials" flag:"trials,seldom" say:"<NUMBER> of Monte Carlo trials to set beside the budget"`
}

// Band is a standard uncertainty: in SI units, or as a fraction where Relative.
type Band struct {
	Value    float64
	Relative bool
}

// Bind reads a number; one in per cent is relative, and so is one without a dimension.
func (b *Band) Bind(f *settings.File, at settings.Path, what string, raw any, is string) (ok bool) {
	s, _ := raw.(string)
	if b.Relative = strings.HasPrefix(is, "ratio") || strings.HasSuffix(strings.TrimSpace(s), "%"); b.Relative {
		is = "ratio>=0"
	}
	b.Value, ok = f.Number(at, what, raw, is)
	return ok
}

// of is the band as an absolute value; found where nothing is stated.
func (b *Band) of(whole, found float64) float64 {
	switch {
	case b == nil:
		return found
	case b.Relative:
		return b.Value * whole
	}
	return b.Value
}

// Check notes in f what is stated twice, to no purpose or beyond what is possible.
func (s *Settings) Check(f *settings.File) {
	r := &s.Reference
	at := func(keys ...any) settings.Path { return settings.At(keys...) }
	r.Stream.check(f, at("reference"))
	if r.Frame != "" {
		if _, err := wake.ParseFrame(r.Frame); err != nil {
			f.FailAt(f.Places.Of(at("reference", "frame")), err.Error(), "")
		}
	}
	for i, name := range s.Maps.Quantities {
		if !slices.ContainsFunc(measure.MapQuantities, func(s string) bool { return strings.EqualFold(s, name) }) && !slices.Equal(s.Maps.Quantities, []string{"none"}) {
			text, cure := settings.Unknown(name, "map", measure.MapQuantities)
			f.FailAt(f.Places.Of(at("maps", "quantities", i)), text+" in "+f.Word(at("maps", "quantities")), cure)
		}
	}
	var known []string
	for q := range wake.NumQuantities {
		known = append(known, q.String())
	}
	for q := range s.Measure.Columns {
		if !slices.Contains(known, q) {
			text, cure := settings.Unknown(q, "quantity", known)
			f.Fail(at("measure", "columns", q), text+" in "+f.Word(at("measure", "columns")), strings.Replace(cure, "quantitys", "quantities", 1))
		}
	}
	if s.Gap != 0 && !(1 <= s.Gap && s.Gap <= 1e6) {
		f.FailAt(settings.Position{}, fmt.Sprintf("--gap is %g", s.Gap), "a factor from 1 to 1e6 is expected, or 0 for the default")
	}
	s.regions(f)
	s.Maps.check(f)
	u := &s.Uncertainty
	if b := u.Solution; b != nil && b.Value >= 1 {
		f.Wrong(at("uncertainty", "solution"), fmt.Sprintf("is %g, the whole drag or more", b.Value), `write it in per cent, as in "1 %"`)
	}
	for _, v := range []struct {
		key string
		measure.Inputs
	}{{"trials", measure.Inputs{Trials: u.Trials}}, {"effective_samples", measure.Inputs{EffectiveSamples: u.EffectiveSamples}}} {
		if err, ok := v.Check().(*wake.InputError); ok {
			f.FailAt(f.Places.Of(at("uncertainty", v.key)), err.Text, err.Cure)
		}
	}
}

// check refuses pressures beside a plane that they would come from, and a total pressure below
// the static one.
func (s *Stream) check(f *settings.File, at settings.Path) {
	for _, key := range []string{"pressure", "total_pressure"} {
		if s.Plane != "" && f.Has(at.Key(key)) {
			f.Wrong(at.Key(key), "and "+f.Word(at.Key("plane"))+" both state the reference", "give one of them")
		}
	}
	if p, t := s.Pressure, s.TotalPressure; p != nil && t != nil && *t <= *p {
		f.Wrong(at.Key("total_pressure"), fmt.Sprintf("is %g Pa, not above %s = %g Pa", *t, f.Word(at.Key("pressure")), *p), "give both on the same scale, both gauge or both absolute")
	}
}

// regions gives the regions the side that a flag states, and refuses a name that is taken.
func (s *Settings) regions(f *settings.File) {
	for k := range s.Regions {
		s.Regions[k].Side = cmp.Or(s.Side, s.Regions[k].Side)
	}
	unique(f, "region", s.Regions, func(r *Region) string { return r.Name })
	for k, r := range s.Regions {
		if r.Side == "right" && r.Box.Y[1] < 0 || r.Side == "left" && r.Box.Y[0] > 0 {
			f.FailAt(f.Places.Of(settings.At("region", k, "side")), fmt.Sprintf("region %q is said to be on the %s, but its box runs from y = %g m to %g m", r.Name, r.Side, r.Box.Y[0], r.Box.Y[1]), "y is positive to the vehicle's right; correct the side or the box")
		}
		if r.Name == "total" || r.Name == "rest" {
			f.FailAt(f.Places.Of(settings.At("region", k, "name")), fmt.Sprintf("the region name %q is taken by the program's own tables", r.Name), "choose another name")
		}
	}
}

// unique refuses a name that an earlier table of a list has, and one with blanks around it.
func unique[T any](f *settings.File, what string, list []T, name func(*T) string) {
	seen := map[string]settings.Position{}
	for k := range list {
		n, pos := name(&list[k]), f.Places.Of(settings.At(what, k, "name"))
		if first, ok := seen[n]; ok && n != "" {
			text := fmt.Sprintf("the %s name %s is taken", what, settings.Quote(n))
			if first.Line > 0 {
				text += fmt.Sprintf(" on line %d", first.Line)
			}
			f.FailAt(pos, text, "give each "+what+" a name of its own")
			continue
		}
		if strings.TrimSpace(n) != n {
			f.FailAt(pos, "the name "+settings.Quote(n)+" begins or ends with a blank", "remove the blank")
		}
		seen[n] = pos
	}
}

// Options are those of measuring, without the reference and what is known of it.
func (s *Settings) Options() (opt measure.Options) {
	m := &s.Measure
	opt.PressureIncludesK, opt.Yaw = m.PressureIncludesK, s.Reference.Yaw
	opt.FrontalArea = wake.Deref(s.Reference.FrontalArea)
	opt.Anchor, opt.Thresholds, opt.Turbulence, opt.Half = s.Reference.Anchor, m.Threshold, m.Turbulence, m.Symmetry == "half"
	opt.Weight, _ = measure.ParseWeight(m.Weight) // one of its words
	opt.Section, opt.Floor = [2]float64{s.Section.Width, s.Section.Height}, s.Section.Floor
	for _, g := range s.Regions {
		y, z := g.Box.Y, g.Box.Z
		opt.Regions = append(opt.Regions, measure.Box{Name: g.Name, Side: g.Side, Box: grid.Box{Min: grid.Point{X: y[0], Y: z[0]}, Max: grid.Point{X: y[1], Y: z[1]}}})
	}
	return opt
}

// Read are the options of reading; by says who stated them.
func (s *Settings) Read(by string) survey.Options {
	opt := survey.Options{By: by, Density: wake.Deref(s.Reference.Density)}
	opt.Frame, _ = wake.ParseFrame(s.Reference.Frame) // the zero frame where there is none
	for name, column := range s.Measure.Columns {
		if opt.Columns == nil {
			opt.Columns = map[wake.Quantity]string{}
		}
		q, _ := wake.ParseQuantity(name)
		opt.Columns[q] = column
	}
	return opt
}

// Plane are the options of finding planes.
func (s *Settings) Plane(by string) wake.PlaneOptions {
	opt := wake.PlaneOptions{Gap: s.Gap}
	if w := s.Measure.Support; w != "" {
		opt.SupportBy = by
		if w == grid.Cells.String() {
			opt.Support = grid.Cells
		}
	}
	if s.Normal != "" {
		opt.Normal, opt.NormalBy = wake.Axis(strings.Index("xyz", s.Normal)), by
	}
	return opt
}

// Into puts the stream into a free stream. A number that is needed and not stated is missing:
// the speed and pressure where no plane tells them; density and pressure are needed where planes
// hold a pressure, or the reference is a plane.
func (s *Stream) Into(r *wake.Freestream, pressure bool) (missing string) {
	*r = wake.Freestream{TotalPressure: math.NaN()}
	if s.TotalPressure != nil {
		r.TotalPressure = *s.TotalPressure
	}
	for _, v := range []struct {
		key      string
		from, to *float64
		needed   bool
	}{
		{"speed", s.Speed, &r.Speed, s.Plane == ""},
		{"density", s.Density, &r.Density, pressure || s.Plane != ""},
		{"pressure", s.Pressure, &r.Pressure, pressure && s.Plane == ""},
	} {
		if v.from != nil {
			*v.to = *v.from
		} else if v.needed {
			return v.key
		}
	}
	if r.Density == 0 {
		// Without a pressure no number depends on the density.
		r.Density = 1
	}
	return ""
}

// Into puts what is stated into the options, which have the reference: relative values are of
// it. What the reference's plane tells of speed and pressure stays where nothing is stated.
func (c *Uncertainty) Into(opt *measure.Options) {
	ref, u := &opt.Reference, &opt.Uncertainty
	found := *u
	*u = measure.Inputs{
		Speed: c.Speed.of(ref.Speed, u.Speed), Density: c.Density.of(ref.Density, 0),
		Pressure: c.Pressure.of(ref.Dynamic(), u.Pressure), TotalPressure: c.TotalPressure.of(ref.Dynamic(), 0),
		Steady: c.Steady, Trials: c.Trials,
		EffectiveSamples: c.EffectiveSamples,
	}
	if c.Speed == nil {
		u.SpeedDOF = found.SpeedDOF
	}
	if c.Pressure == nil {
		u.PressureDOF = found.PressureDOF
	}
	if b := c.Solution; b != nil {
		u.Solution = &b.Value
	}
	if p := c.Position; p != nil && p.Relative {
		u.Scale = p.Value
	} else if p != nil {
		u.Position = p.Value
	}
}

// Parts are the options of finding parts of the wake, nil for none, and those of their moves.
func (s *Settings) Parts() (*parts.Options, shift.Options) {
	c := &s.Structures
	moves := shift.Options{Width: wake.Deref(c.Width)}
	if c.By == "none" {
		return nil, moves
	}
	return &parts.Options{Criterion: c.By, Threshold: c.Threshold, Prominence: c.Prominence, Regions: s.Options().Regions}, moves
}
