package vtk

import (
	"bytes"
	"strconv"
	"strings"
)

// legacy is a legacy file that is being read.
type legacy struct {
	*source
	r      *reader
	pos    int
	binary bool
	major  int
	p      *piece
	// The section that attributes belong to: its rows and where they go. Before
	// the first section, dst is nil.
	rows int
	dst  *[]Array
	// comps is the number of components of the array passed last, which its
	// metadata block names; kept says that it is the last one in dst.
	comps int
	kept  bool
}

const legacyMagic = "# vtk DataFile Version"

const legacyCure = "the file is cut off or damaged, or not written by the library's rules: export it again"

// readLegacy reads a whole legacy file.
func readLegacy(r *reader, s *source) (kind, []*piece, error) {
	l := &legacy{source: s, r: r, p: &piece{src: s}}
	s.text = len(s.data)
	if err := l.header(); err != nil {
		return 0, nil, err
	}
	for {
		w, off := l.word()
		if w == "" {
			break
		}
		if err := l.keyword(strings.ToLower(w), w, off); err != nil {
			return 0, nil, err
		}
	}
	if n := len(l.data); n > 0 && l.data[n-1] != '\n' {
		l.p.notes = append(l.p.notes, "the file does not end with a line break, as the library's writers end it; it may be cut off")
	}
	if l.p.kind.gridded() {
		if err := l.checkGrid(); err != nil {
			return 0, nil, err
		}
	} else if l.p.points == nil && l.p.rows > 0 {
		return 0, nil, l.fail(l.pos, cutCure, "there are %d cells, but no POINTS", l.p.rows)
	}
	if l.p.kind == unstructured && len(l.p.groups) > 0 && l.p.groups[0].types == nil && l.p.rows > 0 {
		return 0, nil, l.fail(l.pos, cutCure, "there are %d cells, but no CELL_TYPES", l.p.rows)
	}
	return l.p.kind, []*piece{l.p}, nil
}

// header reads the magic line, the title, the encoding and the kind of grid.
func (l *legacy) header() error {
	first := l.line()
	version := strings.Fields(strings.TrimPrefix(first, legacyMagic))
	ok := len(first) >= len(legacyMagic) && strings.EqualFold(first[:len(legacyMagic)], legacyMagic)
	if ok {
		version = strings.Fields(first[len(legacyMagic):])
		ok = len(version) == 1
	}
	if ok {
		major, _, _ := strings.Cut(version[0], ".")
		var err error
		l.major, err = strconv.Atoi(major)
		ok = err == nil && l.major >= 1
	}
	if !ok {
		return l.fail(0, legacyCure, "the first line is %s, expected %q and a version", quote(first), legacyMagic)
	}
	if l.major > 5 {
		return l.fail(0, "export with version 5.1 or 4.2", "version %s of the legacy format, versions 1 to 5 are read", quote(version[0]))
	}
	l.line() // the title
	w, off := l.word()
	switch strings.ToUpper(w) {
	case "ASCII":
	case "BINARY":
		l.binary = true
	default:
		return l.fail(off, legacyCure, "the third line is %s, expected ASCII or BINARY", quote(w))
	}
	l.endLine()
	if l.binary {
		l.text = l.pos
	}
	return nil
}

// line returns the rest of the line at pos and goes behind it.
func (l *legacy) line() string {
	lo := l.pos
	l.endLine()
	return strings.TrimRight(string(l.data[lo:min(l.pos, lo+1000)]), "\r\n")
}

// endLine goes behind the next line break.
func (l *legacy) endLine() {
	if i := bytes.IndexByte(l.data[l.pos:], '\n'); i >= 0 {
		l.pos += i + 1
	} else {
		l.pos = len(l.data)
	}
}

// word returns the next word and its offset, "" at the end of the file. A word
// that is longer than any name is cut: it is not one.
func (l *legacy) word() (string, int) {
	lo, hi := word(l.data, l.pos)
	l.pos = hi
	return string(l.data[lo:min(hi, lo+4096)]), lo
}

// sameLine reports whether another word stands in this line.
func (l *legacy) sameLine() bool {
	for _, c := range l.data[l.pos:] {
		if c == '\n' {
			return false
		}
		if !space(c) {
			return true
		}
	}
	return false
}

func (l *legacy) count(what string) (int, error) {
	w, off := l.word()
	n, ok := parseCount([]byte(w))
	if !ok {
		return 0, l.fail(off, legacyCure, "%s is %s, expected a whole number from 0 to 2^31-1", what, quote(w))
	}
	return n, nil
}

func (l *legacy) number(what string) (float64, error) {
	w, off := l.word()
	v, ok := parseFloat([]byte(w))
	if !ok || v-v != 0 {
		return 0, l.fail(off, legacyCure, "%s is %s, expected a number", what, quote(w))
	}
	return v, nil
}

// need checks that the keyword belongs to the kind of grid.
func (l *legacy) need(word string, off int, kinds ...kind) error {
	if l.dst != nil {
		return l.fail(off, legacyCure, "%s behind POINT_DATA or CELL_DATA", word)
	}
	for _, k := range kinds {
		if l.p.off > 0 && l.p.kind == k {
			return nil
		}
	}
	if l.p.off == 0 {
		return l.fail(off, legacyCure, "%s before DATASET", word)
	}
	return l.fail(off, legacyCure, "%s in a file of %s", word, l.p.kind)
}

var legacyKinds = map[string]kind{
	"polydata": polyData, "unstructured_grid": unstructured, "structured_grid": structured,
	"rectilinear_grid": rectilinear, "structured_points": image,
}

// keyword reads what stands behind one keyword.
func (l *legacy) keyword(key, word string, off int) error {
	p := l.p
	switch key {
	case "dataset":
		w, at := l.word()
		k, ok := legacyKinds[strings.ToLower(w)]
		if !ok {
			return l.fail(at, "export polygonal data or a grid", "the kind of data is %s, which is not read", quote(w))
		}
		if p.off > 0 {
			return l.fail(off, legacyCure, "a second DATASET")
		}
		p.kind, p.off = k, off
		p.spacing = [3]float64{1, 1, 1}
		p.direction = [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}
		p.extent = [6]int{0, -1, 0, -1, 0, -1}
		return nil
	case "field":
		return l.field()
	case "metadata":
		return l.metadata()
	case "point_data", "cell_data":
		return l.section(key == "point_data", word, off)
	case "points":
		if err := l.need(word, off, polyData, unstructured, structured); err != nil {
			return err
		}
		return l.readPoints(off)
	case "vertices", "lines", "polygons", "triangle_strips":
		if err := l.need(word, off, polyData); err != nil {
			return err
		}
		typ := map[string]byte{"vertices": cellPolyVertex, "lines": cellPolyLine, "polygons": cellPolygon, "triangle_strips": cellStrip}[key]
		return l.cells(typ, word, off)
	case "cells":
		if err := l.need(word, off, unstructured); err != nil {
			return err
		}
		return l.cells(mixed, word, off)
	case "cell_types":
		if err := l.need(word, off, unstructured); err != nil {
			return err
		}
		return l.types(off)
	case "dimensions", "extent":
		if err := l.need(word, off, structured, rectilinear, image); err != nil {
			return err
		}
		for a := range 3 {
			if key == "extent" {
				for b := range 2 {
					v, err := l.number("an index of the extent")
					if err != nil {
						return err
					}
					if v != float64(int32(v)) || v < -1<<30 || v > 1<<30 {
						return l.fail(off, legacyCure, "an index of the extent is %g, expected a whole number", v)
					}
					p.extent[2*a+b] = int(v)
				}
				continue
			}
			n, err := l.count("a dimension")
			if err != nil {
				return err
			}
			p.extent[2*a], p.extent[2*a+1] = 0, n-1
		}
		at := p.off
		p.off = off
		err := p.countGrid()
		p.off = at
		return err
	case "x_coordinates", "y_coordinates", "z_coordinates":
		if err := l.need(word, off, rectilinear); err != nil {
			return err
		}
		n, err := l.count("the number of coordinates")
		if err != nil {
			return err
		}
		p.axes[key[0]-'x'], err = l.floats(n, 1, word)
		return err
	case "origin", "spacing", "aspect_ratio":
		if err := l.need(word, off, image); err != nil {
			return err
		}
		dst := &p.spacing
		if key == "origin" {
			dst = &p.origin
		}
		for a := range dst {
			var err error
			if dst[a], err = l.number(word); err != nil {
				return err
			}
		}
		return nil
	case "blanking":
		return l.blanking(word, off)
	}
	if l.dst == nil {
		return l.fail(off, legacyCure, "the word %s is not known, expected the next part of the grid, POINT_DATA or CELL_DATA", quote(word))
	}
	return l.attribute(key, word, off)
}

// section begins POINT_DATA or CELL_DATA.
func (l *legacy) section(point bool, word string, off int) error {
	p := l.p
	if p.off == 0 {
		return l.fail(off, legacyCure, "%s before DATASET", word)
	}
	n, err := l.count(word)
	if err != nil {
		return err
	}
	l.rows, l.dst = p.rows, &p.cell
	if point {
		l.rows, l.dst = p.nPoints, &p.point
	}
	if n != l.rows {
		return l.fail(off, cutCure, "%s announces %d tuples, but the grid has %d", word, n, l.rows)
	}
	return nil
}

func (l *legacy) readPoints(off int) error {
	n, err := l.count("the number of points")
	if err != nil {
		return err
	}
	if l.p.points != nil {
		return l.fail(off, legacyCure, "POINTS for the second time")
	}
	if l.p.kind == structured {
		if d, empty := dims(l.p.extent); n != l.p.nPoints {
			return l.fail(off, cutCure, "%d points, but DIMENSIONS %d × %d × %d (empty: %t) before them", n, d[0], d[1], d[2], empty)
		}
	}
	if n > maxCount/3 {
		return l.fail(off, "export fewer points to a file", "%d points", n)
	}
	l.p.nPoints = n
	l.p.measured = true
	l.p.points, err = l.floats(n, 3, "POINTS")
	return err
}

// checkGrid runs when all of a structured file is read.
func (l *legacy) checkGrid() error {
	p := l.p
	if p.nPoints == 0 {
		return nil
	}
	if p.kind == structured && len(p.points) != 3*p.nPoints {
		return l.fail(l.pos, cutCure, "the structured grid has %d POINTS, but its dimensions make %d", len(p.points)/3, p.nPoints)
	}
	if p.kind == rectilinear {
		for a := range p.axes {
			if n := p.extent[2*a+1] - p.extent[2*a] + 1; len(p.axes[a]) != n {
				return l.fail(l.pos, cutCure, "%d coordinates along %c, but the dimension is %d", len(p.axes[a]), "xyz"[a], n)
			}
		}
	}
	return nil
}

// blanking reads the old mark of structured grids: 0 hides a point [mem].
func (l *legacy) blanking(word string, off int) error {
	if err := l.need(word, off, structured); err != nil {
		return err
	}
	n, err := l.count(word)
	if err != nil {
		return err
	}
	if n != l.p.nPoints {
		return l.fail(off, cutCure, "%s for %d points, but the grid has %d", word, n, l.p.nPoints)
	}
	v, err := l.floats(n, 1, word)
	if err != nil {
		return err
	}
	for i := range v {
		if v[i] == 0 {
			v[i] = 2
		} else {
			v[i] = 0
		}
	}
	l.p.addArray(&l.p.point, Array{Name: ghostType, Components: 1, Values: v})
	return nil
}
