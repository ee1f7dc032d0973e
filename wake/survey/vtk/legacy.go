package vtk

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
)

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
	// metadata block names.
	comps int
}

const legacyMagic = "# vtk DataFile Version"

const legacyCure = "the file is cut off or damaged, or not written by the library's rules: export it again"

func readLegacy(r *reader, s *source) *piece {
	l := &legacy{source: s, r: r, p: newPiece(s, polyData, 0)}
	s.text = len(s.data)
	l.header()
	for w, off := l.word(); w != ""; w, off = l.word() {
		l.keyword(strings.ToLower(w), w, off)
	}
	l.check()
	if n := len(l.data); n > 0 && l.data[n-1] != '\n' {
		l.p.notes = append(l.p.notes, "the file does not end with a line break, as the library's writers end it; it may be cut off")
	}
	return l.p
}

func (l *legacy) header() {
	first := l.line()
	version := strings.Fields(first[min(len(first), len(legacyMagic)):])
	if len(version) == 1 {
		major, _, _ := strings.Cut(version[0], ".")
		l.major, _ = strconv.Atoi(major)
	}
	l.failIf(!looksLegacy([]byte(first)) || l.major < 1, 0, legacyCure, "the first line is %s, expected %q and a version", quote(first), legacyMagic)
	l.failIf(l.major > 5, 0, "export with version 5.1 or 4.2", "version %s of the legacy format, versions 1 to 5 are read", quote(version[0]))
	l.line() // the title
	w, off := l.word()
	l.binary = strings.EqualFold(w, "BINARY")
	l.failIf(!l.binary && !strings.EqualFold(w, "ASCII"), off, legacyCure, "the third line is %s, expected ASCII or BINARY", quote(w))
	if l.line(); l.binary {
		l.text = l.pos
	}
}

// line returns the rest of the line at pos, of which 1000 bytes are enough, and goes
// behind it.
func (l *legacy) line() string {
	lo := l.pos
	if i := bytes.IndexByte(l.data[lo:], '\n'); i >= 0 {
		l.pos += i + 1
	} else {
		l.pos = len(l.data)
	}
	return strings.TrimRight(string(l.data[lo:min(l.pos, lo+1000)]), "\r\n")
}

// word returns the next word and its offset, "" at the end of the file. A word
// that is longer than any name is cut: it is not one.
func (l *legacy) word() (string, int) {
	lo, hi := word(l.data, l.pos)
	l.pos = hi
	return string(l.data[lo:min(hi, lo+4096)]), lo
}

func (l *legacy) sameLine() bool {
	lo, hi := word(l.data, l.pos)
	return lo < hi && bytes.IndexByte(l.data[l.pos:lo], '\n') < 0
}

func (l *legacy) count(what string) int {
	w, off := l.word()
	n, ok := parseCount([]byte(w))
	l.failIf(!ok, off, legacyCure, "%s is %s, expected a whole number from 0 to 2^31-1", what, quote(w))
	return n
}

func (l *legacy) number(what string) float64 {
	w, off := l.word()
	v, ok := parseFloat([]byte(w))
	l.failIf(!ok || v-v != 0, off, legacyCure, "%s is %s, expected a number", what, quote(w))
	return v
}

var legacyKinds = map[string]kind{
	"polydata": polyData, "unstructured_grid": unstructured, "structured_grid": structured,
	"rectilinear_grid": rectilinear, "structured_points": image,
}

// part is what may stand before the values: how it is read, and in which kinds of grids.
type part struct {
	read  func(l *legacy, key, word string, off int)
	kinds []kind
}

var (
	cellList  = part{(*legacy).cells, []kind{polyData}}
	axisPart  = part{(*legacy).axis, []kind{rectilinear}}
	framePart = part{(*legacy).frame, []kind{image}}
	sizePart  = part{(*legacy).extent, []kind{structured, rectilinear, image}}

	legacyParts = map[string]part{
		"points":   {(*legacy).points, []kind{polyData, unstructured, structured}},
		"vertices": cellList, "lines": cellList, "polygons": cellList, "triangle_strips": cellList,
		"cells": {(*legacy).cells, []kind{unstructured}}, "cell_types": {(*legacy).types, []kind{unstructured}},
		"dimensions": sizePart, "extent": sizePart,
		"x_coordinates": axisPart, "y_coordinates": axisPart, "z_coordinates": axisPart,
		"origin": framePart, "spacing": framePart, "aspect_ratio": framePart,
	}
)

func (l *legacy) keyword(key, word string, off int) {
	p, isPart := legacyParts[key]
	switch {
	case key == "dataset":
		l.dataset(off)
	case key == "field":
		l.field()
	case key == "metadata":
		l.metadata()
	case key == "point_data" || key == "cell_data":
		l.section(key, word, off)
	case isPart && l.dst != nil:
		l.refuse(off, legacyCure, "%s behind POINT_DATA or CELL_DATA", word)
	case isPart && l.p.off == 0:
		l.refuse(off, legacyCure, "%s before DATASET", word)
	case isPart && !slices.Contains(p.kinds, l.p.kind):
		l.refuse(off, legacyCure, "%s in a file of %s", word, l.p.kind)
	case isPart:
		p.read(l, key, word, off)
	case l.dst == nil:
		l.refuse(off, legacyCure, "the word %s is not known, expected the next part of the grid, POINT_DATA or CELL_DATA", quote(word))
	default:
		l.attribute(key, word, off)
	}
}

func (l *legacy) dataset(off int) {
	w, at := l.word()
	k, ok := legacyKinds[strings.ToLower(w)]
	l.failIf(!ok, at, "export polygonal data or a grid", "the kind of data is %s, which is not read", quote(w))
	l.failIf(l.p.off > 0, off, legacyCure, "a second DATASET")
	notes := l.p.notes
	l.p = newPiece(l.source, k, off)
	l.p.notes = notes
}

func (l *legacy) section(key, word string, off int) {
	l.failIf(l.p.off == 0, off, legacyCure, "%s before DATASET", word)
	l.rows, l.dst = l.p.rows, &l.p.cell
	if key == "point_data" {
		l.rows, l.dst = l.p.nPoints, &l.p.point
	}
	if n := l.count(word); n != l.rows {
		l.refuse(off, cutCure, "%s announces %d tuples, but the grid has %d", word, n, l.rows)
	}
}

func (l *legacy) extent(key, _ string, off int) {
	var e [6]float64
	for i := range e {
		if key == "extent" {
			e[i] = l.number("an index of the extent")
		} else if i%2 == 1 {
			e[i] = float64(l.count("a dimension") - 1)
		}
	}
	l.p.setExtent(off, e)
}

func (l *legacy) axis(key, word string, _ int) {
	l.p.axes[key[0]-'x'] = l.floats(l.count("the number of coordinates"), 1, word)
}

func (l *legacy) frame(key, word string, _ int) {
	dst := &l.p.spacing
	if key == "origin" {
		dst = &l.p.origin
	}
	for a := range dst {
		dst[a] = l.number(word)
	}
}

func (l *legacy) points(_, _ string, off int) {
	n := l.count("the number of points")
	l.failIf(l.p.points != nil, off, legacyCure, "POINTS for the second time")
	if l.p.kind == structured && n != l.p.nPoints {
		d, empty := dims(l.p.extent)
		l.refuse(off, cutCure, "%d points, but DIMENSIONS %d × %d × %d (empty: %t) before them", n, d[0], d[1], d[2], empty)
	}
	l.failIf(n > maxCount/3, off, "export fewer points to a file", "%d points", n)
	l.p.nPoints, l.p.measured = n, true
	l.p.points = l.floats(n, 3, "POINTS")
}

func (l *legacy) check() {
	p := l.p
	switch {
	case p.kind.gridded() && p.nPoints == 0:
	case p.kind == structured && len(p.points) != 3*p.nPoints:
		l.refuse(l.pos, cutCure, "the structured grid has %d POINTS, but its dimensions make %d", len(p.points)/3, p.nPoints)
	case p.kind == rectilinear:
		n, _ := dims(p.extent)
		for a, n := range n {
			l.failIf(len(p.axes[a]) != n, l.pos, cutCure, "%d coordinates along %c, but the dimension is %d", len(p.axes[a]), "xyz"[a], n)
		}
	case p.kind.gridded() || p.rows == 0:
	case p.points == nil:
		l.refuse(l.pos, cutCure, "there are %d cells, but no POINTS", p.rows)
	case p.kind == unstructured && p.groups[0].types == nil:
		l.refuse(l.pos, cutCure, "there are %d cells, but no CELL_TYPES", p.rows)
	}
}

// legacyCells are the lists of cells; cell values follow this order whatever that of the
// lists.
var legacyCells = map[string]byte{"vertices": cellPolyVertex, "lines": cellPolyLine, "polygons": cellPolygon, "triangle_strips": cellStrip, "cells": mixed}

func rank(typ byte) int {
	return bytes.IndexByte([]byte{cellPolyVertex, cellPolyLine, cellPolygon, cellStrip}, typ)
}

// cells reads a list of cells. Versions before 5 write "n size" and, for each cell,
// the number of its corners and these; size counts all of it. Version 5 writes
// "n+1 corners", the array OFFSETS with n+1 entries from 0 on and the array
// CONNECTIVITY.
func (l *legacy) cells(key, word string, off int) {
	g := cellGroup{typ: legacyCells[key], what: word, at: off}
	l.failIf(slices.ContainsFunc(l.p.groups, func(h cellGroup) bool { return h.typ == g.typ }), off, legacyCure, "%s for the second time", word)
	n := l.count("the number of cells")
	size := l.count("the length of " + word)
	if l.major < 5 {
		l.cellsByCount(&g, n, size)
	} else if n > 0 {
		l.cellsByOffset(&g, n, size)
	}
	at := len(l.p.groups)
	for at > 0 && rank(g.typ) < rank(l.p.groups[at-1].typ) {
		at--
	}
	l.p.groups = slices.Insert(l.p.groups, at, g)
	l.failIf(l.p.rows > maxCount-len(g.ends), off, "export fewer cells to a file", "more than 2^31 cells")
	l.p.rows += len(g.ends)
}

func (l *legacy) cellsByOffset(g *cellGroup, n, size int) {
	array := func(name string, n int) []int32 {
		if w, at := l.word(); !strings.EqualFold(w, name) {
			l.refuse(at, legacyCure, "%s: the word %s, expected %s", g.what, quote(w), name)
		}
		typ, at := l.word()
		return l.ints(n, g.what+" "+name, typ, at)
	}
	_, at := word(l.data, l.pos)
	ends := array("OFFSETS", n)
	l.failIf(ends[0] != 0, at, cutCure, "%s OFFSETS begin with %d, expected 0", g.what, ends[0])
	g.ends = ends[1:]
	g.rising(l.source, at)
	l.failIf(int(ends[n-1]) != size, at, cutCure, "%s OFFSETS end with %d, but %d corners are announced", g.what, ends[n-1], size)
	lo, hi := word(l.data, l.pos)
	if size > 0 || strings.EqualFold(string(l.data[lo:min(hi, lo+20)]), "CONNECTIVITY") {
		g.conn = array("CONNECTIVITY", size)
	}
}

func (l *legacy) cellsByCount(g *cellGroup, n, size int) {
	l.failIf(n > size, g.at, cutCure, "%s: %d cells cannot stand in a list of %d numbers", g.what, n, size)
	v := l.ints(size, g.what, "int", l.pos)
	g.ends = make([]int32, n)
	// The counts are taken out in place.
	to, from := 0, 0
	for i := range n {
		if from >= size {
			l.refuse(g.at, cutCure, "%s: the list of %d numbers ends after %d of %d cells", g.what, size, i, n)
		}
		c := int(v[from])
		if from++; !(0 <= c && c <= size-from) {
			l.refuse(g.at, cutCure, "%s: cell %d of %d has %d corners, %d numbers are left", g.what, i+1, n, c, size-from)
		}
		copy(v[to:], v[from:from+c])
		to += c
		from += c
		g.ends[i] = int32(to)
	}
	l.failIf(from != size, g.at, cutCure, "%s: %d numbers are left over behind the last of %d cells", g.what, size-from, n)
	g.conn = v[:to]
}

func (l *legacy) types(_, _ string, off int) {
	n := l.count("the number of cell types")
	l.failIf(len(l.p.groups) != 1 || n != l.p.rows, off, cutCure, "%d cell types for %d cells", n, l.p.rows)
	v := l.ints(n, "CELL_TYPES", "int", l.pos)
	l.p.groups[0].types = cellTypes(l.source, off, v)
}
