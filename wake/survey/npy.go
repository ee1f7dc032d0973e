package survey

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey/number"
)

// The .npy format: magic, version, length of a header, a Python literal of a dict
// with descr, fortran_order and shape, and the raw values. Versions 1 to 3 are
// read. Reference: NumPy Enhancement Proposal 1, "A simple file format for NumPy
// arrays" (R. Kern, 2007) [mem], and the files of the tests, which NumPy wrote.
const (
	numpyMagic = "\x93NUMPY"
	// maxNumpyHeader is how long a header may be; 4096 fields take less.
	maxNumpyHeader = 1 << 20
	// maxMember is how much larger than its packed size a member of an archive may
	// be: deflate packs no better than 1032 to 1.
	maxMember = 1032
)

const numpyCure = "save the array again with numpy.save or numpy.savez"

// numpyArray is one array: rows of fields, once table has laid it out.
type numpyArray struct {
	name   string
	rows   int
	fields []numpyField
	data   []byte
	// dims is the shape as written; its elements have width bytes and the fields
	// element, one without a name for plain numbers.
	dims    []int
	fortran bool
	element []numpyField
	width   int
}

// textError says that an array holds text.
type textError struct{ error }

func (e *textError) Unwrap() error { return e.error }

// numpyField is a column of an array: a value at offset + i·stride for row i.
type numpyField struct {
	name           string // empty for a column of a plain array
	part, parts    int    // of a vector within a field; parts is 0 for none
	typ            number.Type
	big            bool
	offset, stride int
}

// column converts a field.
func (a *numpyArray) column(f numpyField) []float64 {
	out := make([]float64, a.rows)
	if a.rows > 0 {
		number.Floats(out, a.data[f.offset:], f.stride, f.typ, f.big)
	}
	return out
}

// readNumpy reads a .npy file, or an .npz archive of which each member is a column
// or a table.
func readNumpy(ctx context.Context, t *text, opt *Options) (*wake.Samples, error) {
	data, err := t.all()
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if t.kind == kindZip {
		return readZip(ctx, t.name, data, opt)
	}
	a, err := parseNumpy(t.name, data)
	if err == nil {
		err = a.table(nil)
	}
	if err != nil {
		return nil, err
	}
	c := &columnar{name: t.name, n: a.rows, fields: len(a.fields), word: "row"}
	if a.fields[0].name != "" {
		for _, f := range a.fields {
			c.heads = append(c.heads, numpyHead(f.name, f.part, f.parts))
		}
	}
	c.col = func(k int) []float64 { return a.column(a.fields[k]) }
	s, _, _, err := c.samples(opt)
	return s, err
}

// readZip reads the members of an archive. All arrays must have as many rows, or the
// shape of one mesh grid; a single value, such as a time, and text are passed over.
func readZip(ctx context.Context, name string, data []byte, opt *Options) (*wake.Samples, error) {
	bad := func(cure, format string, a ...any) error {
		return &wake.InputError{File: name, Text: fmt.Sprintf(format, a...), Cure: cure}
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, bad("copy or save the file again", "is a zip archive or a spreadsheet, and damaged: %v", err)
	}
	type column struct {
		a *numpyArray
		f numpyField
	}
	var columns []column
	var heads []heading
	var small []string
	var arrays []*numpyArray
	var labels []string
	any := false
	for _, m := range z.File {
		base := path.Base(m.Name)
		label, ok := strings.CutSuffix(base, ".npy")
		if !ok {
			continue
		}
		any = true
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if m.UncompressedSize64 > maxMember*m.CompressedSize64+sniffBytes || m.CompressedSize64 > uint64(len(data)) {
			return nil, bad("copy or save the file again", "the member %q says that %d bytes unpack to %d", base, m.CompressedSize64, m.UncompressedSize64)
		}
		r, err := m.Open()
		if err != nil {
			return nil, bad("copy or save the file again", "the member %q cannot be unpacked: %v", base, err)
		}
		b := make([]byte, m.UncompressedSize64)
		_, err = io.ReadFull(r, b)
		if err == nil {
			// The check sum is compared at the end.
			if n, e := io.Copy(io.Discard, io.LimitReader(r, 1)); n > 0 || e != nil {
				err = e
			}
		}
		r.Close()
		if err != nil {
			return nil, bad("copy or save the file again", "the member %q is damaged: %v", base, err)
		}
		a, err := parseNumpy(name+"#"+base, b)
		if text := (*textError)(nil); errors.As(err, &text) {
			small = append(small, label)
			continue
		}
		if err != nil {
			return nil, err
		}
		arrays, labels = append(arrays, a), append(labels, label)
	}
	rows, mesh := 0, meshGrid(arrays, labels, opt)
	for i, a := range arrays {
		label := labels[i]
		if err := a.table(mesh); err != nil {
			return nil, err
		}
		if a.rows <= 1 && rows != a.rows {
			small = append(small, label)
			continue
		}
		if rows == 0 {
			rows = a.rows
		}
		if a.rows != rows {
			return nil, bad("save columns of one length, or arrays of one shape as numpy.meshgrid gives them", "the member %q has %d rows, others have %d", label+".npy", a.rows, rows)
		}
		for k, f := range a.fields {
			h := numpyHead(label, k, len(a.fields))
			if f.name != "" {
				h = numpyHead(f.name, f.part, f.parts)
			}
			heads, columns = append(heads, h), append(columns, column{a, f})
		}
	}
	if !any {
		return nil, bad("save the plane as comma-separated text, or as NumPy .npz", "is a zip archive without NumPy arrays, or a spreadsheet")
	}
	if rows == 0 {
		return nil, bad("save one array for each column", "the archive holds no array with rows")
	}
	c := &columnar{name: name, heads: heads, n: rows, fields: len(columns), word: "row"}
	c.col = func(k int) []float64 { return columns[k].a.column(columns[k].f) }
	s, _, _, err := c.samples(opt)
	if err == nil {
		s.Ignored = append(s.Ignored, small...)
	}
	return s, err
}

// meshGrid returns the shape, without ones, of the arrays that hold a coordinate in two
// dimensions or more; nil where there is none. Its values are then taken in C order.
func meshGrid(arrays []*numpyArray, labels []string, opt *Options) []int {
	for i, a := range arrays {
		h, shape := parseHeading(labels[i]), a.dims
		position := h.q <= wake.Z
		for q := wake.X; q <= wake.Z; q++ {
			position = position || isWanted(h, []string{parseRequest(opt.Columns[q]).name})
		}
		if !position && len(shape) > 2 && vectorMeaning(labels[i], "x").q == wake.X {
			position, shape = true, shape[:len(shape)-1]
		}
		if shape = squeeze(shape); position && len(shape) > 1 {
			return shape
		}
	}
	return nil
}

// squeeze leaves the ones out of a shape.
func squeeze(dims []int) []int {
	return slices.DeleteFunc(slices.Clone(dims), func(n int) bool { return n == 1 })
}

// numpyHead is the heading of a name, or of component part of a vector of that
// name.
func numpyHead(name string, part, parts int) heading {
	h := parseHeading(name)
	if parts < 2 {
		return h
	}
	base := h.name
	h.raw = fmt.Sprintf("%s:%d", name, part)
	h.name = fmt.Sprintf("%s:%d", base, part)
	h.also = []string{h.name}
	h.meaning = meaning{q: wake.NumQuantities}
	if parts == 3 {
		letter := "xyz"[part : part+1]
		h.name = base + "_" + letter
		h.meaning = vectorMeaning(name, letter)
		h.also = append(h.also, base+":"+letter, name+"_"+letter)
	}
	return h
}

// parseNumpy reads the header of an array and checks it against the bytes. An array of
// text is a *textError.
func parseNumpy(name string, data []byte) (*numpyArray, error) {
	bad := func(format string, a ...any) error {
		return &wake.InputError{File: name, Text: fmt.Sprintf(format, a...), Cure: numpyCure}
	}
	if !bytes.HasPrefix(data, []byte(numpyMagic)) {
		return nil, bad("the array does not begin with the NumPy magic")
	}
	if len(data) < 12 {
		return nil, bad("the file ends after %d bytes, within the header", len(data))
	}
	start, length := 10, int(binary.LittleEndian.Uint16(data[8:]))
	switch v := data[6]; v {
	case 1:
	case 2, 3:
		start, length = 12, int(binary.LittleEndian.Uint32(data[8:]))
	default:
		return nil, bad("the array format has version %d.%d, 1 to 3 are known", v, data[7])
	}
	if length > maxNumpyHeader || start+length > len(data) {
		return nil, bad("the header has %d bytes, the file %d", length, len(data))
	}
	v, err := parseLiteral(string(data[start : start+length]))
	if err != nil {
		return nil, bad("the header is not understood: %v", err)
	}
	d, ok := v.(map[string]any)
	if !ok {
		return nil, bad("the header is no dict")
	}
	shape, ok := d["shape"].([]any)
	if !ok {
		return nil, bad("the header has no shape")
	}
	fortran, ok := d["fortran_order"].(bool)
	if !ok {
		return nil, bad("the header does not say fortran_order")
	}
	body := data[start+length:]
	size := 1
	dims := make([]int, len(shape))
	for i, s := range shape {
		n, ok := s.(int)
		if !ok || n < 0 || n > maxSamples {
			return nil, bad("the shape %v is not one of whole numbers up to %d", shape, maxSamples)
		}
		// The product is bounded by the bytes of the file, so it cannot overflow.
		if dims[i] = n; n > 0 && size > len(body)/n {
			return nil, bad("the shape %v needs more values than the file's %d bytes hold", shape, len(body))
		}
		size *= n
	}
	fields, width, err := numpyType(d["descr"], 0)
	if err != nil {
		e := bad("%v", err).(*wake.InputError)
		e.Cure = "convert the array to numbers, as in numpy.save(name, array.astype(float))"
		if strings.Contains(e.Text, "Python objects") {
			e.Cure += "; pickled objects are never run"
		}
		if t, ok := d["descr"].(string); ok && len(t) > 1 && (t[1] == 'U' || t[1] == 'S') {
			return nil, &textError{e}
		}
		return nil, e
	}
	if width == 0 || size*width != len(body) {
		return nil, bad("%d values of %d bytes are declared and %d bytes are there", size, width, len(body))
	}
	return &numpyArray{name: name, data: body, dims: dims, fortran: fortran, element: fields, width: width}, nil
}

// table lays the array out as rows: one for each element of the first dimension, or,
// for an array of the shape mesh, perhaps of vectors, one for each place of it.
func (a *numpyArray) table(mesh []int) error {
	bad := func(cure, format string, args ...any) error {
		return &wake.InputError{File: a.name, Text: fmt.Sprintf(format, args...), Cure: cure}
	}
	plain := len(a.element) == 1 && a.element[0].name == ""
	last := len(a.dims) - 1
	size := 1
	for _, n := range a.dims {
		size *= n
	}
	columns := 1
	switch {
	case last < 0, size == 1 && (mesh != nil || last != 1):
		a.rows = 1
	case mesh != nil && slices.Equal(squeeze(a.dims), mesh):
		a.rows = size
	case mesh != nil && last > 0 && slices.Equal(squeeze(a.dims[:last]), mesh):
		columns = a.dims[last]
		a.rows = size / max(columns, 1)
	case mesh != nil:
		return bad("save arrays of one shape, as in Y, Z = numpy.meshgrid(y, z)", "the array has the shape %v, the mesh grid of the coordinates %v", a.dims, mesh)
	case last < 2:
		a.rows = a.dims[0]
		if last == 1 {
			columns = a.dims[1]
		}
	default:
		return bad("save one row a sample, as in array.reshape(-1, array.shape[-1])", "the array has %d dimensions, a table has two", last+1)
	}
	if !plain && (columns > 1 || mesh == nil && last == 1) {
		return bad(numpyCure, "a structured array has two dimensions, one is expected")
	}
	if columns*len(a.element) > maxFields || columns == 0 {
		return bad(numpyCure, "the array has %d columns, 1 to %d can be read", columns*len(a.element), maxFields)
	}
	if mesh != nil && a.fortran && last > 0 {
		a.transpose()
	}
	if !plain {
		for _, f := range a.element {
			f.stride = a.width
			a.fields = append(a.fields, f)
		}
		return nil
	}
	for k := range columns {
		f := a.element[0]
		f.offset, f.stride = k*a.width, columns*a.width
		if a.fortran {
			f.offset, f.stride = k*a.rows*a.width, a.width
		}
		a.fields = append(a.fields, f)
	}
	return nil
}

// transpose puts elements whose first index runs fastest into the order in which the
// last one does.
func (a *numpyArray) transpose() {
	out := make([]byte, 0, len(a.data))
	step := make([]int, len(a.dims))
	at := a.width
	for k, n := range a.dims {
		step[k], at = at, at*n
	}
	index := make([]int, len(a.dims))
	at = 0
	for len(out) < len(a.data) {
		out = append(out, a.data[at:at+a.width]...)
		for k := len(index) - 1; k >= 0; k-- {
			index[k], at = index[k]+1, at+step[k]
			if index[k] < a.dims[k] {
				break
			}
			index[k], at = 0, at-step[k]*a.dims[k]
		}
	}
	a.data, a.fortran = out, false
}

// numpyType reads a descr: a type of one number, or a list of named fields.
func numpyType(v any, depth int) (fields []numpyField, width int, err error) {
	switch d := v.(type) {
	case string:
		f, err := numpyNumber(d)
		return []numpyField{f}, f.typ.Size(), err
	case []any:
		if len(d) == 0 || len(d) > maxFields || depth > 0 {
			return nil, 0, fmt.Errorf("a structured type with %d fields, or with fields within fields", len(d))
		}
		for _, e := range d {
			t, ok := e.([]any)
			if !ok || len(t) < 2 || len(t) > 3 {
				return nil, 0, fmt.Errorf("the field %v is not understood", e)
			}
			name, ok := t[0].(string)
			if title, both := t[0].([]any); both && len(title) == 2 {
				name, ok = title[1].(string)
			}
			kind, isText := t[1].(string)
			if !ok || !isText {
				return nil, 0, fmt.Errorf("the field %v is not one of plain numbers", e)
			}
			count := 1
			if len(t) == 3 {
				sub, ok := t[2].([]any)
				if !ok || len(sub) != 1 {
					return nil, 0, fmt.Errorf("the field %q holds a table", name)
				}
				if count, ok = sub[0].(int); !ok || count < 1 || count > 9 {
					return nil, 0, fmt.Errorf("the field %q has %v values in a row, 1 to 9 can be read", name, sub[0])
				}
			}
			if len(kind) > 1 && kind[1] == 'V' || kind == "" {
				// Padding between aligned fields.
				n := 0
				if _, err := fmt.Sscanf(kind[min(2, len(kind)):], "%d", &n); err != nil || n < 0 || n > 1<<16 {
					return nil, 0, fmt.Errorf("the type %q is not understood", kind)
				}
				width += n * count
				continue
			}
			f, err := numpyNumber(kind)
			if err != nil {
				return nil, 0, fmt.Errorf("the field %q: %w", name, err)
			}
			for k := range count {
				f.name, f.offset = name, width
				if f.name == "" {
					f.name = fmt.Sprintf("f%d", len(fields))
				}
				if count > 1 {
					f.part, f.parts = k, count
				}
				fields = append(fields, f)
				width += f.typ.Size()
			}
		}
		if len(fields) == 0 || len(fields) > maxFields {
			return nil, 0, fmt.Errorf("the type has %d fields of numbers, 1 to %d can be read", len(fields), maxFields)
		}
		return fields, width, nil
	}
	return nil, 0, fmt.Errorf("the type %v is not understood", v)
}

var numpyTypes = map[string]number.Type{
	"f4": number.Float32, "f8": number.Float64, "b1": number.Uint8, "i1": number.Int8, "i2": number.Int16, "i4": number.Int32, "i8": number.Int64,
	"u1": number.Uint8, "u2": number.Uint16, "u4": number.Uint32, "u8": number.Uint64,
}

// numpyNumber reads a type such as <f8.
func numpyNumber(s string) (f numpyField, err error) {
	if len(s) >= 2 && strings.Contains(s[:2], "O") {
		return f, fmt.Errorf("the array holds Python objects (%q), which are pickled code and not read", s)
	}
	if len(s) == 3 && strings.IndexByte("<>|=", s[0]) >= 0 {
		f.typ, f.big = numpyTypes[s[1:]], s[0] == '>'
	}
	if f.typ == 0 {
		return f, fmt.Errorf("the type %q is not one of plain numbers: f4, f8, i1 to i8, u1 to u8, b1", s)
	}
	return f, nil
}

// parseLiteral reads the part of Python's literals that headers use: strings,
// whole numbers, True, False, None, tuples and lists (both []any), dicts with
// string keys.
func parseLiteral(s string) (any, error) {
	p := &literal{s: s}
	v, err := p.value(0)
	if err != nil {
		return nil, err
	}
	if p.blank(); p.at < len(p.s) {
		return nil, fmt.Errorf("%q is left over at byte %d", shorten(p.s[p.at:]), p.at)
	}
	return v, nil
}

type literal struct {
	s  string
	at int
}

func (p *literal) blank() {
	for p.at < len(p.s) && strings.IndexByte(" \t\r\n\x00", p.s[p.at]) >= 0 {
		p.at++
	}
}

// next reports whether c follows, and passes it.
func (p *literal) next(c byte) bool {
	p.blank()
	if p.at < len(p.s) && p.s[p.at] == c {
		p.at++
		return true
	}
	return false
}

func (p *literal) fail() error {
	if p.at >= len(p.s) {
		return fmt.Errorf("it ends early")
	}
	return fmt.Errorf("%q at byte %d is unexpected", shorten(p.s[p.at:]), p.at)
}

func (p *literal) value(depth int) (any, error) {
	if depth > 8 {
		return nil, fmt.Errorf("it is nested more than 8 deep")
	}
	switch {
	case p.next('{'):
		d := map[string]any{}
		for !p.next('}') {
			k, err := p.value(depth + 1)
			if err != nil {
				return nil, err
			}
			key, ok := k.(string)
			if !ok || !p.next(':') {
				return nil, p.fail()
			}
			if d[key], err = p.value(depth + 1); err != nil {
				return nil, err
			}
			if !p.next(',') && !p.next('}') {
				return nil, p.fail()
			} else if p.s[p.at-1] == '}' {
				break
			}
		}
		return d, nil
	case p.next('('):
		return p.items(')', depth)
	case p.next('['):
		return p.items(']', depth)
	}
	p.blank()
	rest := p.s[p.at:]
	for word, v := range map[string]any{"True": true, "False": false, "None": nil} {
		if strings.HasPrefix(rest, word) {
			p.at += len(word)
			return v, nil
		}
	}
	if rest == "" {
		return nil, p.fail()
	}
	if c := rest[0]; c == '\'' || c == '"' {
		return p.text(c)
	}
	n := 0
	for n < len(rest) && rest[n] >= '0' && rest[n] <= '9' {
		n++
	}
	if n == 0 || n > 15 {
		return nil, p.fail()
	}
	v := 0
	for _, c := range []byte(rest[:n]) {
		v = 10*v + int(c-'0')
	}
	p.at += n
	p.next('L') // Python 2
	return v, nil
}

func (p *literal) items(end byte, depth int) (any, error) {
	list := []any{}
	for !p.next(end) {
		v, err := p.value(depth + 1)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
		if p.next(',') {
			continue
		}
		if !p.next(end) {
			return nil, p.fail()
		}
		break
	}
	return list, nil
}

// text reads a string; of the escapes, those of quotes and of the backslash.
func (p *literal) text(quote byte) (any, error) {
	var b strings.Builder
	for i := p.at + 1; i < len(p.s); i++ {
		switch c := p.s[i]; {
		case c == quote:
			p.at = i + 1
			return b.String(), nil
		case c == '\\' && i+1 < len(p.s) && strings.IndexByte(`\'"`, p.s[i+1]) >= 0:
			i++
			b.WriteByte(p.s[i])
		case c == '\\' || c < ' ':
			p.at = i
			return nil, p.fail()
		default:
			b.WriteByte(c)
		}
	}
	p.at = len(p.s)
	return nil, p.fail()
}
