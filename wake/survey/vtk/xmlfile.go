package vtk

import (
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"
)

// xmlFile is an XML file that is being read.
type xmlFile struct {
	*source
	r     *reader
	root  *node
	kind  string // the type attribute
	app   appended
	head  header
	order binary.ByteOrder
	comp  compressor
	// used counts the bytes of the appended section that arrays have taken. When
	// it exceeds the section, arrays overlap.
	used int
	// starts are the offsets of all appended arrays, rising; wrong counts the arrays
	// whose header announces a wrong length.
	starts []int
	wrong  int
	notes  []string
}

var xmlNumbers = map[string]number{
	"Int8": int8s, "UInt8": uint8s, "Int16": int16s, "UInt16": uint16s, "Int32": int32s, "UInt32": uint32s,
	"Int64": int64s, "UInt64": uint64s, "Float32": float32s, "Float64": float64s, "Bit": bits,
}

func openXML(r *reader, s *source) (*xmlFile, error) {
	x := &xmlFile{source: s, r: r}
	var err error
	if x.root, x.app, err = parseXML(s); err != nil {
		return nil, err
	}
	x.kind, _ = x.root.attr("type")
	x.order = binary.LittleEndian
	switch o, ok := x.root.attr("byte_order"); {
	case !ok:
		x.notes = append(x.notes, "the file does not tell its byte order; little-endian is assumed")
	case o == "BigEndian":
		x.order = binary.BigEndian
	case o != "LittleEndian":
		return nil, x.fail(x.root.off, xmlCure, "the byte order is %s, expected LittleEndian or BigEndian", quote(o))
	}
	x.head = header{4, x.order}
	switch h, ok := x.root.attr("header_type"); {
	case ok && h == "UInt64":
		x.head.word = 8
	case ok && h != "UInt32":
		return nil, x.fail(x.root.off, xmlCure, "the header type is %s, expected UInt32 or UInt64", quote(h))
	}
	if c, ok := x.root.attr("compressor"); ok && c != "" {
		if x.comp, ok = compressors[c]; !ok {
			return nil, x.fail(x.root.off, "export with zlib, LZ4, LZMA or no compression", "the compressor %s is not known", quote(c))
		}
	}
	return x, nil
}

// count returns a count that an attribute gives; 0 where it is absent and not
// needed.
func (x *xmlFile) count(n *node, name string, needed bool) (int, error) {
	v, ok := n.attr(name)
	if !ok {
		if needed {
			return 0, x.fail(n.off, xmlCure, "%s has no attribute %s", n.name, name)
		}
		return 0, nil
	}
	c, ok := parseCount([]byte(strings.TrimSpace(v)))
	if !ok {
		return 0, x.fail(n.off, xmlCure, "%s of %s is %s, expected a whole number from 0 to 2^31-1", name, n.name, quote(v))
	}
	return c, nil
}

// numbers returns the numbers of an attribute, exactly want of them.
func (x *xmlFile) numbers(n *node, name string, want int) ([]float64, bool, error) {
	v, ok := n.attr(name)
	if !ok {
		return nil, false, nil
	}
	f := strings.Fields(v)
	out := make([]float64, 0, want)
	for _, w := range f {
		if g, ok := parseFloat([]byte(w)); ok && g-g == 0 && len(out) < want {
			out = append(out, g)
		}
	}
	if len(f) != want || len(out) != want {
		return nil, false, x.fail(n.off, xmlCure, "%s of %s is %s, expected %d numbers", name, n.name, quote(v), want)
	}
	return out, true, nil
}

// extent returns the extent that an attribute gives.
func (x *xmlFile) extent(n *node, name string) ([6]int, error) {
	var e [6]int
	v, ok := n.attr(name)
	if !ok {
		return e, x.fail(n.off, xmlCure, "%s has no attribute %s", n.name, name)
	}
	f := strings.Fields(v)
	good := len(f) == 6
	for i := 0; good && i < 6; i++ {
		k, err := strconv.ParseInt(f[i], 10, 32)
		good = err == nil && k >= -1<<30 && k <= 1<<30
		e[i] = int(k)
	}
	if !good {
		return e, x.fail(n.off, xmlCure, "%s of %s is %s, expected six whole numbers", name, n.name, quote(v))
	}
	return e, nil
}

// primary finds the element named like the file's type.
func (x *xmlFile) primary() (*node, error) {
	n := x.root.child(x.kind)
	if n == nil {
		return nil, x.fail(x.root.off, xmlCure, "the file is of type %s, but has no such element", quote(x.kind))
	}
	return n, nil
}

var xmlKinds = map[string]kind{
	"PolyData": polyData, "UnstructuredGrid": unstructured, "StructuredGrid": structured,
	"RectilinearGrid": rectilinear, "ImageData": image,
}

// pieces reads the pieces of a file that holds data.
func (x *xmlFile) pieces() (kind, []*piece, error) {
	k := xmlKinds[x.kind]
	top, err := x.primary()
	if err != nil {
		return k, nil, err
	}
	if err := x.oneStep(top); err != nil {
		return k, nil, err
	}
	var ps []*piece
	for _, n := range top.kids {
		if n.name != "Piece" {
			continue
		}
		p := &piece{src: x.source, off: n.off, kind: k}
		if k.gridded() {
			err = x.gridPiece(p, top, n)
		} else {
			err = x.cellPiece(p, n)
		}
		if err != nil {
			return k, nil, err
		}
		ps = append(ps, p)
	}
	if len(ps) == 0 {
		return k, nil, x.fail(top.off, xmlCure, "%s has no Piece", top.name)
	}
	if x.wrong > 1 {
		x.notes = append(x.notes, fmt.Sprintf("%d arrays in all have a header that announces a wrong length", x.wrong))
	}
	ps[0].notes = append(ps[0].notes, x.notes...)
	return k, ps, nil
}

// oneStep refuses files with several time steps.
func (x *xmlFile) oneStep(top *node) error {
	for _, name := range []string{"TimeValues", "NumberOfTimeSteps"} {
		v, ok := top.attr(name)
		if !ok {
			continue
		}
		n := len(strings.Fields(v))
		if name == "NumberOfTimeSteps" {
			n, _ = parseCount([]byte(v))
		}
		if n > 1 {
			return x.fail(top.off, "export one time step to a file", "the file holds %d time steps", n)
		}
	}
	return nil
}

// cellPiece reads a piece of polygonal data or of an unstructured grid.
func (x *xmlFile) cellPiece(p *piece, n *node) error {
	var err error
	if p.nPoints, err = x.count(n, "NumberOfPoints", true); err != nil {
		return err
	}
	// The order of cell values in polygonal data is that of this list.
	sections := []struct {
		count, element string
		typ            byte
	}{
		{"NumberOfVerts", "Verts", cellPolyVertex},
		{"NumberOfLines", "Lines", cellPolyLine},
		{"NumberOfPolys", "Polys", cellPolygon},
		{"NumberOfStrips", "Strips", cellStrip},
	}
	if p.kind == unstructured {
		sections = sections[:1]
		sections[0].count, sections[0].element, sections[0].typ = "NumberOfCells", "Cells", mixed
	}
	counts := make([]int, len(sections))
	for i, s := range sections {
		if counts[i], err = x.count(n, s.count, p.kind == unstructured); err != nil {
			return err
		}
		p.rows += counts[i]
	}
	if p.rows > maxCount {
		return x.fail(n.off, "export fewer cells to a file", "%d cells", p.rows)
	}
	if p.nPoints > 0 {
		a, err := x.only(n, "Points")
		if err != nil {
			return err
		}
		if p.points, err = x.vector(a, p.nPoints); err != nil {
			return err
		}
	}
	for i, s := range sections {
		if counts[i] == 0 {
			continue
		}
		g, err := x.cellGroup(n, s.element, s.typ, counts[i])
		if err != nil {
			return err
		}
		p.groups = append(p.groups, g)
	}
	p.measured = true
	return x.arrays(p, n)
}

// only returns the array in the child element that has just one.
func (x *xmlFile) only(n *node, element string) (*node, error) {
	c := n.child(element)
	if c == nil {
		return nil, x.fail(n.off, xmlCure, "%s has no element %s", n.name, element)
	}
	a := c.child("DataArray")
	if a == nil {
		return nil, x.fail(c.off, xmlCure, "%s has no DataArray", element)
	}
	return a, nil
}

// vector reads n points.
func (x *xmlFile) vector(a *node, n int) ([]float64, error) {
	if c, err := x.components(a); err != nil {
		return nil, err
	} else if c != 3 {
		return nil, x.fail(a.off, xmlCure, "points with %d components, expected 3", c)
	}
	return x.floats(a, 3*n, "the points")
}

// cellGroup reads the cells of one element.
func (x *xmlFile) cellGroup(n *node, element string, typ byte, count int) (cellGroup, error) {
	g := cellGroup{typ: typ, what: element}
	c := n.child(element)
	if c == nil {
		return g, x.fail(n.off, xmlCure, "%d cells are announced, but %s has no element %s", count, n.name, element)
	}
	g.at = c.off
	var parts [3]*node
	names := [3]string{"connectivity", "offsets", "types"}
	for _, a := range c.kids {
		name, _ := a.attr("Name")
		for i, want := range names {
			if name == want && a.name == "DataArray" {
				parts[i] = a
			}
		}
	}
	for i, want := range names {
		if parts[i] == nil && (i < 2 || typ == mixed) {
			return g, x.fail(c.off, xmlCure, "%s has no array %q", element, want)
		}
	}
	ends, err := x.ints(parts[1], count, element+" offsets")
	if err != nil {
		return g, err
	}
	g.ends = ends
	last := int32(0)
	for i, e := range ends {
		if e < last {
			return g, x.fail(parts[1].off, cutCure, "%s offsets: entry %d of %d is %d after %d, expected no decrease", element, i+1, count, e, last)
		}
		last = e
	}
	if g.conn, err = x.ints(parts[0], int(last), element+" connectivity"); err != nil {
		return g, err
	}
	if typ == mixed {
		types, err := x.ints(parts[2], count, element+" types")
		if err != nil {
			return g, err
		}
		if g.types, err = cellTypes(x.source, parts[2].off, types); err != nil {
			return g, err
		}
	}
	return g, nil
}

// gridPiece reads a piece whose points are numbered by three indices.
func (x *xmlFile) gridPiece(p *piece, top, n *node) error {
	var err error
	if p.extent, err = x.extent(n, "Extent"); err != nil {
		return err
	}
	if err := p.countGrid(); err != nil {
		return err
	}
	if p.nPoints == 0 {
		return nil
	}
	switch p.kind {
	case structured:
		a, err := x.only(n, "Points")
		if err != nil {
			return err
		}
		if p.points, err = x.vector(a, p.nPoints); err != nil {
			return err
		}
		p.measured = true
	case rectilinear:
		c := n.child("Coordinates")
		if c == nil || len(c.kids) < 3 {
			return x.fail(n.off, xmlCure, "%s has no Coordinates with three arrays", n.name)
		}
		for i := range p.axes {
			what := "the coordinates along " + "xyz"[i:i+1]
			if p.axes[i], err = x.floats(c.kids[i], p.extent[2*i+1]-p.extent[2*i]+1, what); err != nil {
				return err
			}
		}
	case image:
		p.spacing = [3]float64{1, 1, 1}
		p.direction = [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}
		for _, a := range []struct {
			name string
			dst  []float64
		}{{"Origin", p.origin[:]}, {"Spacing", p.spacing[:]}, {"Direction", p.direction[:]}} {
			v, ok, err := x.numbers(top, a.name, len(a.dst))
			if err != nil {
				return err
			}
			if ok {
				copy(a.dst, v)
			}
		}
	}
	return x.arrays(p, n)
}

// arrays reads the point and cell values of a piece.
func (x *xmlFile) arrays(p *piece, n *node) error {
	for _, part := range []struct {
		element string
		rows    int
		dst     *[]Array
	}{{"PointData", p.nPoints, &p.point}, {"CellData", p.rows, &p.cell}} {
		d := n.child(part.element)
		if d == nil {
			continue
		}
		for i, a := range d.kids {
			if a.name != "DataArray" {
				continue
			}
			name, ok := a.attr("Name")
			if !ok || name == "" {
				name = "array " + strconv.Itoa(i+1)
			}
			comps, err := x.components(a)
			if err != nil {
				return err
			}
			what := "the array " + quote(name)
			if t, _ := a.attr("type"); t == "String" {
				continue
			}
			if comps == 0 || part.rows > maxCount/comps {
				return x.fail(a.off, xmlCure, "%s: %d values with %d components", what, part.rows, comps)
			}
			if part.rows == 0 {
				continue
			}
			v := Array{Name: name, Components: comps}
			if x.r.wants(name) {
				v.Values, err = x.floats(a, part.rows*comps, what)
			} else {
				err = x.measure(a, part.rows*comps, what)
			}
			if err != nil {
				return err
			}
			p.measured = true
			if v.Values == nil {
				continue
			}
			for c := range comps {
				if s, ok := a.attr("ComponentName" + strconv.Itoa(c)); ok && comps <= 64 {
					if v.ComponentNames == nil {
						v.ComponentNames = make([]string, comps)
					}
					v.ComponentNames[c] = s
				}
			}
			p.addArray(part.dst, v)
		}
	}
	return nil
}

func (x *xmlFile) components(a *node) (int, error) {
	if _, ok := a.attr("NumberOfComponents"); !ok {
		return 1, nil
	}
	return x.count(a, "NumberOfComponents", false)
}
