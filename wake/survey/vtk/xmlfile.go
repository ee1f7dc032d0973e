package vtk

import (
	"bytes"
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"wakeledger/wake/survey/number"
)

type xmlFile struct {
	*source
	coding
	r    *reader
	root *node
	kind string // the type attribute
	app  appended
	// used counts the bytes of the appended section that arrays have taken. When
	// it exceeds the section, arrays overlap.
	used  int
	notes []string
}

var xmlNumbers = map[string]number.Type{
	"Int8": number.Int8, "UInt8": number.Uint8, "Int16": number.Int16, "UInt16": number.Uint16, "Int32": number.Int32, "UInt32": number.Uint32,
	"Int64": number.Int64, "UInt64": number.Uint64, "Float32": number.Float32, "Float64": number.Float64, "Bit": number.Bit,
}

var xmlKinds = map[string]kind{
	"PolyData": polyData, "UnstructuredGrid": unstructured, "StructuredGrid": structured,
	"RectilinearGrid": rectilinear, "ImageData": image,
}

func openXML(r *reader, s *source) *xmlFile {
	x := &xmlFile{source: s, r: r}
	x.root, x.app = parseXML(s)
	x.kind = x.root.attr("type")
	switch order := x.root.attr("byte_order"); order {
	case "":
		x.notes = append(x.notes, "the file does not tell its byte order; little-endian is assumed")
	case "LittleEndian", "BigEndian":
		x.big = order == "BigEndian"
	default:
		x.refuse(x.root.Off, xmlCure, "the byte order is %s, expected LittleEndian or BigEndian", quote(order))
	}
	head, c, ok := x.root.attr("header_type"), x.root.attr("compressor"), false
	x.word, ok = map[string]number.Type{"": number.Uint32, "UInt32": number.Uint32, "UInt64": number.Uint64}[head]
	x.failIf(!ok, x.root.Off, xmlCure, "the header type is %s, expected UInt32 or UInt64", quote(head))
	x.comp, ok = compressors[c]
	x.failIf(!ok, x.root.Off, "export with zlib, LZ4, LZMA or no compression", "the compressor %s is not known", quote(c))
	return x
}

// count returns a count that an attribute gives; absent where there is none, which is an
// error where absent is negative.
func (x *xmlFile) count(n *node, name string, absent int) int {
	v := n.attr(name)
	if v == "" {
		x.failIf(absent < 0, n.Off, xmlCure, "%s has no attribute %s", n.XMLName.Local, name)
		return absent
	}
	c, ok := parseCount([]byte(strings.TrimSpace(v)))
	x.failIf(!ok, n.Off, xmlCure, "%s of %s is %s, expected a whole number from 0 to 2^31-1", name, n.XMLName.Local, quote(v))
	return c
}

func (x *xmlFile) numbers(n *node, name string, dst []float64) (found bool) {
	v := n.attr(name)
	if v == "" {
		return false
	}
	f := strings.Fields(v)
	good := len(f) == len(dst)
	for i := 0; good && i < len(f); i++ {
		dst[i], good = parseFloat([]byte(f[i]))
		good = good && dst[i]-dst[i] == 0
	}
	x.failIf(!good, n.Off, xmlCure, "%s of %s is %s, expected %d numbers", name, n.XMLName.Local, quote(v), len(dst))
	return true
}

func (x *xmlFile) primary() *node {
	n := x.root.child(x.kind)
	x.failIf(n == nil, x.root.Off, xmlCure, "the file is of type %s, but has no such element", quote(x.kind))
	return n
}

func (x *xmlFile) pieces() []*piece {
	k := xmlKinds[x.kind]
	top := x.primary()
	n, _ := parseCount([]byte(top.attr("NumberOfTimeSteps")))
	if n = max(n, len(strings.Fields(top.attr("TimeValues")))); n > 1 {
		x.refuse(top.Off, "export one time step to a file", "the file holds %d time steps", n)
	}
	var ps []*piece
	for _, n := range top.all("Piece") {
		p := newPiece(x.source, k, n.Off)
		if k.gridded() {
			x.gridPiece(p, top, n)
		} else {
			x.cellPiece(p, n)
		}
		x.arrays(p, n, "PointData", p.nPoints, &p.point)
		x.arrays(p, n, "CellData", p.rows, &p.cell)
		ps = append(ps, p)
	}
	x.failIf(len(ps) == 0, top.Off, xmlCure, "%s has no Piece", top.XMLName.Local)
	ps[0].notes = append(ps[0].notes, x.notes...)
	return ps
}

// xmlCells are the lists of cells. The order of cell values in polygonal data is that of
// the list.
var xmlCells = map[kind][]struct {
	count, element string
	typ            byte
	absent         int
}{
	polyData:     {{"NumberOfVerts", "Verts", cellPolyVertex, 0}, {"NumberOfLines", "Lines", cellPolyLine, 0}, {"NumberOfPolys", "Polys", cellPolygon, 0}, {"NumberOfStrips", "Strips", cellStrip, 0}},
	unstructured: {{"NumberOfCells", "Cells", mixed, -1}},
}

func (x *xmlFile) cellPiece(p *piece, n *node) {
	p.nPoints = x.count(n, "NumberOfPoints", -1)
	x.points(p, n)
	for _, s := range xmlCells[p.kind] {
		count := x.count(n, s.count, s.absent)
		x.failIf(count > maxCount-p.rows, n.Off, "export fewer cells to a file", "%d cells", p.rows+count)
		if p.rows += count; count > 0 {
			p.groups = append(p.groups, x.cellGroup(n, s.element, s.typ, count))
		}
	}
	p.measured = true
}

func (x *xmlFile) points(p *piece, n *node) {
	if p.nPoints == 0 {
		return
	}
	c := n.child("Points")
	x.failIf(c == nil, n.Off, xmlCure, "%s has no element Points", n.XMLName.Local)
	a := c.child("DataArray")
	x.failIf(a == nil, c.Off, xmlCure, "Points has no DataArray")
	comps := x.count(a, "NumberOfComponents", 1)
	x.failIf(comps != 3, a.Off, xmlCure, "points with %d components, expected 3", comps)
	p.measured = true
	p.points = xmlValues[float64](x, a, 3*p.nPoints, "the points")
}

func (x *xmlFile) cellGroup(n *node, element string, typ byte, count int) cellGroup {
	g := cellGroup{typ: typ, what: element}
	c := n.child(element)
	x.failIf(c == nil, n.Off, xmlCure, "%d cells are announced, but %s has no element %s", count, n.XMLName.Local, element)
	g.at = c.Off
	parts := map[string]*node{}
	for _, a := range c.all("DataArray") {
		parts[a.attr("Name")] = a
	}
	for _, want := range []string{"connectivity", "offsets", "types"} {
		x.failIf(parts[want] == nil && (want != "types" || typ == mixed), c.Off, xmlCure, "%s has no array %q", element, want)
	}
	g.ends = x.ints(parts["offsets"], count, element+" offsets")
	g.rising(x.source, parts["offsets"].Off)
	g.conn = x.ints(parts["connectivity"], int(g.ends[count-1]), element+" connectivity")
	if typ == mixed {
		g.types = cellTypes(x.source, parts["types"].Off, x.ints(parts["types"], count, element+" types"))
	}
	return g
}

func (x *xmlFile) gridPiece(p *piece, top, n *node) {
	var e [6]float64
	found := x.numbers(n, "Extent", e[:])
	x.failIf(!found, n.Off, xmlCure, "%s has no attribute Extent", n.XMLName.Local)
	p.setExtent(n.Off, e)
	switch p.kind {
	case structured:
		x.points(p, n)
	case rectilinear:
		if p.nPoints == 0 {
			return
		}
		var arrays []*node
		if c := n.child("Coordinates"); c != nil {
			arrays = c.all("DataArray")
		}
		x.failIf(len(arrays) < 3, n.Off, xmlCure, "%s has no Coordinates with three arrays", n.XMLName.Local)
		for i := range p.axes {
			p.axes[i] = xmlValues[float64](x, arrays[i], p.extent[2*i+1]-p.extent[2*i]+1, "the coordinates along "+"xyz"[i:i+1])
		}
	case image:
		for _, a := range []struct {
			name string
			dst  []float64
		}{{"Origin", p.origin[:]}, {"Spacing", p.spacing[:]}, {"Direction", p.direction[:]}} {
			x.numbers(top, a.name, a.dst)
		}
	}
}

func (x *xmlFile) arrays(p *piece, n *node, element string, rows int, dst *[]Array) {
	d := n.child(element)
	if d == nil {
		return
	}
	for i, a := range d.all("DataArray") {
		name := cmp.Or(a.attr("Name"), "array "+strconv.Itoa(i+1))
		what := "the array " + quote(name)
		comps := x.count(a, "NumberOfComponents", 1)
		if a.attr("type") == "String" {
			continue
		}
		x.failIf(comps == 0 || rows > maxCount/comps, a.Off, xmlCure, "%s: %d values with %d components", what, rows, comps)
		if rows == 0 {
			continue
		}
		p.measured = true
		if !x.r.wants(name) {
			// Its length is checked, which costs no memory.
			x.open(a, rows*comps, what)
			continue
		}
		v := Array{Name: name, Components: comps, Values: xmlValues[float64](x, a, rows*comps, what)}
		// More than a tensor has mean nothing to a caller.
		for c := 0; comps <= 9 && c < comps; c++ {
			if s := strings.TrimSpace(a.attr("ComponentName" + strconv.Itoa(c))); s != "" {
				if v.ComponentNames == nil {
					v.ComponentNames = make([]string, comps)
				}
				v.ComponentNames[c] = s
			}
		}
		p.addArray(dst, v)
	}
}

// xmlValues reads the n values of a.
func xmlValues[T float64 | int32](x *xmlFile, a *node, n int, what string) []T {
	t, p := x.open(a, n, what)
	v, end := values[T](x.source, p, t, a.Text.lo, a.Text.hi, n, what)
	x.failIf(p == nil && end != a.Text.hi, end, cutCure, "%s: more than the announced %d numbers", what, n)
	return v
}

func (x *xmlFile) ints(a *node, n int, what string) []int32 {
	typ := a.attr("type")
	x.failIf(xmlNumbers[typ] != 0 && !xmlNumbers[typ].Whole(), a.Off, xmlCure, "%s is not of a whole-number type", what)
	return xmlValues[int32](x, a, n, what)
}

// open finds the n values of a and checks their length, which costs no memory. The
// payload is nil where they stand as text.
func (x *xmlFile) open(a *node, n int, what string) (t number.Type, p *payload) {
	name := a.attr("type")
	t, ok := xmlNumbers[name]
	x.failIf(!ok, a.Off, xmlCure, "%s has the type %s, expected Int8 … UInt64, Float32, Float64 or Bit", what, quote(name))
	size := t.Bytes(n)
	switch f := a.attr("format"); f {
	case "ascii", "":
		x.failIf(n > (a.Text.hi-a.Text.lo+1)/2, a.Off, cutCure, "%s: %d numbers are announced, but only %d bytes of text are there", what, n, a.Text.hi-a.Text.lo)
		return t, nil
	case "binary":
		text := x.data[a.Text.lo:a.Text.hi]
		if len(text) == 0 && n == 0 {
			return t, plainPayload(nil, 0, false)
		}
		if bytes.ContainsAny(text, " \t\r\n") {
			text = bytes.Join(bytes.Fields(text), nil) // wrapped: other writers' habit
		}
		var err error
		p, _, err = x.coding.open(text, true, true, size)
		x.failIf(err != nil, a.Text.lo, cutCure, "%s: %v", what, err)
		p.off = a.Text.lo
	case "appended":
		p = x.openAppended(a, size, what)
	default:
		x.refuse(a.Off, xmlCure, "%s has the format %s, expected ascii, binary or appended", what, quote(f))
	}
	x.failIf(p.size != size, p.off, cutCure, "%s: its header announces %d bytes, but %d values of type %s take %d", what, p.size, n, name, size)
	if p.claim != uint64(p.size) {
		x.notes = append(x.notes, fmt.Sprintf("%s: its header announces %d bytes; the %d that its counts need are there and were read", what, p.claim, p.size))
	}
	return t, p
}

func (x *xmlFile) openAppended(a *node, size int, what string) *payload {
	x.failIf(!x.app.found, a.Off, xmlCure, "%s is said to be appended, but the file has no appended section", what)
	section := x.data[x.app.lo:x.app.hi]
	v := a.attr("offset")
	off, ok := parseInt([]byte(strings.TrimSpace(v)))
	x.failIf(!ok || off < 0 || off > int64(len(section)), a.Off, cutCure, "%s has the offset %s into an appended section of %d bytes", what, quote(v), len(section))
	p, used, err := x.coding.open(section[off:], x.app.base64, false, size)
	at := x.app.lo + int(off)
	x.failIf(err != nil, at, cutCure, "%s: %v", what, err)
	if x.used += used; x.used > len(section) {
		x.refuse(a.Off, xmlCure, "%s: the arrays up to here take %d bytes of an appended section of %d, so some overlap", what, x.used, len(section))
	}
	p.off = at
	return p
}
