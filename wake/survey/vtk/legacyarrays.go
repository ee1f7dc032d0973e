package vtk

import (
	"net/url"
	"slices"
	"strings"

	"wakeledger/wake/survey/number"
)

// legacyAttributes are the attributes of a section with their components, 0 for colours.
var legacyAttributes = map[string]int{
	"scalars": 1, "vectors": 3, "normals": 3, "tensors": 9, "tensors6": 6, "texture_coordinates": 1, "global_ids": 1, "pedigree_ids": 1, "edge_flags": 1,
	"color_scalars": 0, "lookup_table": 0,
}

func (l *legacy) attribute(key, word string, off int) {
	comps, ok := legacyAttributes[key]
	l.failIf(!ok, off, legacyCure, "the word %s is not known, expected an attribute such as SCALARS, VECTORS or FIELD", quote(word))
	name, _ := l.word()
	name = unpercent(name)
	what := word + " " + quote(name)
	if comps == 0 {
		l.colours(key, what, off)
		return
	}
	if key == "texture_coordinates" {
		comps = l.count("the dimension of " + what)
	}
	typ, at := l.word()
	if key == "scalars" {
		if l.sameLine() {
			comps = l.count("the number of components of " + what)
		}
		if k, kat := l.word(); !strings.EqualFold(k, "LOOKUP_TABLE") {
			l.refuse(kat, legacyCure, "%s: the word %s, expected LOOKUP_TABLE", what, quote(k))
		}
		l.word()
	}
	l.array(name, comps, typ, at, what)
}

// colours passes over colours: bytes in a binary file, numbers from 0 to 1 in text.
func (l *legacy) colours(key, what string, off int) {
	n, c := l.count("the length of "+what), 4
	if key == "color_scalars" {
		n, c = l.rows, n
	}
	l.failIf(c > 0 && n > maxCount/c, off, cutCure, "%s: %d colours of %d components", what, n, c)
	typ := "float"
	if l.binary {
		typ = "unsigned_char"
	}
	l.comps = c
	l.skip(n*c, typ, off, what)
}

func (l *legacy) array(name string, comps int, typ string, at int, what string) {
	l.comps = comps
	switch {
	case comps < 1 || l.rows > maxCount/comps:
		l.refuse(at, cutCure, "%s: %d tuples with %d components", what, l.rows, comps)
	case isText(typ):
		l.skip(l.rows*comps, typ, at, what)
	case !l.r.wants(name):
		l.p.measured = true
		l.skip(l.rows*comps, typ, at, what)
	default:
		v := legacyValues[float64](l, l.rows*comps, typ, at, what)
		if l.rows > 0 {
			l.p.measured = true
			l.p.addArray(l.dst, Array{Name: name, Components: comps, Values: v})
		}
	}
}

// field reads a FIELD block. Those before the first section belong to the file as
// a whole and are passed over.
func (l *legacy) field() {
	l.word() // its name
	for n := l.count("the number of arrays of FIELD"); n > 0; n-- {
		w, off := l.word()
		for strings.EqualFold(w, "METADATA") {
			l.metadata()
			w, off = l.word()
		}
		if w == "NULL_ARRAY" {
			continue
		}
		l.failIf(w == "", off, cutCure, "the file ends inside FIELD")
		name := unpercent(w)
		what := "the array " + quote(name)
		comps := l.count("the number of components of " + what)
		tuples := l.count("the number of tuples of " + what)
		typ, at := l.word()
		switch {
		case comps > 0 && tuples > maxCount/comps:
			l.refuse(at, cutCure, "%s: %d tuples with %d components", what, tuples, comps)
		case l.dst == nil:
			l.comps = comps
			l.skip(comps*tuples, typ, at, what)
		case tuples != l.rows:
			l.refuse(off, cutCure, "%s has %d tuples, expected %d", what, tuples, l.rows)
		default:
			l.array(name, comps, typ, at, what)
		}
	}
}

// metadata passes over a METADATA block, which ends with an empty line. Component
// names may be empty, so they are counted.
func (l *legacy) metadata() {
	l.line()
	for l.pos < len(l.data) {
		switch strings.TrimSpace(l.line()) {
		case "":
			return
		case "COMPONENT_NAMES":
			for range l.comps {
				l.failIf(l.pos >= len(l.data), l.pos, cutCure, "the file ends inside the component names")
				l.line()
			}
		}
	}
}

func unpercent(s string) string {
	if d, err := url.PathUnescape(s); err == nil {
		return d
	}
	return s
}

var legacyNumbers = map[string]number.Type{
	"bit": number.Bit, "char": number.Int8, "signed_char": number.Int8, "unsigned_char": number.Uint8, "short": number.Int16, "unsigned_short": number.Uint16,
	"int": number.Int32, "unsigned_int": number.Uint32, "long": number.Int64, "unsigned_long": number.Uint64,
	"vtktypeint64": number.Int64, "vtktypeuint64": number.Uint64, "vtkidtype": number.Int32, "float": number.Float32, "double": number.Float64,
}

func isText(typ string) bool {
	return slices.Contains([]string{"string", "utf8_string", "unicode_string", "variant"}, strings.ToLower(typ))
}

// block is the place of n values of type typ, read at offset at: in a binary file it
// goes behind them and returns their bytes, in a text file there is no payload.
func (l *legacy) block(n int, typ string, at int, what string) (number.Type, *payload) {
	t, ok := legacyNumbers[strings.ToLower(typ)]
	l.failIf(!ok, at, legacyCure, "%s has the type %s, which is not known", what, quote(typ))
	if !l.binary {
		return t, nil
	}
	l.line()
	lo, size := l.pos, t.Bytes(n)
	l.failIf(size > len(l.data)-lo, lo, cutCure, "%s: %d values of type %s take %d bytes, %d are left", what, n, typ, size, len(l.data)-lo)
	l.pos = lo + size
	p := plainPayload(l.data[lo:l.pos], size, true)
	p.off = lo
	return t, p
}

func (l *legacy) floats(n, comps int, what string) []float64 {
	typ, at := l.word()
	l.comps = comps
	return legacyValues[float64](l, n*comps, typ, at, what)
}

func (l *legacy) ints(n int, what, typ string, at int) []int32 {
	l.comps = 1
	t, ok := legacyNumbers[strings.ToLower(typ)]
	l.failIf(ok && !t.Whole(), at, legacyCure, "%s has the type %s, expected whole numbers", what, quote(typ))
	return legacyValues[int32](l, n, typ, at, what)
}

func legacyValues[T float64 | int32](l *legacy, n int, typ string, at int, what string) []T {
	t, p := l.block(n, typ, at, what)
	v, end := values[T](l.source, p, t, l.pos, len(l.data), n, what)
	l.pos = max(l.pos, end)
	return v
}

func (l *legacy) skip(n int, typ string, at int, what string) {
	if isText(typ) {
		l.skipText(n, typ, what)
		return
	}
	_, p := l.block(n, typ, at, what)
	for i := 0; i < n && p == nil; i++ {
		lo, hi := word(l.data, l.pos)
		if lo == hi {
			l.refuse(lo, cutCure, "%s: the text ends after %d of %d numbers", what, i, n)
		}
		l.pos = hi
	}
}

// skipText goes behind n texts: one to a line in a text file. In a binary file each
// has its length before it, whose two highest bits tell how many bytes the length
// takes: 3 one, 2 two, 1 four, 0 eight. A variant is always written as text.
func (l *legacy) skipText(n int, typ, what string) {
	l.line()
	for i := 0; i < n; i++ {
		rest := l.data[l.pos:]
		l.failIf(len(rest) == 0, l.pos, cutCure, "%s: the file ends after %d of %d texts", what, i, n)
		if !l.binary || strings.EqualFold(typ, "variant") {
			l.line()
			continue
		}
		width := []int{8, 4, 2, 1}[rest[0]>>6]
		l.failIf(width > len(rest), l.pos, cutCure, "%s: the file ends inside text %d of %d", what, i+1, n)
		size := uint64(rest[0] & 0x3f)
		for _, c := range rest[1:width] {
			size = size<<8 | uint64(c)
		}
		l.failIf(size > uint64(len(rest)-width), l.pos, cutCure, "%s: text %d of %d has %d bytes, %d are left", what, i+1, n, size, len(rest)-width)
		l.pos += width + int(size)
	}
}
