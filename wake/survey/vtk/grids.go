package vtk

import "math"

// dims counts the points of an extent along i, j, k; an extent that runs
// backwards is empty.
func dims(e [6]int) (n [3]int, empty bool) {
	for a := range n {
		n[a] = e[2*a+1] - e[2*a] + 1
		empty = empty || n[a] <= 0
	}
	return n, empty
}

// setExtent takes the extent that is written at off, sets nPoints and rows from it, and
// refuses volumes.
func (p *piece) setExtent(off int, e [6]float64) {
	for i, v := range e {
		p.src.failIf(v != math.Trunc(v) || !(math.Abs(v) <= 1<<30), off, xmlCure, "an index of the extent is %g, expected a whole number", v)
		p.extent[i] = int(v)
	}
	p.nPoints, p.rows = 0, 0
	n, empty := dims(p.extent)
	if empty {
		return
	}
	p.src.failIf(n[0] > 1 && n[1] > 1 && n[2] > 1, off, sliceCure, "the %s has %d × %d × %d points and fills a volume", p.kind, n[0], n[1], n[2])
	points, cells := 1, 1
	for a := range n {
		p.src.failIf(n[a] > maxCount/points, off, cutCure, "the %s has %d × %d × %d points, expected fewer than 2^31", p.kind, n[0], n[1], n[2])
		points *= n[a]
		cells *= max(n[a]-1, 1)
	}
	p.src.failIf(cells > maxCount/4, off, "export fewer cells to a file", "the %s has %d cells, expected fewer than 2^29", p.kind, cells)
	p.nPoints, p.rows = points, cells
}

// at returns point (i,j,k), counted from the extent's first.
func (p *piece) at(i [3]int) (x [3]float64) {
	if p.kind == rectilinear {
		for a := range i {
			x[a] = p.axes[a][i[a]]
		}
		return x
	}
	var s [3]float64
	for a := range i {
		s[a] = p.spacing[a] * float64(i[a]+p.extent[2*a])
	}
	for a := range x {
		x[a] = p.origin[a] + (p.direction[3*a]*s[0] + p.direction[3*a+1]*s[1] + p.direction[3*a+2]*s[2])
	}
	return x
}

// unroll lists the points of a grid and the cells between neighbouring indices:
// quadrilaterals, or in a row of points lines.
func (p *piece) unroll() {
	if !p.measured {
		// Nothing in the file confirms the counts, and nothing could be mapped.
		p.src.refuse(p.off, "export the arrays with the grid", "the %s of %d points carries no values", p.kind, p.nPoints)
	}
	n, _ := dims(p.extent)
	if p.kind != structured {
		p.points = make([]float64, 0, 3*p.nPoints)
		for k := range n[2] {
			for j := range n[1] {
				for i := range n[0] {
					x := p.at([3]int{i, j, k})
					p.points = append(p.points, x[:]...)
				}
			}
		}
	}
	// The first and the second direction with more than one point.
	var wide []int
	for _, k := range n {
		if k > 1 {
			wide = append(wide, k)
		}
	}
	g := cellGroup{typ: cellQuad, what: p.kind.String(), at: p.off}
	corners := 4
	switch len(wide) {
	case 0:
		g.typ, corners = cellVertex, 1
		g.conn = []int32{0}
	case 1:
		g.typ, corners = cellLine, 2
		for v := range int32(wide[0] - 1) {
			g.conn = append(g.conn, v, v+1)
		}
	default:
		up := int32(wide[0])
		g.conn = make([]int32, 0, 4*p.rows)
		for b := range int32(wide[1] - 1) {
			for v := b * up; v < b*up+up-1; v++ {
				g.conn = append(g.conn, v, v+1, v+1+up, v+up)
			}
		}
	}
	g.ends = make([]int32, p.rows)
	for k := range g.ends {
		g.ends[k] = int32(corners * (k + 1))
	}
	p.groups = []cellGroup{g}
}
