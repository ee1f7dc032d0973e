package vtk

import (
	"fmt"
	"math"
)

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
func (p *piece) at(i [3]int, local int) (x [3]float64) {
	switch p.kind {
	case structured:
		return [3]float64(p.points[3*local:])
	case rectilinear:
		for a := range i {
			x[a] = p.axes[a][i[a]]
		}
	case image:
		var s [3]float64
		for a := range i {
			s[a] = p.spacing[a] * float64(i[a]+p.extent[2*a])
		}
		for a := range 3 {
			x[a] = p.origin[a] + (p.direction[3*a]*s[0] + p.direction[3*a+1]*s[1] + p.direction[3*a+2]*s[2])
		}
	}
	return x
}

// box is the range of indices that the pieces of a grid span; a and b are the two
// directions with more than one point, in rising order, or others for a row of points.
type box struct {
	extent [6]int
	a, b   int
	na, nb int
}

// newBox finds the box, and refuses volumes and pieces far apart.
func newBox(s *source, ps []*piece) *box {
	g := &box{extent: ps[0].extent}
	sum := 0
	for _, p := range ps {
		if !p.measured {
			// Nothing in the file confirms the counts, and nothing could be mapped.
			p.src.refuse(p.off, "export the arrays with the grid", "the %s of %d points carries no values", p.kind, p.nPoints)
		}
		for a := range 3 {
			g.extent[2*a] = min(g.extent[2*a], p.extent[2*a])
			g.extent[2*a+1] = max(g.extent[2*a+1], p.extent[2*a+1])
		}
		sum += p.nPoints
	}
	n, _ := dims(g.extent)
	s.failIf(n[0] > 1 && n[1] > 1 && n[2] > 1, 0, sliceCure, "the pieces of the %s span %d × %d × %d points and fill a volume", ps[0].kind, n[0], n[1], n[2])
	var wide, thin []int
	for a := range n {
		if n[a] > 1 {
			wide = append(wide, a)
		} else {
			thin = append(thin, a)
		}
	}
	wide = append(wide, thin...)
	g.a, g.b = wide[0], wide[1]
	g.na, g.nb = n[g.a], n[g.b]
	s.failIf(len(ps) > 1 && (g.nb > maxCount/g.na || g.na*g.nb > 4*sum+1024), 0, "export the pieces of one connected part", "the pieces span %d × %d points, but have %d", g.na, g.nb, sum)
	return g
}

// each calls f for the points of a piece, or with less = 1 for its cells: u is the place
// in the box, local the one in the piece, i the indices of the point.
func (g *box) each(p *piece, less int, f func(u, local int, i [3]int)) {
	n, _ := dims(p.extent)
	local := 0
	for b := range n[g.b] - less {
		for a := range n[g.a] - less {
			var i [3]int
			i[g.a], i[g.b] = a, b
			f((b+p.extent[2*g.b]-g.extent[2*g.b])*(g.na-less)+a+p.extent[2*g.a]-g.extent[2*g.a], local, i)
			local++
		}
	}
}

// joinGrids places the pieces in the box of indices that they span, so that
// points on common borders become one. Its polygons are the quadrilaterals between
// neighbouring indices.
func (d *Dataset) joinGrids(s *source, ps []*piece) {
	if len(ps) == 0 {
		d.Cells.Start = []int32{0}
		return
	}
	g := newBox(s, ps)
	d.PointArrays, d.CellArrays = d.names(ps, pointData), d.names(ps, cellData)
	if len(ps) == 1 {
		d.oneGrid(ps[0], g)
		return
	}
	d.joinGridCells(ps, g, d.joinGridPoints(ps, g))
}

// oneGrid is joinGrids for a single piece, which needs no bookkeeping.
func (d *Dataset) oneGrid(p *piece, g *box) {
	d.PointArrays, d.CellArrays = p.point, p.cell
	if d.Points = p.points; p.kind != structured {
		d.Points = make([]float64, 3*p.nPoints)
		g.each(p, 0, func(u, _ int, i [3]int) {
			x := p.at(i, u)
			copy(d.Points[3*u:], x[:])
		})
	}
	quads := (g.na - 1) * (g.nb - 1)
	d.Cells.Start = make([]int32, 1, quads+1)
	d.Cells.Index = make([]int32, 0, 4*quads)
	for b := range g.nb - 1 {
		for a := range g.na - 1 {
			v, up := int32(b*g.na+a), int32(g.na)
			d.quad(v, v+1, v+1+up, v+up)
		}
	}
	if quads == 0 {
		// A row of points: its lines have no area.
		for i := range d.CellArrays {
			d.CellArrays[i].Values = nil
		}
	}
}

func (d *Dataset) quad(corners ...int32) {
	d.Cells.Index = append(d.Cells.Index, corners...)
	d.Cells.Start = append(d.Cells.Start, int32(len(d.Cells.Index)))
}

// joinGridPoints numbers the points of several pieces, −1 where none reaches, and takes
// their places and values from the first piece that has them.
func (d *Dataset) joinGridPoints(ps []*piece, g *box) (place []int32) {
	place = make([]int32, g.na*g.nb)
	for i := range place {
		place[i] = -1
	}
	for _, p := range ps {
		g.each(p, 0, func(u, _ int, _ [3]int) { place[u] = 0 })
	}
	count := 0
	for u := range place {
		if place[u] == 0 {
			place[u] = int32(count)
			count++
		}
	}
	d.Points = make([]float64, 3*count)
	taken := make([]bool, count)
	moved, differ := 0, 0
	fill(d.PointArrays, count)
	for _, p := range ps {
		from := match(d.PointArrays, p.point)
		g.each(p, 0, func(u, local int, i [3]int) {
			id := int(place[u])
			x := p.at(i, local)
			if !taken[id] {
				copy(d.Points[3*id:], x[:])
			} else if [3]float64(d.Points[3*id:]) != x {
				moved++
			}
			if set(d.PointArrays, from, id, local) && taken[id] {
				differ++
			}
			taken[id] = true
		})
		p.points, p.point = nil, nil
	}
	d.note(moved, "shared by pieces, but in different places, so that the first is used: ", "point")
	d.note(differ, "shared by pieces, but with different values, so that the first are used: ", "point")
	return place
}

// joinGridCells does the same for cells. A cell that one piece marks as a copy is taken
// from the other.
func (d *Dataset) joinGridCells(ps []*piece, g *box, place []int32) {
	owner := make([]int32, (g.na-1)*(g.nb-1)) // piece + 1
	row := make([]int32, len(owner))
	copied := func(k int32, row int) bool {
		a := find(ps[k-1].cell, ghostType)
		return a != nil && ghost(a.Values[row*a.Components])&1 != 0
	}
	twice, quads := 0, 0
	for k, p := range ps {
		k := int32(k) + 1
		g.each(p, 1, func(u, local int, _ [3]int) {
			switch o := owner[u]; {
			case o == 0:
				quads++
				owner[u], row[u] = k, int32(local)
			case copied(k, local):
			case copied(o, int(row[u])):
				owner[u], row[u] = k, int32(local)
			default:
				twice++
			}
		})
	}
	d.note(twice, "written by more than one piece (they overlap), so that the first is used: ", "cell")
	d.Cells.Start = make([]int32, 1, quads+1)
	d.Cells.Index = make([]int32, 0, 4*quads)
	fill(d.CellArrays, quads)
	from := make([][]*Array, len(ps))
	for k, p := range ps {
		from[k] = match(d.CellArrays, p.cell)
	}
	for u, o := range owner {
		if o > 0 {
			set(d.CellArrays, from[o-1], d.Cells.Len(), int(row[u]))
			v := u/(g.na-1)*g.na + u%(g.na-1)
			d.quad(place[v], place[v+1], place[v+1+g.na], place[v+g.na])
		}
	}
	if gap := len(owner) - quads; gap > 0 {
		d.Notes = append(d.Notes, fmt.Sprintf("the pieces leave %d of %d cells of the grid open", gap, len(owner)))
	}
}

// fill makes room for n tuples of each array, all NaN.
func fill(as []Array, n int) {
	for k := range as {
		as[k].Values = appendNaN(make([]float64, 0, n*as[k].Components), n*as[k].Components)
	}
}

// match finds each array of as in a piece; nil where the piece lacks it.
func match(as, piece []Array) []*Array {
	out := make([]*Array, len(as))
	for k := range as {
		out[k] = find(piece, as[k].Name)
	}
	return out
}

// set copies tuple row of from to tuple i of dst where that is NaN yet, and reports
// whether other values were there.
func set(dst []Array, from []*Array, i, row int) (differ bool) {
	for k, a := range from {
		if a == nil {
			continue
		}
		for j := range a.Components {
			old, v := &dst[k].Values[i*a.Components+j], a.Values[row*a.Components+j]
			switch {
			case math.IsNaN(*old):
				*old = v
			case *old != v && !math.IsNaN(v) && !marks(a.Name):
				differ = true
			}
		}
	}
	return differ
}
