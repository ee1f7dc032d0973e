package vtk

import "slices"

// Cell types of the library's file formats. The numbers are those of the files.
const (
	cellEmpty      = 0
	cellVertex     = 1
	cellPolyVertex = 2
	cellLine       = 3
	cellPolyLine   = 4
	cellTriangle   = 5
	cellStrip      = 6
	cellPolygon    = 7
	cellPixel      = 8
	cellQuad       = 9
	// mixed means "see types" in a cellGroup.
	mixed = 255
)

const sliceCure = "export a slice through the volume (triangles, polygons or quadrilaterals) and read that"

// cellTypes checks the types of an unstructured grid, read at offset at.
func cellTypes(s *source, at int, types []int32) []byte {
	out := make([]byte, len(types))
	for i, t := range types {
		if t >= cellEmpty && t <= cellQuad {
			out[i] = byte(t)
			continue
		}
		s.refuse(at, sliceCure+"; sides have to be straight", "cell %d is of type %d, which fills a volume or is curved", i, t)
	}
	return out
}

// cellGroup holds cells as a file lists them. Cell i has the corners
// conn[ends[i-1]] … conn[ends[i]-1].
type cellGroup struct {
	typ   byte
	types []byte // when typ is mixed
	ends  []int32
	conn  []int32
	what  string // the element or keyword, and its offset, for messages
	at    int
}

// rising refuses ends, read at offset at, that decrease.
func (g *cellGroup) rising(s *source, at int) {
	last := int32(0)
	for i, e := range g.ends {
		if e < last {
			s.refuse(at, cutCure, "%s offsets: entry %d of %d is %d after %d, expected no decrease", g.what, i+1, len(g.ends), e, last)
		}
		last = e
	}
}

type polygonBuilder struct {
	Polygons
	// row holds the row of the cell values for each polygon. same stays true as
	// long as polygon i has row i and no row was left out.
	row    []int32
	same   bool
	rows   int
	base   int32 // where the point numbers of the piece begin
	noArea int   // vertices, lines, and polygons with fewer than three different corners
	// Not shown are the cells of hidden rows and those with a blank corner.
	hidden, blank []bool
}

// add appends the cells of a group of a piece.
func (b *polygonBuilder) add(s *source, g *cellGroup, nPoints int) {
	for i, id := range g.conn {
		if !(0 <= id && int(id) < nPoints) {
			s.refuse(g.at, cutCure, "%s: corner %d of %d is point %d, expected 0 to %d", g.what, i+1, len(g.conn), id, nPoints-1)
		}
	}
	most := len(g.conn)
	if g.typ == cellStrip || g.typ == mixed {
		most *= 3
	}
	if most > maxCount-len(b.Index) {
		s.refuse(g.at, "export fewer cells to a file", "more than 2^31 corners")
	}
	b.Start, b.row = slices.Grow(b.Start, len(g.ends)), slices.Grow(b.row, len(g.ends))
	b.Index = slices.Grow(b.Index, len(g.conn))
	lo := int32(0)
	var quad [4]int32
	for i, hi := range g.ends {
		c := g.conn[lo:hi]
		lo = hi
		typ := g.typ
		if typ == mixed {
			typ = g.types[i]
		}
		need := 0
		switch typ {
		case cellTriangle:
			need = 3
		case cellPixel, cellQuad:
			need = 4
		}
		if need > 0 && len(c) != need {
			s.refuse(g.at, cutCure, "%s: cell %d of type %d has %d corners, expected %d", g.what, i, typ, len(c), need)
		}
		row := int32(b.rows)
		b.rows++
		switch typ {
		case cellPixel:
			quad = [4]int32{c[0], c[1], c[3], c[2]}
			b.polygon(quad[:], row)
		case cellStrip:
			// Each corner from the third on closes a triangle; every second one turns
			// the other way.
			b.same = false
			for k := 2; k < len(c); k++ {
				if k%2 == 0 {
					quad = [4]int32{c[k-2], c[k-1], c[k]}
				} else {
					quad = [4]int32{c[k-1], c[k-2], c[k]}
				}
				b.polygon(quad[:3], row)
			}
		case cellTriangle, cellPolygon, cellQuad:
			b.polygon(c, row)
		default:
			b.noArea++
			b.same = false
		}
	}
}

// polygon appends one polygon. A corner that repeats its neighbour is left out
// (the ring may be closed by its first corner), and a polygon that keeps fewer
// than three has no area and is left out whole.
func (b *polygonBuilder) polygon(c []int32, row int32) {
	if b.hidden[row] || slices.ContainsFunc(c, func(id int32) bool { return b.blank[b.base+id] }) {
		b.same = false
		return
	}
	start := len(b.Index)
	for k, id := range c {
		if k == 0 || id != c[k-1] {
			b.Index = append(b.Index, b.base+id)
		}
	}
	for len(b.Index) > start+1 && b.Index[len(b.Index)-1] == b.Index[start] {
		b.Index = b.Index[:len(b.Index)-1]
	}
	if len(b.Index)-start < 3 {
		b.Index = b.Index[:start]
		b.noArea++
		b.same = false
		return
	}
	b.Start = append(b.Start, int32(len(b.Index)))
	b.row = append(b.row, row)
}

func pick(a *Array, row []int32) {
	c := a.Components
	out := make([]float64, len(row)*c)
	for i, r := range row {
		copy(out[i*c:(i+1)*c], a.Values[int(r)*c:])
	}
	a.Values = out
}
