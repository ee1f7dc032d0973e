package vtk

import (
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"
)

// attribute reads one attribute of the current section.
func (l *legacy) attribute(key, word string, off int) error {
	var comps int
	switch key {
	case "scalars", "vectors", "normals", "tensors", "tensors6", "texture_coordinates", "global_ids", "pedigree_ids", "edge_flags":
		comps = map[string]int{"vectors": 3, "normals": 3, "tensors": 9, "tensors6": 6}[key]
		if comps == 0 {
			comps = 1
		}
	case "color_scalars", "lookup_table":
	default:
		return l.fail(off, legacyCure, "the word %s is not known, expected an attribute such as SCALARS, VECTORS or FIELD", quote(word))
	}
	w, _ := l.word()
	name := unpercent(w)
	what := word + " " + quote(name)
	switch key {
	case "color_scalars", "lookup_table":
		n, err := l.count("the length of " + what)
		if err != nil {
			return err
		}
		// Colours: bytes in a binary file, numbers from 0 to 1 in text.
		c := 4
		if key == "color_scalars" {
			c, n = n, l.rows
		}
		if c > 0 && n > maxCount/c {
			return l.fail(off, cutCure, "%s: %d colours of %d components", what, n, c)
		}
		typ := "float"
		if l.binary {
			typ = "unsigned_char"
		}
		l.comps = c
		return l.skip(n*c, typ, what)
	case "texture_coordinates":
		c, err := l.count("the dimension of " + what)
		if err != nil {
			return err
		}
		comps = c
	case "scalars":
		typ, at := l.word()
		if l.sameLine() {
			c, err := l.count("the number of components of " + what)
			if err != nil {
				return err
			}
			comps = c
		}
		if k, kat := l.word(); !strings.EqualFold(k, "LOOKUP_TABLE") {
			return l.fail(kat, legacyCure, "%s: the word %s, expected LOOKUP_TABLE", what, quote(k))
		}
		l.word()
		return l.array(name, comps, typ, at, what)
	}
	typ, at := l.word()
	return l.array(name, comps, typ, at, what)
}

// array reads rows × comps values of a section.
func (l *legacy) array(name string, comps int, typ string, at int, what string) error {
	l.comps = comps
	if comps < 1 || l.rows > maxCount/comps {
		return l.fail(at, cutCure, "%s: %d tuples with %d components", what, l.rows, comps)
	}
	if isText(typ) {
		return l.skip(l.rows*comps, typ, what)
	}
	if !l.r.wants(name) {
		l.p.measured = true
		return l.skip(l.rows*comps, typ, what)
	}
	v, err := l.floatsOf(l.rows, comps, typ, at, what)
	if err != nil {
		return err
	}
	if l.rows > 0 {
		l.p.measured = true
		n := len(*l.dst)
		l.p.addArray(l.dst, Array{Name: name, Components: comps, Values: v})
		l.kept = len(*l.dst) > n
	}
	return nil
}

// field reads a FIELD block. Those before the first section belong to the file as
// a whole and are passed over.
func (l *legacy) field() error {
	l.word() // its name
	n, err := l.count("the number of arrays of FIELD")
	if err != nil {
		return err
	}
	for range n {
		w, off := l.word()
		for strings.EqualFold(w, "METADATA") {
			if err := l.metadata(); err != nil {
				return err
			}
			w, off = l.word()
		}
		if w == "NULL_ARRAY" {
			continue
		}
		if w == "" {
			return l.fail(off, cutCure, "the file ends inside FIELD")
		}
		name := unpercent(w)
		what := "the array " + quote(name)
		comps, err := l.count("the number of components of " + what)
		if err != nil {
			return err
		}
		tuples, err := l.count("the number of tuples of " + what)
		if err != nil {
			return err
		}
		typ, at := l.word()
		if comps > 0 && tuples > maxCount/comps {
			return l.fail(at, cutCure, "%s: %d tuples with %d components", what, tuples, comps)
		}
		if l.dst == nil {
			l.comps = comps
			if err := l.skip(comps*tuples, typ, what); err != nil {
				return err
			}
			continue
		}
		if tuples != l.rows {
			return l.fail(off, cutCure, "%s has %d tuples, expected %d", what, tuples, l.rows)
		}
		if err := l.array(name, comps, typ, at, what); err != nil {
			return err
		}
	}
	return nil
}

// metadata reads a METADATA block, which ends with an empty line. Component
// names may be empty, so they are counted.
func (l *legacy) metadata() error {
	l.endLine()
	for l.pos < len(l.data) {
		s := strings.TrimSpace(l.line())
		if s == "" {
			return nil
		}
		if s != "COMPONENT_NAMES" {
			continue
		}
		names := make([]string, 0, min(l.comps, 64))
		for range l.comps {
			if l.pos >= len(l.data) {
				return l.fail(l.pos, cutCure, "the file ends inside the component names")
			}
			n := unpercent(strings.TrimSpace(l.line()))
			if len(names) < 64 {
				names = append(names, n)
			}
		}
		if l.kept && len(names) == l.comps {
			(*l.dst)[len(*l.dst)-1].ComponentNames = names
		}
	}
	return nil
}

// unpercent decodes %XX.
func unpercent(s string) string {
	if !strings.Contains(s, "%") {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '%' && i+2 < len(s) {
			if v, err := strconv.ParseUint(s[i+1:i+3], 16, 8); err == nil {
				b.WriteByte(byte(v))
				i += 2
				continue
			}
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

var legacyNumbers = map[string]number{
	"bit": bits, "char": int8s, "signed_char": int8s, "unsigned_char": uint8s, "short": int16s, "unsigned_short": uint16s,
	"int": int32s, "unsigned_int": uint32s, "long": int64s, "unsigned_long": uint64s,
	"vtktypeint64": int64s, "vtktypeuint64": uint64s, "vtkidtype": int32s, "float": float32s, "double": float64s,
}

func isText(typ string) bool {
	switch strings.ToLower(typ) {
	case "string", "utf8_string", "unicode_string", "variant":
		return true
	}
	return false
}

// block is the place of n values of type typ, read at offset at: in a binary file
// it goes behind them and returns their bytes.
func (l *legacy) block(n int, typ string, at int, what string) (number, []byte, error) {
	t, ok := legacyNumbers[strings.ToLower(typ)]
	if !ok {
		return 0, nil, l.fail(at, legacyCure, "%s has the type %s, which is not known", what, quote(typ))
	}
	l.kept = false
	if !l.binary {
		return t, nil, nil
	}
	l.endLine()
	lo := l.pos
	size := t.bytes(n)
	if strings.HasSuffix(strings.ToLower(typ), "long") {
		// A long has 8 bytes where most files are written, 4 elsewhere. Only one of
		// them ends where the next word begins.
		if !l.boundary(lo+size) && l.boundary(lo+size/2) {
			t -= int64s - int32s
			size /= 2
			l.p.notes = append(l.p.notes, fmt.Sprintf("%s: the type %s was written with 4 bytes", what, typ))
		}
	}
	if size > len(l.data)-lo {
		return 0, nil, l.fail(lo, cutCure, "%s: %d values of type %s take %d bytes, %d are left", what, n, typ, size, len(l.data)-lo)
	}
	l.pos = lo + size
	return t, l.data[lo:l.pos], nil
}

// boundary reports whether a line break, or the end of the file, stands at off and
// a letter behind it.
func (l *legacy) boundary(off int) bool {
	if off >= len(l.data) {
		return off == len(l.data)
	}
	if l.data[off] != '\n' {
		return false
	}
	for off < len(l.data) && space(l.data[off]) {
		off++
	}
	return off == len(l.data) || l.data[off]|0x20 >= 'a' && l.data[off]|0x20 <= 'z'
}

// floats reads the type and n tuples.
func (l *legacy) floats(n, comps int, what string) ([]float64, error) {
	typ, at := l.word()
	l.comps = comps
	return l.floatsOf(n, comps, typ, at, what)
}

func (l *legacy) floatsOf(n, comps int, typ string, at int, what string) ([]float64, error) {
	n *= comps
	t, b, err := l.block(n, typ, at, what)
	if err != nil {
		return nil, err
	}
	if !l.binary {
		v, end, err := textFloats(l.source, l.pos, len(l.data), n, what)
		l.pos = end
		return v, err
	}
	v := make([]float64, n)
	inParallel(n, func(lo, hi int) {
		toFloats(v[lo:hi], b[t.bytes(lo):], t, binary.BigEndian)
	})
	return v, nil
}

// ints reads whole numbers. When typ is empty the type stands in the file.
func (l *legacy) ints(n int, what, typ string) ([]int32, error) {
	at := l.pos
	if typ == "" {
		typ, at = l.word()
	}
	l.comps = 1
	t, b, err := l.block(n, typ, at, what)
	if err != nil {
		return nil, err
	}
	if t > uint64s {
		return nil, l.fail(at, legacyCure, "%s has the type %s, expected whole numbers", what, quote(typ))
	}
	if !l.binary {
		v, end, err := textInts(l.source, l.pos, len(l.data), n, what)
		l.pos = end
		return v, err
	}
	v := make([]int32, n)
	if k := toInts(v, b, t, binary.BigEndian); k >= 0 {
		return nil, l.fail(l.pos-len(b)+k*numberSize[t], cutCure, "%s: entry %d of %d is not a whole number below 2^31", what, k+1, n)
	}
	return v, nil
}

// skip goes behind n values.
func (l *legacy) skip(n int, typ, what string) error {
	at := l.pos
	if isText(typ) {
		return l.skipText(n, typ, what)
	}
	if _, _, err := l.block(n, typ, at, what); err != nil || l.binary {
		return err
	}
	for i := range n {
		lo, hi := word(l.data, l.pos)
		if lo == hi {
			return l.fail(lo, cutCure, "%s: the text ends after %d of %d numbers", what, i, n)
		}
		l.pos = hi
	}
	return nil
}

// skipText goes behind n texts: one to a line in a text file. In a binary file each
// has its length before it, whose two highest bits tell how many bytes the length
// takes: 3 one, 2 two, 1 four, 0 eight. A variant is always written as text.
func (l *legacy) skipText(n int, typ, what string) error {
	l.kept = false
	l.endLine()
	for i := range n {
		if l.pos >= len(l.data) {
			return l.fail(l.pos, cutCure, "%s: the file ends after %d of %d texts", what, i, n)
		}
		if !l.binary || strings.EqualFold(typ, "variant") {
			l.endLine()
			continue
		}
		width := []int{8, 4, 2, 1}[l.data[l.pos]>>6]
		if width > len(l.data)-l.pos {
			return l.fail(l.pos, cutCure, "%s: the file ends inside text %d of %d", what, i+1, n)
		}
		size := uint64(l.data[l.pos] & 0x3f)
		for _, c := range l.data[l.pos+1 : l.pos+width] {
			size = size<<8 | uint64(c)
		}
		l.pos += width
		if size > uint64(len(l.data)-l.pos) {
			return l.fail(l.pos, cutCure, "%s: text %d of %d has %d bytes, %d are left", what, i+1, n, size, len(l.data)-l.pos)
		}
		l.pos += int(size)
	}
	return nil
}
