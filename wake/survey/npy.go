package survey

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"path"
	"regexp"
	"strconv"
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

const (
	numpyCure = "save the array again with numpy.save or numpy.savez"
	againCure = "copy or save the file again"
)

// numpyArray is one array of elements of width bytes.
type numpyArray struct {
	name  string // for messages
	label string // of a member of an archive
	rows  int    // once columns has laid it out
	// fields are those of an element: one without a name for plain numbers.
	fields  []numpyField
	width   int
	dims    []int
	fortran bool
	text    bool // the elements are texts
	data    []byte
}

// numpyField is a field of an element: count numbers from offset on.
type numpyField struct {
	name          string
	count, offset int
	typ           number.Type
	big           bool
}

// failIf refuses the file under a condition.
func (a *numpyArray) failIf(bad bool, cure, format string, args ...any) {
	if bad {
		a.refuse(cure, format, args...)
	}
}

func (a *numpyArray) refuse(cure, format string, args ...any) {
	refuse(a.name, 0, 0, fmt.Sprintf(format, args...), cure)
}

// readNumpy reads a .npy file, or an .npz archive of which each member is a column
// or a table. All arrays must have as many rows; a single value, such as a time, and text
// are passed over.
func readNumpy(ctx context.Context, t *text, opt *Options) *wake.Samples {
	data, err := t.all(maxBytes)
	wake.Stop(err)
	arrays, ignored := []*numpyArray{{name: t.name}}, []string(nil)
	if t.kind == kindZip {
		arrays, ignored = unzip(ctx, t.name, data)
	} else {
		arrays[0].parse(data)
	}
	wake.Stop(ctx.Err())
	c := &columnar{name: t.name, word: "row"}
	for _, a := range arrays {
		columns := a.layOut()
		if a.label != "" && a.rows <= 1 && c.n != a.rows {
			ignored = append(ignored, a.label)
			continue
		}
		if c.n = cmp.Or(c.n, a.rows); a.rows != c.n {
			a.name = t.name
			a.refuse("save columns of one length", "the member %q has %d rows, others have %d", a.label+".npy", a.rows, c.n)
		}
		for _, f := range columns {
			if f.name != "" {
				c.addArray(f)
				continue
			}
			for k := range f.comps {
				c.col = append(c.col, func() []float64 { return f.value(k) })
			}
		}
	}
	if len(c.col) == 0 || t.kind == kindZip && c.n == 0 {
		refuse(t.name, 0, 0, "the archive holds no array with rows", "save one array for each column")
	}
	s, _, _ := c.samples(opt)
	s.Ignored = append(s.Ignored, ignored...)
	return s
}

// unzip parses the members of an archive; those of text are listed alone.
func unzip(ctx context.Context, name string, data []byte) (arrays []*numpyArray, texts []string) {
	whole := &numpyArray{name: name}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	whole.failIf(err != nil, againCure, "is a zip archive or a spreadsheet, and damaged: %v", err)
	for _, m := range z.File {
		base := path.Base(m.Name)
		label, ok := strings.CutSuffix(base, ".npy")
		if !ok {
			continue
		}
		wake.Stop(ctx.Err())
		whole.failIf(m.UncompressedSize64 > maxMember*m.CompressedSize64+sniffBytes || m.CompressedSize64 > uint64(len(data)), againCure, "the member %q says that %d bytes unpack to %d", base, m.CompressedSize64, m.UncompressedSize64)
		b := make([]byte, m.UncompressedSize64)
		r, err := m.Open()
		if err == nil {
			if _, err = io.ReadFull(r, b); err == nil {
				// The check sum is compared at the end.
				_, err = io.Copy(io.Discard, io.LimitReader(r, 1))
			}
			r.Close()
		}
		whole.failIf(err != nil, againCure, "the member %q is damaged: %v", base, err)
		a := &numpyArray{name: name + "#" + base, label: label}
		err = wake.Attempt(func() { a.parse(b) })
		if a.text {
			texts = append(texts, label)
			continue
		}
		wake.Stop(err)
		arrays = append(arrays, a)
	}
	whole.failIf(arrays == nil && texts == nil, "save the plane as comma-separated text, or as NumPy .npz", "is a zip archive without NumPy arrays, or a spreadsheet")
	return arrays, texts
}

// The entries of a header, in any order, and a field of a structured type: its name, its type
// and, where it is a vector, its length.
var (
	numpyDescr = regexp.MustCompile(`['"]descr['"]\s*:\s*(?:['"]([^'"]*)['"]|\[(.*)\])\s*[,}]`)
	numpyOrder = regexp.MustCompile(`['"]fortran_order['"]\s*:\s*(True|False)`)
	numpyShape = regexp.MustCompile(`['"]shape['"]\s*:\s*\(([-0-9L,\s]*)\)`)
	numpyEntry = regexp.MustCompile(`\(\s*('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")\s*,\s*'([^']*)'\s*(?:,\s*\(\s*(\d+)\s*,?\s*\)\s*)?\)`)
)

func (a *numpyArray) parse(data []byte) {
	a.failIf(!bytes.HasPrefix(data, []byte(numpyMagic)), numpyCure, "the array does not begin with the NumPy magic")
	a.failIf(len(data) < 12, numpyCure, "the file ends after %d bytes, within the header", len(data))
	start, length := 10, int(binary.LittleEndian.Uint16(data[8:]))
	switch v := data[6]; v {
	case 1:
	case 2, 3:
		start, length = 12, int(binary.LittleEndian.Uint32(data[8:]))
	default:
		a.refuse(numpyCure, "the array format has version %d.%d, 1 to 3 are known", v, data[7])
	}
	a.failIf(length > maxNumpyHeader || start+length > len(data), numpyCure, "the header has %d bytes, the file %d", length, len(data))
	literal := string(data[start : start+length])
	descr, order, shape := numpyDescr.FindStringSubmatch(literal), numpyOrder.FindStringSubmatch(literal), numpyShape.FindStringSubmatch(literal)
	a.failIf(descr == nil || shape == nil, numpyCure, "the header %q is not understood", shorten(strings.Trim(literal, "\n")))
	a.failIf(order == nil, numpyCure, "the header does not say fortran_order")
	a.data, a.fortran = data[start+length:], order[1] == "True"
	for _, f := range strings.FieldsFunc(shape[1], func(r rune) bool { return strings.ContainsRune(", \n\tL", r) }) {
		n, err := strconv.Atoi(f)
		a.failIf(err != nil, numpyCure, "the shape %q is not one of whole numbers", shorten(shape[1]))
		a.dims = append(a.dims, n)
	}
	size := 1
	for _, n := range a.dims {
		a.failIf(n < 0 || n > maxSamples, numpyCure, "the shape %v is not one of whole numbers up to %d", a.dims, maxSamples)
		// The product is bounded by the bytes of the file, so it cannot overflow.
		a.failIf(n > 0 && size > len(a.data)/n, numpyCure, "the shape %v needs more values than the file's %d bytes hold", a.dims, len(a.data))
		size *= n
	}
	a.text = len(descr[1]) > 1 && (descr[1][1] == 'U' || descr[1][1] == 'S')
	if descr[1] != "" {
		f := a.number("", descr[1])
		f.count = 1
		a.fields, a.width = []numpyField{f}, f.typ.Size()
	} else {
		a.structure(descr[2])
	}
	a.failIf(a.width == 0 || size*a.width != len(a.data), numpyCure, "%d values of %d bytes are declared and %d bytes are there", size, a.width, len(a.data))
}

const numbersCure = "convert the array to numbers, as in numpy.save(name, array.astype(float))"

// structure reads a list of named fields.
func (a *numpyArray) structure(list string) {
	rest := strings.Trim(numpyEntry.ReplaceAllString(list, ""), ", \n")
	a.failIf(rest != "", numbersCure, "the type %q is not one of plain numbers with names", shorten(list))
	for _, m := range numpyEntry.FindAllStringSubmatch(list, -1) {
		name, kind, count := strings.NewReplacer(`\\`, `\`, `\'`, `'`, `\"`, `"`).Replace(m[1][1:len(m[1])-1]), m[2], 1
		if m[3] != "" {
			count, _ = strconv.Atoi(m[3])
			a.failIf(!(1 <= count && count <= 9), numbersCure, "the field %q has %s values in a row, 1 to 9 can be read", name, m[3])
		}
		if padding, ok := strings.CutPrefix(kind, "|V"); ok { // between aligned fields
			n, err := strconv.ParseUint(padding, 10, 16)
			a.failIf(err != nil, numbersCure, "the type %q is not understood", kind)
			a.width += int(n) * count
			continue
		}
		f := a.number(fmt.Sprintf("the field %q: ", name), kind)
		f.name, f.count, f.offset = cmp.Or(name, fmt.Sprintf("f%d", len(a.fields))), count, a.width
		a.fields = append(a.fields, f)
		a.width += count * f.typ.Size()
	}
	a.failIf(len(a.fields) == 0 || len(a.fields) > maxFields, numbersCure, "the type has %d fields of numbers, 1 to %d can be read", len(a.fields), maxFields)
}

var numpyTypes = map[string]number.Type{
	"f4": number.Float32, "f8": number.Float64, "b1": number.Uint8, "i1": number.Int8, "i2": number.Int16, "i4": number.Int32, "i8": number.Int64,
	"u1": number.Uint8, "u2": number.Uint16, "u4": number.Uint32, "u8": number.Uint64,
}

// number reads a type such as <f8, of the field that of names.
func (a *numpyArray) number(of, s string) (f numpyField) {
	a.failIf(len(s) >= 2 && strings.Contains(s[:2], "O"), numbersCure+"; pickled objects are never run", "%sthe array holds Python objects (%q), which are pickled code and not read", of, s)
	if len(s) == 3 && strings.IndexByte("<>|=", s[0]) >= 0 {
		f.typ, f.big = numpyTypes[s[1:]], s[0] == '>'
	}
	a.failIf(f.typ == 0, numbersCure, "%sthe type %q is not one of plain numbers: f4, f8, i1 to i8, u1 to u8, b1", of, s)
	return f
}

// layOut counts the rows, one for each element of the first dimension, and returns the columns.
func (a *numpyArray) layOut() (out []array) {
	const cure = "save one row a sample, as in array.reshape(-1, array.shape[-1]), or array.ravel() for the arrays of a mesh grid"
	plain := a.fields[0].name == ""
	columns := 1
	switch len(a.dims) {
	case 0:
		a.rows = 1
	case 1:
		a.rows = a.dims[0]
	case 2:
		a.rows, columns = a.dims[0], a.dims[1]
		a.failIf(!plain, numpyCure, "a structured array has two dimensions, one is expected")
		a.failIf(columns > 1 && parseHeading(a.label).q <= wake.Z, cure, "the array has the shape %v, a coordinate one value a row", a.dims)
	default:
		a.refuse(cure, "the array has %d dimensions, a table has two", len(a.dims))
	}
	a.failIf(columns > maxFields || columns == 0, numpyCure, "the array has %d columns, 1 to %d can be read", columns, maxFields)
	between, stride := a.width, columns*a.width
	if a.fortran {
		between, stride = a.rows*a.width, a.width
	}
	for _, f := range a.fields {
		name, count, step := f.name, f.count, f.typ.Size()
		if plain {
			name, count, step = a.label, columns, between
		}
		out = append(out, array{name: name, comps: count, value: func(c int) []float64 {
			v := make([]float64, a.rows)
			if a.rows > 0 {
				number.Floats(v, a.data[f.offset+c*step:], stride, f.typ, f.big)
			}
			return v
		}})
	}
	return out
}
