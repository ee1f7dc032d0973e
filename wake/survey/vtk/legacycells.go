package vtk

import (
	"bytes"
	"slices"
	"strings"
)

// rank is the place of a list of cells in the order of cell values.
func rank(typ byte) int {
	return bytes.IndexByte([]byte{cellPolyVertex, cellPolyLine, cellPolygon, cellStrip}, typ)
}

// cells reads a list of cells. Versions before 5 write "n size" and, for each cell,
// the number of its corners and these; size counts all of it. Version 5 writes
// "n+1 corners", the array OFFSETS with n+1 entries from 0 on and the array
// CONNECTIVITY.
func (l *legacy) cells(typ byte, word string, off int) error {
	for _, g := range l.p.groups {
		if g.typ == typ {
			return l.fail(off, legacyCure, "%s for the second time", word)
		}
	}
	n, err := l.count("the number of cells")
	if err != nil {
		return err
	}
	size, err := l.count("the length of " + word)
	if err != nil {
		return err
	}
	g := cellGroup{typ: typ, what: word, at: off}
	if l.major >= 5 {
		err = l.cellsByOffset(&g, n, size)
	} else {
		err = l.cellsByCount(&g, n, size)
	}
	if err != nil {
		return err
	}
	// Cell values follow the order vertices, lines, polygons, strips whatever the
	// order of the lists.
	at := len(l.p.groups)
	for at > 0 && rank(typ) < rank(l.p.groups[at-1].typ) {
		at--
	}
	l.p.groups = slices.Insert(l.p.groups, at, g)
	if l.p.rows > maxCount-len(g.ends) {
		return l.fail(off, "export fewer cells to a file", "more than 2^31 cells")
	}
	l.p.rows += len(g.ends)
	return nil
}

func (l *legacy) cellsByOffset(g *cellGroup, n, size int) error {
	if n == 0 {
		return nil
	}
	for i, part := range []string{"OFFSETS", "CONNECTIVITY"} {
		if i == 1 && size == 0 && !l.next("CONNECTIVITY") {
			break
		}
		w, at := l.word()
		if !strings.EqualFold(w, part) {
			return l.fail(at, legacyCure, "%s: the word %s, expected %s", g.what, quote(w), part)
		}
		k := n
		if i == 1 {
			k = size
		}
		v, err := l.ints(k, g.what+" "+part, "")
		if err != nil {
			return err
		}
		if i == 1 {
			g.conn = v
			break
		}
		for j, e := range v {
			if j == 0 && e != 0 || j > 0 && e < v[j-1] {
				return l.fail(at, cutCure, "%s OFFSETS: entry %d of %d is %d, expected a rise from 0", g.what, j+1, n, e)
			}
		}
		if int(v[n-1]) != size {
			return l.fail(at, cutCure, "%s OFFSETS end with %d, but %d corners are announced", g.what, v[n-1], size)
		}
		g.ends = v[1:]
	}
	return nil
}

// next reports whether the next word is w, without going behind it.
func (l *legacy) next(w string) bool {
	lo, hi := word(l.data, l.pos)
	return strings.EqualFold(string(l.data[lo:min(hi, lo+len(w)+1)]), w)
}

func (l *legacy) cellsByCount(g *cellGroup, n, size int) error {
	if n > size {
		return l.fail(g.at, cutCure, "%s: %d cells cannot stand in a list of %d numbers", g.what, n, size)
	}
	v, err := l.ints(size, g.what, "int")
	if err != nil {
		return err
	}
	g.ends = make([]int32, n)
	// The counts are taken out in place.
	to, from := 0, 0
	for i := range n {
		if from >= size {
			return l.fail(g.at, cutCure, "%s: the list of %d numbers ends after %d of %d cells", g.what, size, i, n)
		}
		c := int(v[from])
		from++
		if !(0 <= c && c <= size-from) {
			return l.fail(g.at, cutCure, "%s: cell %d of %d has %d corners, %d numbers are left", g.what, i+1, n, c, size-from)
		}
		copy(v[to:], v[from:from+c])
		to += c
		from += c
		g.ends[i] = int32(to)
	}
	if from != size {
		return l.fail(g.at, cutCure, "%s: %d numbers are left over behind the last of %d cells", g.what, size-from, n)
	}
	g.conn = v[:to]
	return nil
}

func (l *legacy) types(off int) error {
	n, err := l.count("the number of cell types")
	if err != nil {
		return err
	}
	if len(l.p.groups) != 1 || n != l.p.rows {
		return l.fail(off, cutCure, "%d cell types for %d cells", n, l.p.rows)
	}
	v, err := l.ints(n, "CELL_TYPES", "int")
	if err != nil {
		return err
	}
	l.p.groups[0].types, err = cellTypes(l.source, off, v)
	return err
}
