package settings

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake"
)

// dimensions are the names that tags use.
var dimensions = map[string]wake.Dimension{
	"ratio": wake.Dimensionless, "length": wake.Length, "angle": wake.Angle,
	"speed": wake.Velocity, "pressure": wake.Pressure, "density": wake.Density,
}

// Bind fills the struct that to points to, by the tags of its fields:
//
//	toml  the key; fields without it are left alone
//	is    of numbers the dimension, and a bound: "length", "length>0", "ratio>=0";
//	      of texts the allowed words: "total|static"
//	or    what an absent key gives
//
// Numbers are finite, in SI or texts with a unit. Unknown keys and values of another type
// are faults; the field then has what an absent key gives.
func (f *File) Bind(root map[string]any, to any) {
	f.table("", "", root, reflect.ValueOf(to).Elem())
}

func (f *File) table(at Path, name string, m map[string]any, to reflect.Value) {
	var known []string
	for i := range to.NumField() {
		tag := to.Type().Field(i).Tag
		key := tag.Get("toml")
		if key == "" {
			continue
		}
		known = append(known, key)
		v := to.Field(i)
		switch v.Kind() {
		case reflect.Float64:
			x, _ := strconv.ParseFloat(tag.Get("or"), 64)
			v.SetFloat(x)
		case reflect.String:
			v.SetString(tag.Get("or"))
		case reflect.Bool:
			v.SetBool(tag.Get("or") == "true")
		case reflect.Struct:
			f.table(at.Key(key), key, nil, v) // what absent keys give
		}
		if raw, ok := m[key]; ok {
			f.value(at.Key(key), key, raw, tag.Get("is"), v)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(m)) {
		if slices.Contains(known, k) {
			continue
		}
		place, cure := at.Key(k), "known here: "+strings.Join(known, ", ")
		if near, ok := Nearest(k, known); ok {
			cure = fmt.Sprintf("did you mean %q? %s", near, cure)
		}
		if name != "" {
			k = name + "." + k
		}
		f.Fail(place, fmt.Sprintf("unknown key %q", k), cure)
	}
}

// Fail blames the key at a path, or what holds it.
func (f *File) Fail(at Path, text, cure string) { f.FailAt(f.Places.OfKey(at), text, cure) }

func (f *File) value(at Path, key string, raw any, is string, to reflect.Value) {
	wrong := func(what, cure string) { f.Fail(at, key+" is "+what, cure) }
	switch to.Kind() {
	case reflect.Interface:
		to.Set(reflect.ValueOf(raw))
	case reflect.Bool:
		if b, ok := raw.(bool); ok {
			to.SetBool(b)
		} else {
			wrong("no switch", "write true or false")
		}
	case reflect.Int:
		if n, ok := raw.(int64); ok {
			to.SetInt(n)
		} else {
			wrong("no whole number", "write it without a point or quotes")
		}
	case reflect.Float64:
		if x, ok := f.Number(at, key, raw, is); ok {
			to.SetFloat(x)
		}
	case reflect.String:
		s, ok := raw.(string)
		if !ok {
			wrong("no text", "write it in quotes")
			return
		}
		if words := strings.Split(is, "|"); is != "" && !slices.Contains(words, s) {
			wrong(strconv.Quote(s), "one of "+strings.Join(words, ", ")+" is expected")
		}
		to.SetString(s)
	case reflect.Slice:
		list, ok := raw.([]any)
		if !ok {
			wrong("no list", "write ["+key+"] in brackets, twice for tables")
			return
		}
		to.Set(reflect.MakeSlice(to.Type(), len(list), len(list)))
		for i, e := range list {
			f.value(at.Index(i), key, e, is, to.Index(i))
		}
	case reflect.Pointer:
		to.Set(reflect.New(to.Type().Elem()))
		f.value(at, key, raw, is, to.Elem())
	case reflect.Struct:
		m, ok := raw.(map[string]any)
		if !ok {
			wrong("no table", "begin it with ["+key+"]")
		}
		f.table(at, key, m, to)
	}
}

// Number reads a number of what Bind calls is.
func (f *File) Number(at Path, key string, raw any, is string) (x float64, ok bool) {
	name, bound, _ := strings.Cut(is, ">")
	d := dimensions[name]
	example := fmt.Sprintf("as in \"1.5 %s\"", d.Unit())
	switch v := raw.(type) {
	case int64:
		x = float64(v)
	case float64:
		x = v
	case string:
		var err error
		if x, _, err = wake.ParseValue(v, d); err != nil {
			f.Fail(at, fmt.Sprintf("%s: %v", key, err), "write a number with its unit, "+example)
			return 0, false
		}
	default:
		f.Fail(at, key+" is no number", "write a number in SI or a text with its unit, "+example)
		return 0, false
	}
	want := ""
	switch {
	case bound == "0" && !(x > 0):
		want = "a positive number is expected"
	case bound == "=0" && !(x >= 0):
		want = "zero or more is expected"
	case math.IsNaN(x - x):
		want = "a finite number is expected"
	default:
		return x, true
	}
	f.Fail(at, fmt.Sprintf("%s is %g", key, x), want)
	return 0, false
}
