package rake

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// maxLayout is far above any layout, 1 MiB.
const maxLayout = 1 << 20

// ReadLayout reads a layout file.
func ReadLayout(name string) (*Layout, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, &wake.InputError{File: name, Text: "cannot be read: " + plain(err), Cure: "check the name and the permissions"}
	}
	return ParseLayout(name, data)
}

// ParseLayout reads a layout: TOML 1.0, strictly. All faults that can be found are
// reported at once, in the order of the file, joined by errors.Join; each is a
// *wake.InputError with line and byte column.
func ParseLayout(name string, data []byte) (*Layout, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(data) > maxLayout {
		return nil, &wake.InputError{File: name, Text: fmt.Sprintf("the layout has %d bytes", len(data)), Cure: "a layout describes the rake; the log is another file"}
	}
	if err := survey.CheckTOML(name, data); err != nil {
		return nil, err
	}
	var f layoutFile
	dec := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return nil, decodeError(name, err)
	}
	p := &layoutParser{name: name, spots: findSpots(data), f: &f}
	l := p.layout()
	if len(p.errs) > 0 {
		slices.SortStableFunc(p.errs, func(a, b *wake.InputError) int {
			return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
		})
		all := make([]error, len(p.errs))
		for i, e := range p.errs {
			all[i] = e
		}
		return nil, errors.Join(all...)
	}
	return l, nil
}

func decodeError(name string, err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var all []error
		for i := range strict.Errors {
			e := &strict.Errors[i]
			key := e.Key()
			table := ""
			if len(key) > 1 {
				table = key[0]
			}
			line, col := e.Position()
			all = append(all, &wake.InputError{File: name, Line: line, Column: col, Text: fmt.Sprintf("unknown key %q", strings.Join(key, ".")), Cure: "known here: " + known[table]})
		}
		return errors.Join(all...)
	}
	e := &wake.InputError{File: name, Text: strings.TrimPrefix(err.Error(), "toml: "), Cure: "the layout has to be TOML 1.0, with values as examples/rake shows them"}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		e.Line, e.Column = de.Position()
	}
	return e
}

type layoutParser struct {
	name  string
	spots spots
	f     *layoutFile
	errs  []*wake.InputError
}

// fail blames the key at a path, or the nearest table round it.
func (p *layoutParser) fail(at, text, cure string) {
	s, ok := p.spots[at]
	for ; !ok && at != ""; s, ok = p.spots[at] {
		at = at[:max(0, strings.LastIndexByte(at, '.'))]
	}
	p.errs = append(p.errs, &wake.InputError{File: p.name, Line: s[0], Column: s[1], Text: text, Cure: cure})
}

// value reads a physical value; absent gives def.
func (p *layoutParser) value(at string, v any, d wake.Dimension, def float64, ok func(float64) bool, want string) float64 {
	var x float64
	switch v := v.(type) {
	case nil:
		return def
	case int64:
		x = float64(v)
	case float64:
		x = v
	case string:
		var err error
		if x, _, err = wake.ParseValue(v, d); err != nil {
			p.fail(at, fmt.Sprintf("%s: %v", last(at), err), "write a number with its unit, as in \"1.5 "+d.Unit()+"\"")
			return def
		}
	default:
		p.fail(at, fmt.Sprintf("%s is no number", last(at)), "write a number in SI or a text with its unit, as in \"1.5 "+d.Unit()+"\"")
		return def
	}
	if math.IsNaN(x-x) || !ok(x) {
		p.fail(at, fmt.Sprintf("%s is %g", last(at), x), want)
		return def
	}
	return x
}

func last(at string) string { return at[strings.LastIndexByte(at, '.')+1:] }

func anyValue(float64) bool      { return true }
func positive(x float64) bool    { return x > 0 }
func notNegative(x float64) bool { return x >= 0 }

const (
	wantFinite   = "a finite number is expected"
	wantPositive = "a positive number is expected"
	wantNotMinus = "nought or more is expected"
)

func (p *layoutParser) length(at string, v any) float64 {
	return p.value(at, v, wake.Length, 0, anyValue, wantFinite)
}

func (p *layoutParser) layout() *Layout {
	f := p.f
	nan := math.NaN()
	l := &Layout{File: p.name, Title: f.Title, ignore: f.Ignore, without: map[Correction]bool{}, law: "faded", floor: nan}
	if f.Frame != "" {
		fr, err := wake.ParseFrame(f.Frame)
		if err != nil {
			p.fail("frame", err.Error(), "")
		}
		l.Frame = fr
	}
	switch a := f.Attitude.(type) {
	case nil:
		l.Roll = math.Pi / 2
	case string:
		switch a {
		case "vertical":
			l.Roll = math.Pi / 2
		case "horizontal":
		default:
			l.Roll = p.value("attitude", a, wake.Angle, 0, anyValue, wantFinite)
		}
	default:
		l.Roll = p.value("attitude", a, wake.Angle, 0, anyValue, wantFinite)
	}
	l.Datum = [3]float64{p.length("datum.x", f.Datum.X), p.length("datum.y", f.Datum.Y), p.length("datum.z", f.Datum.Z)}
	p.traverse(l)
	p.reference(l)
	p.windOff(l)
	for i := range f.Tubes {
		p.tubes(l, fmt.Sprintf("tubes.%d", i), &f.Tubes[i])
	}
	for i := range f.Probes {
		p.probe(l, fmt.Sprintf("probe.%d", i), &f.Probes[i])
	}
	p.columns(l)
	p.corrections(l)
	if f.Line != nil {
		w := &lineLayout{
			chord:     p.value("line.chord", f.Line.Chord, wake.Length, nan, positive, wantPositive),
			pressure:  p.word("line.pressure", f.Line.Pressure, "measured", "measured", "ambient", "edges"),
			threshold: p.value("line.threshold", f.Line.Threshold, wake.Dimensionless, 0.01, positive, wantPositive),
		}
		l.line = w
	}
	l.sigmaQ = p.value("uncertainty.q", f.Uncertainty.Q, wake.Dimensionless, 0, notNegative, wantNotMinus)
	l.sigmaPosition = p.value("uncertainty.position", f.Uncertainty.Position, wake.Length, 0, notNegative, wantNotMinus)
	return l
}

// word returns one of the allowed words; empty gives def.
func (p *layoutParser) word(at, s, def string, allowed ...string) string {
	if s == "" {
		return def
	}
	if !slices.Contains(allowed, s) {
		p.fail(at, fmt.Sprintf("%s is %q", last(at), s), "one of "+strings.Join(allowed, ", ")+" is expected")
		return def
	}
	return s
}

func (p *layoutParser) traverse(l *Layout) {
	t := &p.f.Traverse
	limits := func(at string, v []any) [2]float64 {
		out := [2]float64{math.NaN(), math.NaN()}
		if v == nil {
			return out
		}
		if len(v) != 2 {
			p.fail(at, fmt.Sprintf("%s has %d values", last(at), len(v)), "write [lower, upper]")
			return out
		}
		for k := range v {
			out[k] = p.length(at, v[k])
		}
		if !(out[0] < out[1]) {
			p.fail(at, fmt.Sprintf("%s runs from %g m to %g m", last(at), out[0], out[1]), "put the lower limit first")
		}
		return out
	}
	l.traverse = [3]axis{
		{column: t.X, limits: limits("traverse.x_limits", t.XLimits)},
		{column: t.Y, limits: limits("traverse.y_limits", t.YLimits)},
		{column: t.Z, limits: limits("traverse.z_limits", t.ZLimits)},
	}
	l.rollColumn = t.Roll
	for _, r := range t.Reverse {
		i := strings.Index("xyz", r)
		if len(r) != 1 || i < 0 || l.traverse[i].column == "" {
			p.fail("traverse.reverse", fmt.Sprintf("reverse names %q", r), "name axes that have a column: x, y or z")
			continue
		}
		l.traverse[i].reverse = true
	}
}

func (p *layoutParser) reference(l *Layout) {
	r := &p.f.Reference
	l.q, l.pressure, l.total, l.time = r.Q, r.Pressure, r.Total, r.Time
	l.Speed = p.value("reference.speed", r.Speed, wake.Velocity, math.NaN(), positive, wantPositive)
	l.Density = p.value("reference.density", r.Density, wake.Density, math.NaN(), positive, wantPositive)
	l.absolute = p.word("reference.readings", r.Readings, "differential", "differential", "absolute") == "absolute"
	if l.absolute && l.pressure == "" {
		p.fail("reference.readings", "readings are absolute and no reference pressure is named", "add pressure = \"COLUMN\" to [reference]")
	}
	if l.q == "" && l.total != "" && l.pressure == "" {
		p.fail("reference.total", "a total reference without a static one gives no dynamic pressure", "add q or pressure to [reference]")
	}
}

func (p *layoutParser) windOff(l *Layout) {
	w := &p.f.WindOff
	l.offColumn, l.offValue, l.offRows = w.Column, w.Value, w.Rows
	if (w.Column == "") != (w.Value == "") {
		p.fail("wind_off", "wind_off has one of column and value", "give both: column = \"run\", value = \"off\"")
	}
	l.offBelow = p.value("wind_off.q_below", w.QBelow, wake.Pressure, math.NaN(), positive, wantPositive)
	for _, r := range w.Rows {
		if r < 1 {
			p.fail("wind_off.rows", fmt.Sprintf("row %d", r), "rows are counted from 1 below the header")
		}
	}
}

// tubes reads a group of tubes on one straight line of the rake.
func (p *layoutParser) tubes(l *Layout, at string, g *tubesFile) {
	kind := Kind(p.word(at+".kind", g.Kind, "", string(Total), string(StaticPt)))
	if g.Kind == "" {
		p.fail(at, "the tubes have no kind", "add kind = \"total\" or kind = \"static\"")
	}
	if len(g.Columns) == 0 {
		p.fail(at, "the tubes have no columns", "add columns = [\"T01\", …]")
		return
	}
	n := len(g.Columns)
	along := make([]float64, n)
	switch {
	case g.Along != nil && (g.First != nil || g.Step != nil):
		p.fail(at+".along", "both along and first or step place the tubes", "keep one way")
	case g.Along != nil && len(g.Along) != n:
		p.fail(at+".along", fmt.Sprintf("%d places for %d tubes", len(g.Along), n), "give one place a tube")
	case g.Along != nil:
		for i, v := range g.Along {
			along[i] = p.length(at+".along", v)
		}
	case n > 1 && g.Step == nil:
		p.fail(at, fmt.Sprintf("%d tubes have no places", n), "add along = [\"60 mm\", …], or first and step")
	default:
		first, step := p.length(at+".first", g.First), p.length(at+".step", g.Step)
		for i := range along {
			along[i] = first + float64(i)*step
		}
	}
	per := func(key string, list []any, d wake.Dimension, all float64, ok func(float64) bool, want string) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = all
		}
		if list != nil && len(list) != n {
			p.fail(at+"."+key, fmt.Sprintf("%d %s for %d tubes", len(list), key, n), "give one a tube")
			return out
		}
		for i, v := range list {
			out[i] = p.value(at+"."+key, v, d, all, ok, want)
		}
		return out
	}
	factor := p.value(at+".factor", g.Factor, wake.Dimensionless, 1, positive, wantPositive)
	factors := per("factors", g.Factors, wake.Dimensionless, factor, positive, wantPositive)
	zeros := per("zeros", g.Zeros, wake.Pressure, 0, anyValue, wantFinite)
	diameter := p.value(at+".diameter", g.Diameter, wake.Length, math.NaN(), positive, wantPositive)
	bore := p.value(at+".bore", g.Bore, wake.Length, math.NaN(), positive, wantPositive)
	if bore >= diameter {
		p.fail(at+".bore", fmt.Sprintf("the bore, %g m, is not less than the diameter, %g m", bore, diameter), "diameter is the outer one")
	}
	across, aft := p.length(at+".across", g.Across), p.length(at+".aft", g.Aft)
	s, c := math.Sincos(p.value(at+".angle", g.Angle, wake.Angle, 0, anyValue, wantFinite))
	for i, col := range g.Columns {
		l.Tubes = append(l.Tubes, Tube{
			Column: col, Kind: kind, X: aft, Y: along[i]*c - across*s, Z: along[i]*s + across*c,
			Diameter: diameter, Bore: bore, Factor: factors[i], Zero: zeros[i],
		})
	}
}

func (p *layoutParser) probe(l *Layout, at string, g *probeFile) {
	along, across := p.length(at+".along", g.Along), p.length(at+".across", g.Across)
	s, c := math.Sincos(p.value(at+".angle", g.Angle, wake.Angle, 0, anyValue, wantFinite))
	b := Probe{
		Name: g.Name, X: p.length(at+".aft", g.Aft), Y: along*c - across*s, Z: along*s + across*c,
		U: g.U, V: g.V, W: g.W, Total: g.Total, Static: g.Static, Pitch: g.Pitch, Yaw: g.Yaw,
		Acceptance: p.value(at+".acceptance", g.Acceptance, wake.Angle, math.NaN(), positive, wantPositive),
	}
	if b.Name == "" {
		b.Name = fmt.Sprintf("probe %d", len(l.Probes)+1)
	}
	switch {
	case b.U == "" && (b.Total == "" || b.Static == ""):
		p.fail(at, b.Name+" has neither a velocity u nor a total and a static pressure", "name its columns: u (v, w), or total and static (pitch, yaw)")
	case b.U != "" && b.Total != "":
		p.fail(at, b.Name+" has both a velocity and a total pressure", "keep one of them: the other follows from it")
	case b.U == "" && (b.V != "" || b.W != ""):
		p.fail(at, b.Name+" has cross-flow components beside a total pressure", "give the directions as pitch and yaw")
	case (b.Pitch == "") != (b.Yaw == ""):
		p.fail(at, b.Name+" has one of pitch and yaw", "give both or none")
	case !math.IsNaN(b.Acceptance) && b.Pitch == "" && (b.V == "" || b.W == ""):
		p.fail(at+".acceptance", b.Name+" has an acceptance and no flow direction to judge by", "add pitch and yaw, or v and w")
	}
	l.Probes = append(l.Probes, b)
}

// columns refuses a column that is used twice and a rake without any tube.
func (p *layoutParser) columns(l *Layout) {
	seen := map[string]string{}
	for i, g := range p.f.Tubes {
		for _, c := range g.Columns {
			at := fmt.Sprintf("tubes.%d.columns", i)
			if other, twice := seen[c]; twice {
				p.fail(at, fmt.Sprintf("column %q is listed twice as a tube", c), "a tube has one place; the first is in "+other)
			}
			seen[c] = fmt.Sprintf("group %d", i+1)
		}
	}
	for _, c := range l.ignore {
		if _, ok := seen[c]; !ok {
			p.fail("ignore", fmt.Sprintf("ignore names %q, which is no tube", c), "name a column of [[tubes]]")
		}
	}
	total := len(l.Probes)
	pressures := 0
	for _, t := range l.Tubes {
		if t.Kind == Total {
			total++
			pressures++
		}
	}
	for _, b := range l.Probes {
		if b.Total != "" {
			pressures++
		}
	}
	if total == 0 && len(p.f.Tubes) > 0 {
		p.fail("tubes", "no tube measures total pressure", "add [[tubes]] with kind = \"total\"")
	} else if total == 0 {
		p.fail("", "the layout has neither tubes nor probes", "add [[tubes]] with kind, columns and places")
	}
	if pressures > 0 && l.q == "" && l.total == "" {
		p.fail("reference", "no dynamic pressure is named for the rows", "add q = \"COLUMN\" to [reference], or total and pressure")
	}
}

func (p *layoutParser) corrections(l *Layout) {
	for _, k := range slices.Sorted(maps.Keys(p.f.Corrections)) {
		at := "corrections." + k
		v := p.f.Corrections[k]
		switch {
		case slices.Contains(Corrections, Correction(k)):
			on, ok := v.(bool)
			if !ok {
				p.fail(at, k+" is no switch", "write true or false")
			} else if !on {
				l.without[Correction(k)] = true
			}
		case k == "law":
			s, _ := v.(string)
			if s == "" {
				s = "?"
			}
			l.law = p.word(at, s, "faded", "faded", "constant")
		case k == "floor":
			l.floor = p.length(at, v)
		default:
			p.fail(at, fmt.Sprintf("unknown key %q", at), "known here: "+correctionNames()+", law, floor")
		}
	}
}

func correctionNames() string {
	var s []string
	for _, c := range Corrections {
		s = append(s, string(c))
	}
	return strings.Join(s, ", ")
}

// ParseCorrection finds a correction by its name.
func ParseCorrection(s string) (Correction, error) {
	if c := Correction(s); slices.Contains(Corrections, c) {
		return c, nil
	}
	return "", &wake.InputError{Text: fmt.Sprintf("correction %q is not known", s), Cure: "one of " + correctionNames() + " is expected"}
}
