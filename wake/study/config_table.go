package study

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"wakeledger/wake"
	"wakeledger/wake/force"
	"wakeledger/wake/survey/settings"
)

// decoder gathers what is wrong and what is doubtful about one study file.
type decoder struct {
	*settings.File
	warns []wake.Warning
}

func (d *decoder) warn(code string, p settings.Position, text, cure string) {
	where := d.Name
	if p.Line > 0 {
		where += fmt.Sprintf(":%d:%d", p.Line, p.Column)
	}
	d.warns = append(d.warns, wake.Warning{Code: code, Where: where, Text: text, Cure: cure})
}

// table is one table of the file; a nil map is an absent one, whose keys are all
// absent.
type table struct {
	d    *decoder
	at   settings.Path
	name string // "" for the top level, then "reference", …
	m    map[string]any
}

// homes says where each key belongs, to help with a key in the wrong table.
var homes = map[string][]string{
	"":                 {"title", "baseline", "quote", "reference", "section", "region", "station", "configuration", "measure", "structures", "maps", "uncertainty"},
	"reference":        {"speed", "density", "pressure", "total_pressure", "frontal_area", "count", "frame", "anchor", "plane", "file", "tare", "yaw"},
	"section":          {"width", "height", "floor"},
	"region":           {"name", "box", "side"},
	"region.box":       {"y", "z"},
	"station":          {"name", "normal", "position", "tolerance", "files"},
	"configuration":    {"name", "note", "surveys", "force", "repeats", "refinements", "snapshots", "time_step", "tare", "steady", "reference"},
	"survey":           {"file", "rake", "layout", "snapshots", "time_step", "reference"},
	"reference of one": {"speed", "density", "pressure", "total_pressure", "plane"},
	"force":            {"drag_area", "standard_uncertainty", "record", "repeats", "start", "parts"},
	"measure":          {"threshold", "weight", "support", "symmetry", "turbulence", "columns", "pressure_includes_k", "source_part", "onset"},
	"maps":             {"quantities", "levels", "limits", "change_limits", "size", "dpi", "theme", "vectors", "single", "silhouette", "window"},
	"maps.window":      {"x", "y", "z"},
	"structures":       {"by", "threshold", "prominence", "width", "width_of", "effective_samples", "correlation_length"},
	"uncertainty":      {"speed", "density", "pressure", "total_pressure", "position", "solution", "steady", "effective_samples", "correlation_length", "independent", "trials"},
}

// open makes a table and refuses the keys that it does not know.
func (d *decoder) open(at settings.Path, name string, m map[string]any) table {
	t := table{d: d, at: at, name: name, m: m}
	known := homes[name]
	for _, k := range slices.Sorted(maps.Keys(m)) {
		if slices.Contains(known, k) {
			continue
		}
		d.FailAt(d.Places.OfKey(at.Key(k)), fmt.Sprintf("unknown key %s in %s", quote(k), t.label()), cureForKey(k, name))
	}
	return t
}

func cureForKey(k, name string) string {
	if near, ok := settings.Nearest(k, homes[name]); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	for _, home := range slices.Sorted(maps.Keys(homes)) {
		if home != name && slices.Contains(homes[home], k) {
			return fmt.Sprintf("%q belongs in %s", k, tableLabel(home))
		}
	}
	near, _ := settings.Nearest(k, homes[name])
	return fmt.Sprintf("the nearest known key is %q; known here: %s", near, strings.Join(homes[name], ", "))
}

func tableLabel(name string) string {
	switch name {
	case "":
		return "the top level"
	case "region", "station", "configuration":
		return "[[" + name + "]]"
	case "region.box", "force":
		return name
	case "survey":
		return "a survey"
	case "reference of one":
		return "the reference of a configuration or survey"
	}
	return "[" + name + "]"
}

func (t table) label() string { return tableLabel(t.name) }

func (t table) has(key string) bool { _, ok := t.m[key]; return ok }

// fail blames the value of key, or the table when it has no such key.
func (t table) fail(key, text, cure string) { t.d.FailAt(t.d.Places.Of(t.at.Key(key)), text, cure) }

// failTable blames the table itself.
func (t table) failTable(text, cure string) { t.d.FailAt(t.d.Places.OfKey(t.at), text, cure) }

// table returns the sub-table under key; name is its name in homes.
func (t table) table(key, name string) table {
	v, ok := t.m[key]
	if !ok {
		return table{d: t.d, at: t.at.Key(key), name: name}
	}
	m, ok := v.(map[string]any)
	if !ok {
		t.fail(key, fmt.Sprintf("%s is %s, not a table", key, describe(v)), "write the keys "+strings.Join(homes[name], ", ")+" in it")
		return table{d: t.d, at: t.at.Key(key), name: name}
	}
	return t.d.open(t.at.Key(key), name, m)
}

// tables returns the elements of an array of tables.
func (t table) tables(key string) []table {
	v, ok := t.m[key]
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.d.FailAt(t.d.Places.OfKey(t.at.Key(key)), fmt.Sprintf("%s is %s, not a list of tables", key, describe(v)), "begin each one with [["+key+"]]")
		return nil
	}
	var out []table
	for i, e := range list {
		at := t.at.Key(key).Index(i)
		if m, ok := e.(map[string]any); ok {
			out = append(out, t.d.open(at, key, m))
		} else {
			t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("element %d of %s is %s, not a table", i+1, key, describe(e)), "begin each one with [["+key+"]]")
		}
	}
	return out
}

// text returns a string that is not blank and can stand in one line; ok is false
// when the key is absent or refused.
func (t table) text(key string) (s string, ok bool) {
	v, present := t.m[key]
	if !present {
		return "", false
	}
	s, ok = v.(string)
	if !ok {
		t.fail(key, fmt.Sprintf("%s is %s, not a text", key, describe(v)), "put it in quotes")
		return "", false
	}
	return s, t.line(t.at.Key(key), key, s)
}

// line refuses a blank text and one with control characters.
func (t table) line(at settings.Path, what, s string) bool {
	switch {
	case strings.TrimSpace(s) == "":
		t.d.FailAt(t.d.Places.Of(at), what+" is empty", "give it a text or remove it")
		return false
	case strings.ContainsFunc(s, unicode.IsControl):
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s %s holds a control character", what, quote(s)), "write it in one line of plain text")
		return false
	}
	return true
}

// flag returns a true or false, false where the key is absent.
func (t table) flag(key string) bool {
	v, ok := t.m[key]
	if !ok {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		t.fail(key, key+" is "+describe(v)+", not true or false", "write "+key+" = true")
	}
	return b
}

// nameOf returns the required name of a table in a list.
func (t table) nameOf() string {
	if !t.has("name") {
		t.failTable(t.label()+" has no name", `add name = "…"`)
		return ""
	}
	s, ok := t.text("name")
	if ok && strings.TrimSpace(s) != s {
		t.fail("name", "the name "+quote(s)+" begins or ends with a blank", "remove the blank")
	}
	return s
}

// word returns one of the allowed words, or empty.
func (t table) word(key string, allowed ...string) string {
	s, ok := t.text(key)
	if !ok || slices.Contains(allowed, s) {
		return s
	}
	cure := "use " + orList(allowed)
	if near, ok := settings.Nearest(s, allowed); ok {
		cure = fmt.Sprintf("did you mean %q? %s", near, cure)
	}
	t.fail(key, fmt.Sprintf("%s is %s", key, quote(s)), cure)
	return ""
}

func orList(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// list returns the elements of a list; an empty one is refused.
func (t table) list(key, cure string) []any {
	v, ok := t.m[key]
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.fail(key, fmt.Sprintf("%s is %s, not a list", key, describe(v)), cure)
		return nil
	}
	if len(list) == 0 {
		t.fail(key, key+" is an empty list", "name at least one or remove the key")
	}
	return list
}

// surveys returns a list of surveys: file names, and tables that name the logs of a
// rake and its layout.
func (t table) surveys(key string) []Survey {
	var out []Survey
	for i, e := range t.list(key, `write ["…", "…"]`) {
		at, what := t.at.Key(key).Index(i), fmt.Sprintf("element %d of %s", i+1, key)
		var s Survey
		switch e := e.(type) {
		case string:
			if !t.line(at, what, e) {
				continue
			}
			s.File = e
		case map[string]any:
			ok := false
			sub := t.d.open(at, "survey", e)
			switch {
			case sub.has("snapshots"):
				s, ok = sub.snapshots()
			case sub.has("file"):
				s.File, ok = sub.text("file")
			default:
				s, ok = sub.rake()
			}
			if !ok {
				continue
			}
			s.Own = sub.ownReference()
		default:
			t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s, neither a text nor a table", what, describe(e)), `write "file.csv", { rake = "log.csv", layout = "rake.toml" } or { snapshots = "run2_*.csv" }`)
			continue
		}
		if slices.ContainsFunc(out, func(o Survey) bool { return o.Name() == s.Name() && o.Layout == s.Layout }) {
			t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is listed twice in %s", quote(s.Name()), key), "remove one of them")
			continue
		}
		out = append(out, s)
	}
	return out
}

// rake reads a survey that is given by the logs of a rake.
func (t table) rake() (s Survey, ok bool) {
	ok = true
	for _, key := range []string{"rake", "layout"} {
		if !t.has(key) {
			t.failTable("the survey has no "+key, `write { rake = "log.csv", layout = "rake.toml" }, with rake = ["a.csv", "b.csv"] for several logs of one plane`)
			ok = false
		}
	}
	s.Logs = t.names("rake")
	s.Layout, _ = t.text("layout")
	return s, ok && len(s.Logs) > 0 && s.Layout != ""
}

// snapshots reads a survey that is the average of snapshots.
func (t table) snapshots() (s Survey, ok bool) {
	for _, key := range []string{"file", "rake", "layout"} {
		if t.has(key) {
			t.fail(key, "a survey has "+key+" beside snapshots", "make two surveys of it")
		}
	}
	s.Snapshots = t.names("snapshots")
	if x := t.value("time_step", timeDim, positive); x != nil {
		s.TimeStep = *x
	}
	return s, s.Snapshots != nil
}

// ownReference reads the reference of a configuration or survey, nil for none.
func (t table) ownReference() *OwnReference {
	if !t.has("reference") {
		return nil
	}
	r := t.table("reference", "reference of one")
	out := &OwnReference{
		Speed: r.value("speed", speedDim, positive), Density: r.value("density", densityDim, positive),
		Pressure: r.value("pressure", pressureDim, anyNumber), TotalPressure: r.value("total_pressure", pressureDim, anyNumber),
	}
	out.Plane, _ = r.text("plane")
	r.onePressure()
	return out
}

// onePressure refuses pressures beside a plane that they would come from.
func (t table) onePressure() {
	for _, key := range []string{"pressure", "total_pressure"} {
		if t.has(key) && (t.has("plane") || t.has("file")) {
			t.fail(key, t.label()+" states "+key+" and a plane that it would come from", "give one of them")
		}
	}
}

// parts reads groups of a record's columns, in order of their names.
func (t table) parts() []force.Group {
	v, ok := t.m["parts"]
	if !ok {
		return nil
	}
	m, ok := v.(map[string]any)
	if !ok {
		t.fail("parts", "parts is "+describe(v)+", not a table", `write parts = { wheels = ["front wheels", "rear wheels"] }`)
		return nil
	}
	sub := table{d: t.d, at: t.at.Key("parts"), name: t.name, m: m}
	var out []force.Group
	for _, name := range slices.Sorted(maps.Keys(m)) {
		if sub.line(sub.at.Key(name), "the name of a part", name) {
			out = append(out, force.Group{Name: name, Columns: sub.names(name)})
		}
	}
	return out
}

// names returns a text or a list of texts.
func (t table) names(key string) []string {
	if _, list := t.m[key].([]any); list {
		return t.texts(key)
	}
	if s, ok := t.text(key); ok {
		return []string{s}
	}
	return nil
}

// texts returns a list of strings, each a non-blank line; an empty list is
// refused.
func (t table) texts(key string) []string {
	var out []string
	for i, e := range t.list(key, `write ["…", "…"]`) {
		at, what := t.at.Key(key).Index(i), fmt.Sprintf("element %d of %s", i+1, key)
		s, ok := e.(string)
		if !ok {
			t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s, not a text", what, describe(e)), "put it in quotes")
			continue
		}
		if !t.line(at, what, s) {
			continue
		}
		if slices.Contains(out, s) {
			t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is listed twice in %s", quote(s), key), "remove one of them")
			continue
		}
		out = append(out, s)
	}
	return out
}

// bound is a condition that a number has to meet.
type bound struct {
	text string
	ok   func(float64) bool
}

var (
	anyNumber = bound{"finite", func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }}
	positive  = bound{"greater than zero", func(x float64) bool { return x > 0 && x <= math.MaxFloat64 }}
	belowOne  = bound{"greater than zero and less than one", func(x float64) bool { return x > 0 && x < 1 }}
	notMinus  = bound{"zero or more", func(x float64) bool { return x >= 0 && x <= math.MaxFloat64 }}
)

// value returns a number in SI: a plain one, or a text with a unit.
func (t table) value(key string, dim wake.Dimension, b bound) *float64 {
	v, ok := t.m[key]
	if !ok {
		return nil
	}
	x, ok := t.number(t.at.Key(key), key, v, dim, b)
	if !ok {
		return nil
	}
	return &x
}

func (t table) number(at settings.Path, what string, v any, dim wake.Dimension, b bound) (float64, bool) {
	var x float64
	switch v := v.(type) {
	case int64:
		x = float64(v)
	case float64:
		x = v
	case string:
		var err error
		if x, _, err = wake.ParseValue(v, dim); err != nil {
			t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s: %v", what, quote(v), err), "write a number with its unit, as in "+strconv.Quote(exampleOf[dim]))
			return 0, false
		}
	default:
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s, not a number", what, describe(v)), "write a plain SI number or a text with its unit, as in "+strconv.Quote(exampleOf[dim]))
		return 0, false
	}
	if !anyNumber.ok(x) {
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %v", what, x), "a finite number is needed")
		return 0, false
	}
	if !b.ok(x) {
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s", what, describe(v)), "it has to be "+b.text)
		return 0, false
	}
	return x, true
}

// numbers returns a list of numbers that rise from one to the next.
func (t table) numbers(at settings.Path, what string, v any, dim wake.Dimension, b bound) ([]float64, bool) {
	list, ok := v.([]any)
	if !ok {
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s, not a list of numbers", what, describe(v)), "write [a, b, …]")
		return nil, false
	}
	if len(list) == 0 {
		t.d.FailAt(t.d.Places.Of(at), what+" is an empty list", "give at least one number or remove the key")
		return nil, false
	}
	out, all := make([]float64, 0, len(list)), true
	for i, e := range list {
		x, ok := t.number(at.Index(i), fmt.Sprintf("element %d of %s", i+1, what), e, dim, b)
		if !ok {
			all = false
			continue
		}
		if n := len(out); n > 0 && all && !(out[n-1] < x) {
			t.d.FailAt(t.d.Places.Of(at.Index(i)), fmt.Sprintf("%s goes from %g to %g", what, out[n-1], x), "list the numbers from low to high, each once")
			all = false
		}
		out = append(out, x)
	}
	return out, all
}

// pair returns a lower and an upper limit.
func (t table) pair(at settings.Path, what string, v any, dim wake.Dimension) (out [2]float64, ok bool) {
	out, ok = t.two(at, what, v, dim, [2]string{"lower limit", "upper limit"})
	if ok && !(out[0] < out[1]) {
		how := "reversed"
		if out[0] == out[1] {
			how = "empty"
		}
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s runs from %g to %g, which is %s", what, out[0], out[1], how), "put the lower limit first and the upper limit above it")
		return out, false
	}
	return out, ok
}

// two returns a list of two numbers in any order; names says what each is.
func (t table) two(at settings.Path, what string, v any, dim wake.Dimension, names [2]string) (out [2]float64, ok bool) {
	list, isList := v.([]any)
	if !isList || len(list) != 2 {
		t.d.FailAt(t.d.Places.Of(at), fmt.Sprintf("%s is %s, not two numbers", what, describe(v)), fmt.Sprintf("write [%s, %s]", names[0], names[1]))
		return out, false
	}
	ok = true
	for i, e := range list {
		x, good := t.number(at.Index(i), fmt.Sprintf("%s of %s", names[i], what), e, dim, anyNumber)
		out[i], ok = x, ok && good
	}
	return out, ok
}

// band returns a standard uncertainty: absolute, or relative when it is given
// in per cent.
func (t table) band(key string, dim wake.Dimension) *Band {
	v, ok := t.m[key]
	if !ok {
		return nil
	}
	b := Band{Relative: dim == dimensionless}
	if s, isText := v.(string); isText && strings.HasSuffix(strings.TrimSpace(s), "%") {
		b.Relative = true
	}
	if b.Relative {
		dim = dimensionless
	}
	x, ok := t.number(t.at.Key(key), key, v, dim, notMinus)
	if !ok {
		return nil
	}
	b.Value = x
	return &b
}

// describe names a value of the file for messages.
func describe(v any) string {
	switch v := v.(type) {
	case string:
		return quote(v)
	case int64:
		return strconv.FormatInt(v, 10)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case bool:
		return strconv.FormatBool(v)
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case map[string]any:
		return "a table"
	}
	return "a date or a time"
}

// quote puts a text in quotes, with escapes, cut short when it is long.
func quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:59]) + "…"
	}
	return strconv.Quote(s)
}
