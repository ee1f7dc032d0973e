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
		if n[a] <= 0 {
			empty = true
		}
	}
	return n, empty
}

// countGrid sets nPoints and rows from the extent, and refuses volumes.
func (p *piece) countGrid() error {
	p.nPoints, p.rows = 0, 0
	n, empty := dims(p.extent)
	if empty {
		return nil
	}
	if n[0] > 1 && n[1] > 1 && n[2] > 1 {
		return p.src.fail(p.off, sliceCure, "the %s has %d × %d × %d points and fills a volume", p.kind, n[0], n[1], n[2])
	}
	points, cells := 1, 1
	for a := range n {
		if n[a] > maxCount/points {
			return p.src.fail(p.off, cutCure, "the %s has %d × %d × %d points, expected fewer than 2^31", p.kind, n[0], n[1], n[2])
		}
		points *= n[a]
		cells *= max(n[a]-1, 1)
	}
	if cells > maxCount/4 {
		return p.src.fail(p.off, "export fewer cells to a file", "the %s has %d cells, expected fewer than 2^29", p.kind, cells)
	}
	p.nPoints, p.rows = points, cells
	return nil
}

// at writes point (i,j,k), counted from the extent's first, to dst.
func (p *piece) at(dst []float64, i [3]int, local int) {
	switch p.kind {
	case structured:
		copy(dst, p.points[3*local:3*local+3])
	case rectilinear:
		for a := range i {
			dst[a] = p.axes[a][i[a]]
		}
	case image:
		var s [3]float64
		for a := range i {
			s[a] = p.spacing[a] * float64(i[a]+p.extent[2*a])
		}
		for a := range 3 {
			dst[a] = p.origin[a] + (p.direction[3*a]*s[0] + p.direction[3*a+1]*s[1] + p.direction[3*a+2]*s[2])
		}
	}
}

// joinGrids places the pieces in the box of indices that they span, so that
// points on common borders become one. Its polygons are the quadrilaterals between
// neighbouring indices.
func (d *Dataset) joinGrids(s *source, ps []*piece) error {
	if len(ps) == 0 {
		d.Cells.Start = []int32{0}
		return nil
	}
	box := ps[0].extent
	sum := 0
	for _, p := range ps {
		if !p.measured {
			// Nothing in the file confirms the counts, and nothing could be mapped.
			return p.src.fail(p.off, "export the arrays with the grid", "the %s of %d points carries no values", p.kind, p.nPoints)
		}
		for a := 0; a < 3; a++ {
			box[2*a] = min(box[2*a], p.extent[2*a])
			box[2*a+1] = max(box[2*a+1], p.extent[2*a+1])
		}
		sum += p.nPoints
	}
	n, _ := dims(box)
	if n[0] > 1 && n[1] > 1 && n[2] > 1 {
		return s.fail(0, sliceCure, "the pieces of the %s span %d × %d × %d points and fill a volume", ps[0].kind, n[0], n[1], n[2])
	}
	// Two directions with more than one point, in rising order; a row of points
	// has just one.
	axis := []int{}
	for a := range n {
		if n[a] > 1 {
			axis = append(axis, a)
		}
	}
	for a := 0; len(axis) < 2; a++ {
		if n[a] == 1 {
			axis = append(axis, a)
		}
	}
	A, B := axis[0], axis[1]
	na, nb := n[A], n[B]
	if len(ps) > 1 && (nb > maxCount/na || na*nb > 4*sum+1024) {
		return s.fail(0, "export the pieces of one connected part", "the pieces span %d × %d points, but have %d", na, nb, sum)
	}
	points := make([]int, len(ps))
	cells := make([]int, len(ps))
	for i, p := range ps {
		points[i], cells[i] = p.nPoints, p.rows
	}
	var err error
	if d.PointArrays, err = d.names(ps, points, "point", func(p *piece) *[]Array { return &p.point }); err != nil {
		return err
	}
	if d.CellArrays, err = d.names(ps, cells, "cell", func(p *piece) *[]Array { return &p.cell }); err != nil {
		return err
	}
	if len(ps) == 1 {
		d.oneGrid(ps[0], A, B, na, nb)
		return nil
	}

	// place says for each place of the box which point it is; −1 where no piece
	// reaches.
	place := make([]int32, na*nb)
	for i := range place {
		place[i] = -1
	}
	forPoints := func(p *piece, f func(u, local int, i [3]int)) {
		m, _ := dims(p.extent)
		local := 0
		for k := range m[2] {
			for j := range m[1] {
				for i := range m[0] {
					at := [3]int{i, j, k}
					u := (at[B]+p.extent[2*B]-box[2*B])*na + at[A] + p.extent[2*A] - box[2*A]
					f(u, local, at)
					local++
				}
			}
		}
	}
	for _, p := range ps {
		forPoints(p, func(u, _ int, _ [3]int) { place[u] = 0 })
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
	pointValues := fill(d.PointArrays, count)
	for _, p := range ps {
		from := match(d.PointArrays, p.point)
		forPoints(p, func(u, local int, i [3]int) {
			id := int(place[u])
			var x [3]float64
			p.at(x[:], i, local)
			if !taken[id] {
				copy(d.Points[3*id:], x[:])
			} else if [3]float64(d.Points[3*id:]) != x {
				moved++
			}
			if set(pointValues, from, id, local) && taken[id] {
				differ++
			}
			taken[id] = true
		})
		p.points, p.point = nil, nil
	}
	if moved > 0 {
		d.Notes = append(d.Notes, "shared by pieces, but in different places, so that the first is used: "+plural(moved, "point"))
	}
	if differ > 0 {
		d.Notes = append(d.Notes, "shared by pieces, but with different values, so that the first are used: "+plural(differ, "point"))
	}

	// The same for cells. A cell that one piece marks as a copy is taken from the
	// other.
	ca, cb := na-1, nb-1
	owner := make([]int32, max(ca*cb, 0)) // piece + 1
	row := make([]int32, len(owner))
	twice := 0
	if cb > 0 {
		for k, p := range ps {
			g := find(p.cell, ghostType)
			m, _ := dims(p.extent)
			ma, mb := m[A]-1, m[B]-1
			for j := range mb {
				for i := range ma {
					local := j*ma + i
					u := (j+p.extent[2*B]-box[2*B])*ca + i + p.extent[2*A] - box[2*A]
					copied := g != nil && ghost(g, local)&1 != 0
					switch o := owner[u]; {
					case o == 0:
						owner[u], row[u] = int32(k)+1, int32(local)
					case copied:
					default:
						if h := find(ps[o-1].cell, ghostType); h != nil && ghost(h, int(row[u]))&1 != 0 {
							owner[u], row[u] = int32(k)+1, int32(local)
						} else {
							twice++
						}
					}
				}
			}
		}
	}
	if twice > 0 {
		d.Notes = append(d.Notes, "written by more than one piece (they overlap), so that the first is used: "+plural(twice, "cell"))
	}
	quads := 0
	for _, o := range owner {
		if o > 0 {
			quads++
		}
	}
	d.Cells.Start = make([]int32, 1, quads+1)
	d.Cells.Index = make([]int32, 0, 4*quads)
	cellValues := fill(d.CellArrays, quads)
	froms := make([][]*Array, len(ps))
	for k, p := range ps {
		froms[k] = match(d.CellArrays, p.cell)
	}
	for u, o := range owner {
		if o == 0 {
			continue
		}
		v := u/ca*na + u%ca
		set(cellValues, froms[o-1], d.Cells.Len(), int(row[u]))
		d.Cells.Index = append(d.Cells.Index, place[v], place[v+1], place[v+1+na], place[v+na])
		d.Cells.Start = append(d.Cells.Start, int32(len(d.Cells.Index)))
	}
	if gap := len(owner) - quads; gap > 0 {
		d.Notes = append(d.Notes, fmt.Sprintf("the pieces leave %d of %d cells of the grid open", gap, len(owner)))
	}
	return nil
}

// oneGrid is joinGrids for a single piece, which needs no bookkeeping.
func (d *Dataset) oneGrid(p *piece, A, B, na, nb int) {
	d.PointArrays, d.CellArrays = p.point, p.cell
	if p.kind == structured {
		d.Points = p.points
	} else {
		d.Points = make([]float64, 3*p.nPoints)
		local := 0
		for b := range nb {
			for a := range na {
				var i [3]int
				i[A], i[B] = a, b
				p.at(d.Points[3*local:], i, local)
				local++
			}
		}
	}
	quads := (na - 1) * (nb - 1)
	d.Cells.Start = make([]int32, 1, quads+1)
	d.Cells.Index = make([]int32, 0, 4*quads)
	for b := range nb - 1 {
		for a := range na - 1 {
			v := int32(b*na + a)
			d.Cells.Index = append(d.Cells.Index, v, v+1, v+1+int32(na), v+int32(na))
			d.Cells.Start = append(d.Cells.Start, int32(len(d.Cells.Index)))
		}
	}
	if quads == 0 {
		// A row of points: its lines have no area.
		for i := range d.CellArrays {
			d.CellArrays[i].Values = nil
		}
	}
}

// fill makes room for n tuples of each array, all NaN.
func fill(as []Array, n int) []Array {
	for k := range as {
		v := make([]float64, n*as[k].Components)
		for i := range v {
			v[i] = math.NaN()
		}
		as[k].Values = v
	}
	return as
}

// match finds each array of as in a piece; nil where the piece lacks it.
func match(as, piece []Array) []*Array {
	out := make([]*Array, len(as))
	for k := range as {
		out[k] = find(piece, as[k].Name)
	}
	return out
}

// set copies tuple row of from to tuple i of dst where that is NaN yet, and
// reports whether other values were there.
func set(dst []Array, from []*Array, i, row int) (differ bool) {
	for k := range dst {
		if from[k] == nil {
			continue
		}
		c := dst[k].Components
		for j := range c {
			old, v := &dst[k].Values[i*c+j], from[k].Values[row*c+j]
			switch {
			case math.IsNaN(*old):
				*old = v
			case *old != v && !math.IsNaN(v) && !marks(dst[k].Name):
				differ = true
			}
		}
	}
	return differ
}
