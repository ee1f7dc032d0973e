package settings

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Written is a table that a flag states in one text: Raw is what a file would hold in its
// place; ok is false for a text of another form.
type Written interface {
	Raw(text string) (raw any, ok bool)
}

// Flag is a setting as a command line states it, a value of the flags' package.
type Flag struct {
	// Name is that of the flag, Table the key of the table that the setting is in.
	Name, Table, Usage string
	options            []string
	// Texts are those given.
	Texts []string

	f     *File
	root  any
	index []int
	at    Path
	tag   reflect.StructTag
}

// Flags lists the settings of the struct that to points to which have a flag, and gives all
// of them what they are where nothing is said. Beside those of Bind these tags count:
//
//	flag  the name, and options behind commas (Flag.Is)
//	say   what it does, with the form of its value in <>
//
// Each flag fills its field when it is set, as the same text in a file would: lists have
// commas, tables with whatever keys KEY=VALUE.
func (f *File) Flags(to any) []*Flag {
	root := reflect.ValueOf(to).Elem()
	f.Places, f.flags = &Places{}, []*Flag{}
	f.table("", "", nil, root)
	f.collect("", root.Type(), nil, func(g *Flag) { g.root, f.flags = to, append(f.flags, g) })
	return f.flags
}

func (f *File) collect(at Path, t reflect.Type, index []int, do func(*Flag)) {
	fields(reflect.New(t).Elem(), func(tag reflect.StructTag, v reflect.Value, own []int) {
		index, in := slices.Concat(index, own), at
		if key := tag.Get("toml"); key != "" {
			in = at.Key(key)
		}
		if names := strings.Split(tag.Get("flag"), ","); names[0] != "" {
			table, _, _ := strings.Cut(string(in), "\x00")
			do(&Flag{Name: names[0], options: names[1:], Table: table, Usage: strings.NewReplacer("<", "`", ">", "`").Replace(tag.Get("say")), f: f, index: index, at: in, tag: tag})
		}
		if v.Kind() == reflect.Struct {
			f.collect(in, v.Type(), index, do)
		}
	})
}

// Is reports whether the flag has an option.
func (g *Flag) Is(option string) bool { return slices.Contains(g.options, option) }

// String is what holds where the flag is not given.
func (g *Flag) String() string {
	if g.f == nil {
		return ""
	}
	return g.tag.Get("or")
}

// Type names the kind of value for the list of flags.
func (g *Flag) Type() string {
	if reflect.ValueOf(g.root).Elem().FieldByIndex(g.index).Kind() == reflect.Bool {
		return "bool"
	}
	return "value"
}

// Set takes up the text of the flag.
func (g *Flag) Set(text string) error {
	err := g.On(g.root, text, len(g.Texts) > 0)
	g.Texts = append(g.Texts, text)
	return err
}

// On takes a text of the flag up in another struct of its kind; more adds to a list.
func (g *Flag) On(root any, text string, more bool) error {
	f := &File{Places: &Places{}, flags: g.f.flags}
	to := reflect.ValueOf(root).Elem().FieldByIndex(g.index)
	what := "--" + g.Name
	raw, ok := rawOf(text, to.Type(), g.tag.Get("is"))
	switch before := to; {
	case !ok:
		_, form, _ := strings.Cut(g.Usage, "`")
		form, _, _ = strings.Cut(form, "`")
		f.FailAt(Position{}, fmt.Sprintf("%s is %s", what, Quote(text)), form+" is expected")
	case to.Kind() == reflect.Map:
		for k := range raw.(map[string]any) {
			if more && to.MapIndex(reflect.ValueOf(k)).IsValid() {
				f.FailAt(Position{}, fmt.Sprintf("%s names %s twice", what, Quote(k)), "name each once")
			}
		}
		f.value(g.at, what, raw, g.tag, to)
	case to.Kind() == reflect.Slice && more:
		v := reflect.New(to.Type()).Elem()
		f.value(g.at, what, raw, g.tag, v)
		to.Set(reflect.AppendSlice(before, v))
	default:
		f.value(g.at, what, raw, g.tag, to)
	}
	for _, e := range f.faults {
		if !strings.Contains(e.Text, what) { // but something within the text
			e.Text = what + " " + Quote(text) + ": " + e.Text
		}
	}
	return f.Err()
}

// rawOf is what a file would hold for the text of a flag.
func rawOf(text string, t reflect.Type, is string) (raw any, ok bool) {
	if w, own := reflect.New(t).Interface().(Written); own {
		return w.Raw(text)
	}
	switch t.Kind() {
	case reflect.Pointer:
		return rawOf(text, t.Elem(), is)
	case reflect.Bool:
		if b, err := strconv.ParseBool(text); err == nil {
			return b, true
		}
	case reflect.Int:
		if n, err := strconv.ParseInt(text, 10, 64); err == nil {
			return n, true
		}
	case reflect.Map:
		// A name may hold the sign: the last one counts, of texts the first.
		i := strings.LastIndexByte(text, '=')
		if t.Elem().Kind() == reflect.String {
			i = strings.IndexByte(text, '=')
		}
		if i < 0 {
			return nil, false
		}
		v, ok := rawOf(strings.TrimSpace(text[i+1:]), t.Elem(), is)
		return map[string]any{strings.TrimSpace(text[:i]): v}, ok
	case reflect.Slice, reflect.Array:
		if is == "files" {
			return text, true
		}
		words := strings.Split(text, ",")
		if t.Elem().Kind() == reflect.Struct {
			words = []string{text}
		}
		list := make([]any, len(words))
		for i, w := range words {
			if list[i], ok = rawOf(strings.TrimSpace(w), t.Elem(), is); !ok {
				return nil, false
			}
		}
		return list, true
	}
	return text, true
}

// Word is how messages call the setting at a path: by its flag, or by its key.
func (f *File) Word(at Path) string {
	for _, g := range f.flags {
		if g.at == at {
			return "--" + g.Name
		}
	}
	keys := strings.Split(strings.TrimSuffix(string(at), "\x00"), "\x00")
	return keys[len(keys)-1]
}

// Has reports whether the setting at a path is stated.
func (f *File) Has(at Path) bool {
	if f.flags != nil {
		return slices.ContainsFunc(f.flags, func(g *Flag) bool { return g.at == at && len(g.Texts) > 0 })
	}
	_, key := f.Places.keys[at]
	_, value := f.Places.values[at]
	return key || value
}
