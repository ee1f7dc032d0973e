package settings

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"wakeledger/wake"
)

// dimensions are the names that tags use, with how a value is written.
var dimensions = map[string]struct {
	wake.Dimension
	example string
}{
	"ratio": {wake.Dimensionless, "1 %"}, "length": {wake.Length, "0.58 m"}, "area": {wake.Surface, "2.303 m2"}, "angle": {wake.Angle, "5 deg"},
	"speed": {wake.Velocity, "25 m/s"}, "pressure": {wake.Pressure, "0.5 Pa"}, "density": {wake.Density, "1.2 kg/m3"}, "time": {wake.Time, "0.4 s"},
}

// bounds are what a tag may say behind a dimension.
var bounds = map[string]struct {
	text string
	ok   func(float64) bool
}{
	"":    {"", func(float64) bool { return true }},
	">0":  {"greater than zero", func(x float64) bool { return x > 0 }},
	">=0": {"zero or more", func(x float64) bool { return x >= 0 }},
	"<1":  {"zero or more and less than one", func(x float64) bool { return x >= 0 && x < 1 }},
}

// Binder is a type that reads what stands in its place: what a file holds there, or the text
// of a flag. what names it in messages.
type Binder interface {
	Bind(f *File, at Path, what string, raw any, is string) (ok bool)
}

// Bind fills the struct that to points to, by the tags of its fields, those of embedded
// structs among them:
//
//	toml   the key; fields without it are left alone
//	is     of numbers the dimension, and a bound: "length", "length>0", "ratio<1" (from 0 to
//	       below 1); of lists of numbers ",rising" too; two numbers are limits, the lower
//	       one first; of texts the allowed words,
//	       "total|static"; of lists of texts "once" for no two alike, and "files" for that
//	       and for a text alone
//	or     what it is where nothing is said
//	need   how a key is added that has to be there
//	label  what messages call the table
//
// Numbers are finite, in SI or texts with a unit; texts are lines. Unknown keys and values of
// another type are faults; the field then has what an absent key gives.
func (f *File) Bind(root map[string]any, to any) {
	v := reflect.ValueOf(to).Elem()
	f.table("", "the top level", root, v)
}

// fields calls do for each field of a struct, and of those embedded in it.
func fields(v reflect.Value, do func(tag reflect.StructTag, v reflect.Value, index []int)) {
	for _, field := range reflect.VisibleFields(v.Type()) {
		if !field.Anonymous && field.IsExported() {
			do(field.Tag, v.FieldByIndex(field.Index), field.Index)
		}
	}
}

// Table binds a table of its own label as Bind does.
func (f *File) Table(at Path, label string, m map[string]any, to any) {
	f.table(at, label, m, reflect.ValueOf(to).Elem())
}

func (f *File) table(at Path, label string, m map[string]any, to reflect.Value) {
	var known []string
	fields(to, func(tag reflect.StructTag, v reflect.Value, _ []int) {
		key := tag.Get("toml")
		if or := tag.Get("or"); or != "" {
			preset(v, or)
		}
		if key == "" {
			return
		}
		known = append(known, key)
		raw, ok := m[key]
		_, own := v.Addr().Interface().(Binder)
		switch need := tag.Get("need"); {
		case ok:
			f.value(at.Key(key), key, raw, tag, v)
		case m != nil && need != "":
			f.FailAt(f.Places.OfKey(at), label+" has no "+key, need)
		case v.Kind() == reflect.Struct && !own:
			f.table(at.Key(key), "", nil, v) // what absent keys give
		}
	})
	for _, k := range slices.Sorted(maps.Keys(m)) {
		if !slices.Contains(known, k) {
			f.FailAt(f.Places.OfKey(at.Key(k)), fmt.Sprintf("unknown key %s in %s", Quote(k), label), cureForKey(k, known))
		}
	}
}

func cureForKey(k string, known []string) string {
	near, ok := Nearest(k, known)
	if ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return fmt.Sprintf("the nearest known key is %q; known here: %s", near, strings.Join(known, ", "))
}

// preset gives a field what its tag says.
func preset(v reflect.Value, or string) {
	switch v.Kind() {
	case reflect.Float64:
		x, _ := strconv.ParseFloat(or, 64)
		v.SetFloat(x)
	case reflect.String:
		v.SetString(or)
	case reflect.Bool:
		v.SetBool(or == "true")
	}
}

// Fail blames the key at a path, or what holds it.
func (f *File) Fail(at Path, text, cure string) { f.FailAt(f.Places.OfKey(at), text, cure) }

// Wrong blames the value at a path, or what holds it, and begins with its key or flag.
func (f *File) Wrong(at Path, text, cure string) {
	f.FailAt(f.Places.Of(at), f.Word(at)+" "+text, cure)
}

// fault blames the value at a path, and is false; isNot does so for a value of another type.
func (f *File) fault(at Path, text, cure string) bool {
	f.FailAt(f.Places.Of(at), text, cure)
	return false
}

func (f *File) isNot(at Path, what string, raw any, not, cure string) bool {
	return f.fault(at, fmt.Sprintf("%s is %s, not %s", what, Describe(raw), not), cure)
}

// value reads what stands at a path; ok is false for a fault.
func (f *File) value(at Path, what string, raw any, tag reflect.StructTag, to reflect.Value) (ok bool) {
	if b, own := to.Addr().Interface().(Binder); own {
		return b.Bind(f, at, what, raw, tag.Get("is"))
	}
	is := tag.Get("is")
	switch to.Kind() {
	case reflect.Interface:
		to.Set(reflect.ValueOf(raw))
	case reflect.Bool:
		b, ok := raw.(bool)
		if !ok {
			return f.isNot(at, what, raw, "true or false", "write "+what+" = true")
		}
		to.SetBool(b)
	case reflect.Int:
		n, ok := raw.(int64)
		if !ok {
			return f.isNot(at, what, raw, "a whole number", "write it without a point or quotes")
		}
		to.SetInt(n)
	case reflect.Float64:
		x, ok := f.Number(at, what, raw, is)
		if !ok {
			return false
		}
		to.SetFloat(x)
	case reflect.String:
		s, ok := f.Line(at, what, raw)
		to.SetString(s)
		if words := strings.Split(is, "|"); ok && len(words) > 1 && !slices.Contains(words, s) {
			return f.fault(at, what+" is "+Quote(s), meant(s, words, "use "+strings.Join(words[:len(words)-1], ", ")+" or "+words[len(words)-1]))
		}
		return ok
	case reflect.Slice:
		return f.list(at, what, raw, tag, to)
	case reflect.Array:
		return f.two(at, what, raw, is, to)
	case reflect.Map:
		return f.entries(at, what, raw, tag, to)
	case reflect.Pointer:
		v := reflect.New(to.Type().Elem())
		to.Set(v)
		if ok := f.value(at, what, raw, tag, v.Elem()); !ok && v.Elem().Kind() == reflect.Float64 {
			v.Elem().SetFloat(math.NaN()) // something is stated
			return false
		}
	case reflect.Struct:
		m, ok := raw.(map[string]any)
		if !ok {
			var keys []string
			fields(to, func(tag reflect.StructTag, _ reflect.Value, _ []int) {
				if k := tag.Get("toml"); k != "" {
					keys = append(keys, k)
				}
			})
			return f.isNot(at, what, raw, "a table", "write the keys "+strings.Join(keys, ", ")+" in it")
		}
		f.table(at, cmp.Or(tag.Get("label"), "["+what+"]"), m, to)
	}
	return true
}

// Line reads a text that is not blank and stands in one line.
func (f *File) Line(at Path, what string, raw any) (s string, ok bool) {
	s, ok = raw.(string)
	switch {
	case !ok:
		return "", f.isNot(at, what, raw, "a text", "put it in quotes")
	case strings.TrimSpace(s) == "":
		return "", f.fault(at, what+" is empty", "give it a text or remove it")
	case strings.ContainsFunc(s, unicode.IsControl):
		return "", f.fault(at, fmt.Sprintf("%s %s holds a control character", what, Quote(s)), "write it in one line of plain text")
	}
	return s, true
}

// meant begins a cure with the word that was meant.
func meant(s string, words []string, cure string) string {
	if near, ok := Nearest(s, words); ok {
		return fmt.Sprintf("did you mean %q? %s", near, cure)
	}
	return cure
}

// Unknown is the fault of a text that is none of the words for a thing, whose plural ends in s.
func Unknown(s, thing string, words []string) (text, cure string) {
	return fmt.Sprintf("%s is no %s", Quote(s), thing), meant(s, words, thing+"s are "+strings.Join(words, ", "))
}

func (f *File) list(at Path, what string, raw any, tag reflect.StructTag, to reflect.Value) bool {
	elem, is, key := to.Type().Elem(), tag.Get("is"), "[["+what+"]]"
	_, own := reflect.New(elem).Interface().(Binder)
	add, write := "give at least one", "write [a, b, …]"
	if elem.Kind() == reflect.Struct && !own {
		add, write = "add "+key, "begin each one with "+key
	}
	list, isList := raw.([]any)
	if !isList && is == "files" {
		list = []any{raw}
	} else if !isList {
		return f.isNot(at, what, raw, "a list", write)
	} else if len(list) == 0 {
		return f.fault(at, what+" is an empty list", add+" or remove the key")
	}
	each, rising := strings.CutSuffix(is, ",rising")
	once := each == "once" || each == "files"
	if once {
		each = ""
	}
	sub, all := reflect.StructTag(fmt.Sprintf("is:%q label:%q", each, cmp.Or(tag.Get("label"), key))), true
	out := reflect.MakeSlice(to.Type(), 0, len(list))
	for i, e := range list {
		at, of := at.Index(i), fmt.Sprintf("element %d of %s", i+1, what)
		if !isList {
			of = what
		}
		v := reflect.New(elem).Elem()
		ok := f.value(at, of, e, sub, v) && f.fits(at, what, v, out, rising, once)
		all = all && ok
		out = reflect.Append(out, v)
	}
	to.Set(out)
	return all
}

// fits holds an element against those before it.
func (f *File) fits(at Path, key string, v, before reflect.Value, rising, once bool) bool {
	text, cure := "", ""
	if n := before.Len(); rising && n > 0 && !(before.Index(n-1).Float() < v.Float()) {
		text, cure = fmt.Sprintf("%s goes from %g to %g", key, before.Index(n-1).Float(), v.Float()), "list the numbers from low to high, each once"
	}
	for i := 0; once && i < before.Len(); i++ {
		if before.Index(i).String() == v.String() {
			text, cure = fmt.Sprintf("%s is listed twice in %s", Quote(v.String()), key), "remove one of them"
		}
	}
	return text == "" || f.fault(at, text, cure)
}

// two reads two numbers.
func (f *File) two(at Path, what string, raw any, is string, to reflect.Value) bool {
	list, ok := raw.([]any)
	if !ok || len(list) != 2 {
		return f.isNot(at, what, raw, "two numbers", "write [lower limit, upper limit]")
	}
	var v [2]float64
	for i, e := range list {
		x, good := f.Number(at.Index(i), [2]string{"lower", "upper"}[i]+" limit of "+what, e, is)
		v[i], ok = x, ok && good
	}
	if ok && !(v[0] < v[1]) {
		return f.fault(at, fmt.Sprintf("%s runs from %g to %g", what, v[0], v[1]), "put the lower limit first and the upper limit above it")
	}
	if ok {
		to.Set(reflect.ValueOf(v))
	}
	return ok
}

// entries reads a table of whatever keys.
func (f *File) entries(at Path, what string, raw any, tag reflect.StructTag, to reflect.Value) bool {
	m, ok := raw.(map[string]any)
	if !ok {
		return f.isNot(at, what, raw, "a table", "write "+what+" = { "+tag.Get("entry")+" }")
	}
	if to.IsNil() {
		to.Set(reflect.MakeMap(to.Type()))
	}
	for _, k := range slices.Sorted(maps.Keys(m)) {
		v := reflect.New(to.Type().Elem()).Elem()
		good := f.value(at.Key(k), what+"."+k, m[k], tag, v)
		if _, line := f.Line(at.Key(k), "a key of "+what, k); !good || !line {
			ok = false
			continue
		}
		to.SetMapIndex(reflect.ValueOf(k), v)
	}
	return ok
}

// Number reads a number of what Bind calls is.
func (f *File) Number(at Path, what string, raw any, is string) (x float64, ok bool) {
	i := strings.IndexAny(is+"<", "<>")
	d, bound := dimensions[is[:i]], bounds[is[i:]]
	switch v := raw.(type) {
	case int64:
		x = float64(v)
	case float64:
		x = v
	case string:
		var err error
		if x, _, err = wake.ParseValue(v, d.Dimension); err != nil {
			return 0, f.fault(at, fmt.Sprintf("%s is %s: %v", what, Quote(v), err), "write a number with its unit, as in "+strconv.Quote(d.example))
		}
	default:
		return 0, f.isNot(at, what, raw, "a number", "write a plain SI number or a text with its unit, as in "+strconv.Quote(d.example))
	}
	switch {
	case math.IsNaN(x - x):
		return 0, f.fault(at, fmt.Sprint(what, " is ", x), "a finite number is needed")
	case !bound.ok(x):
		return 0, f.fault(at, what+" is "+Describe(raw), "it has to be "+bound.text)
	}
	return x, true
}

// Describe names a value of the file for messages.
func Describe(v any) string {
	switch v := v.(type) {
	case string:
		return Quote(v)
	case int64, float64, bool:
		return fmt.Sprint(v)
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case map[string]any:
		return "a table"
	}
	return "a date or a time"
}

// Quote puts a text in quotes, with escapes, cut short when it is long.
func Quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:59]) + "…"
	}
	return strconv.Quote(s)
}
