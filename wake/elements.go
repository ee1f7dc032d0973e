package wake

import (
	"math"
	"slices"

	"wakeledger/grid"
)

const (
	// maxOverlap is the part of the area that polygons may cover twice after those
	// that lie on others have been taken out; beyond it no integral means anything.
	maxOverlap = 1e-3
	// sameCell is how far the corners of given cells may lie from those that a
	// lattice of cells represents, as a part of the window.
	sameCell = 1e-9
)

// share deals the elements out to the groups of rows: nil for all when there is
// one group of all rows.
func (s *Samples) share(groups [][]int32) ([][]int32, error) {
	out := make([][]int32, len(groups))
	if len(groups) == 1 && groups[0] == nil {
		return out, nil
	}
	if s.CellValues {
		return groups, nil // sample i is element i
	}
	group := make([]int32, s.N)
	for g, rows := range groups {
		out[g] = []int32{}
		for _, r := range rows {
			group[r] = int32(g)
		}
	}
	e := s.Elements
	for k := range len(e.Start) - 1 {
		ids := e.Index[e.Start[k]:e.Start[k+1]]
		g := group[ids[0]]
		for _, id := range ids {
			if group[id] != g {
				return nil, Refuse(s.File, "export flat planes only", "polygon %d has corners in two planes, at (%.4g, %.4g, %.4g) and at (%.4g, %.4g, %.4g)", k+1,
					s.Col[X][ids[0]], s.Col[Y][ids[0]], s.Col[Z][ids[0]], s.Col[X][id], s.Col[Y][id], s.Col[Z][id])
			}
		}
		out[g] = append(out[g], int32(k))
	}
	return out, nil
}

// meshElements makes the mesh of given polygons: those of these numbers, all of
// them for nil. For point values points are the corners, for cell values the
// places of the cells.
func (p *Plane) meshElements(s *Samples, rows, elements []int32, points []grid.Point, opt PlaneOptions) error {
	c := s.polygons(rows, elements, p.Normal, points)
	if len(c.Start) < 2 {
		return Refuse(p.Name(), "export it with its cells, or as points alone", "the plane has no polygons")
	}
	p.sayAsked(opt, s.CellValues)
	keep, err := p.sound(c)
	if err != nil {
		return err
	}
	mesh := &grid.Mesh{Kind: grid.KindPolygons, Support: grid.Nodes}
	if s.CellValues {
		mesh = &grid.Mesh{Kind: grid.KindCells, Support: grid.Cells, Points: points, Cells: c}
	}
	p.Mesh = mesh
	if cover := p.cover(c, keep); cover != nil {
		return p.overlap(c, *cover)
	}
	return nil
}

// cover makes the mesh of the polygons that are kept, and tells how they cover the plane; nil
// where they are the elements of a lattice.
func (p *Plane) cover(c *grid.CellSet, keep []bool) *grid.Coverage {
	m := p.Mesh
	if c.Keep(keep); m.Kind == grid.KindCells {
		m.Points = p.take(m.Points, keep)
	} else {
		p.join(c)
		m.Points = c.Corners
		m.Triangles, m.Faces = split(c)
	}
	if p.latticed(c) {
		return nil
	}
	cover := c.Cover(m.Spacing())
	m.Gaps = cover.Gaps
	return &cover
}

// latticed makes the mesh the lattice that the polygons are the elements of, if there is one.
func (p *Plane) latticed(c *grid.CellSet) bool {
	m := p.Mesh
	l := lattice(c, m)
	if l != nil {
		p.Mesh = &grid.Mesh{Kind: grid.KindLattice, Support: m.Support, Points: m.Points, Lattice: l, Gaps: l.Gaps()}
	}
	return l != nil
}

// sayAsked warns when the support was asked for against the file.
func (p *Plane) sayAsked(opt PlaneOptions, cells bool) {
	support := grid.Nodes
	if cells {
		support = grid.Cells
	}
	if opt.SupportBy != "" && opt.Support != support {
		p.warn("support-given", "leave the support to the file",
			"%s were asked for, but the file has polygons with values on their %s, which are used as they are", opt.Support, map[bool]string{false: "corners", true: "faces"}[cells])
	}
}

// polygons projects the elements.
func (s *Samples) polygons(rows, elements []int32, normal Axis, points []grid.Point) *grid.CellSet {
	e := s.Elements
	c := &grid.CellSet{Corners: points}
	var renumber []int32
	if s.CellValues {
		c.Corners = make([]grid.Point, len(e.Corner))
		a, b := normal.InPlane()
		for i, q := range e.Corner {
			c.Corners[i] = grid.Point{X: q[a], Y: q[b]}
		}
	} else if rows != nil {
		renumber = make([]int32, s.N)
		for i, r := range rows {
			renumber[r] = int32(i)
		}
	}
	if elements == nil {
		c.Start, c.Index = slices.Clone(e.Start), slices.Clone(e.Index)
		return c
	}
	c.Start = make([]int32, 1, len(elements)+1)
	for _, k := range elements {
		for _, id := range e.Index[e.Start[k]:e.Start[k+1]] {
			if renumber != nil {
				id = renumber[id]
			}
			c.Index = append(c.Index, id)
		}
		c.Start = append(c.Start, int32(len(c.Index)))
	}
	return c
}

// sound brings the corners of polygons in order, anticlockwise, and tells which ones to
// keep: those with an area whose sides do not cross.
func (p *Plane) sound(c *grid.CellSet) ([]bool, error) {
	n := c.Len()
	keep := make([]bool, n)
	flat, mended, crossed := 0, 0, 0
	var tri []int32
	for e := range n {
		bow := c.Uncross(e)
		if c.Degenerate(e) {
			flat++
			continue
		}
		if bow {
			mended++
		}
		if c.Area(e) < 0 {
			c.Turn(e) // all count as positive area
		}
		if tri, keep[e] = c.AppendTriangles(tri[:0], e); !keep[e] {
			crossed++
		}
	}
	if crossed == n-flat && crossed > 0 {
		return nil, Refuse(p.Name(), "check the order of the corners", "all %d polygons cross themselves", crossed)
	}
	if mended > 0 {
		p.warn("corner-order", "check the order of the corners in the export",
			"the sides of %d of %d quadrilaterals cross; their corners are taken in the order in which none do", mended, n)
	}
	if crossed > 0 {
		p.warn("crossed-polygons", "check the export", "%d of %d polygons cross themselves and are left out", crossed, n)
	}
	if flat == n {
		return nil, Refuse(p.Name(), "check the coordinates, and the plane's normal", "all %d polygons have no area", n)
	}
	if flat > 0 {
		p.warn("flat-polygons", "check the export", "%d of %d polygons have no area and are left out", flat, n)
	}
	return keep, nil
}

// take keeps the samples that are marked.
func (p *Plane) take(points []grid.Point, keep []bool) []grid.Point {
	if !slices.Contains(keep, false) {
		return points
	}
	from := grid.Where(len(keep), func(i int32) bool { return keep[i] })
	p.gather(from, nil)
	return At(points, from)
}

// At are the entries of these numbers.
func At[T any, I int | int32](v []T, of []I) []T {
	out := make([]T, len(of))
	for k, i := range of {
		out[k] = v[i]
	}
	return out
}

// join makes one sample of those at one position whose values are all the same,
// and leaves out samples that are in no polygon. Positions that carry different
// values, in different polygons, stay apart: each polygon keeps its own.
func (p *Plane) join(c *grid.CellSet) {
	n := len(c.Corners)
	used := make([]bool, n)
	for _, id := range c.Index {
		used[id] = true
	}
	same := func(i, j int32) bool {
		for _, f := range p.Field {
			if f != nil && f[i] != f[j] {
				return false
			}
		}
		return true
	}
	first := make(map[grid.Point]int32, n)
	next := map[int32]int32{} // further samples at the position, with other values
	renumber := make([]int32, n)
	keep := make([]bool, n)
	kept, loose, apart := int32(0), 0, 0
	to := make([]int32, n)
	for i := range int32(n) {
		if !used[i] {
			loose++
			continue
		}
		q := grid.Point{X: c.Corners[i].X + 0, Y: c.Corners[i].Y + 0} // −0 is 0
		found, last := int32(-1), int32(-1)
		for j, ok := first[q]; ok && found < 0; j, ok = next[j] {
			if last = j; same(i, j) {
				found = j
			}
		}
		switch {
		case found >= 0:
			to[i] = found
			p.Merged++
			continue
		case last >= 0:
			next[last] = i
			apart++
		default:
			first[q] = i
		}
		keep[i], to[i], renumber[i] = true, i, kept
		kept++
	}
	for k, id := range c.Index {
		c.Index[k] = renumber[to[id]]
	}
	c.Corners = p.take(c.Corners, keep)
	if loose > 0 {
		p.warn("loose-points", "check the export if they should count", "%d of %d points belong to no polygon and are left out", loose, n)
	}
	if apart > 0 {
		p.warn("seam-values", "check whether parts of the export overlap in time or in state",
			"%d samples repeat a position with other values; each polygon keeps its own", apart)
	}
}

// split makes triangles of the polygons, none of which cross themselves.
func split(c *grid.CellSet) (tri, faces []int32) {
	faces = make([]int32, 1, c.Len()+1)
	for e := range c.Len() {
		tri, _ = c.AppendTriangles(tri, e)
		faces = append(faces, int32(len(tri)/3))
	}
	return tri, faces
}

// overlap deals with polygons that cover others: those that lie on an earlier one
// are taken out; the plane is refused where more than a thousandth of its area is
// still covered twice.
func (p *Plane) overlap(c *grid.CellSet, cover grid.Coverage) error {
	if cover.Overlap == 0 {
		return nil
	}
	covered := c.Covered()
	keep := make([]bool, len(covered))
	gone, lost := 0, 0.0
	for e, on := range covered {
		keep[e] = !on
		if on {
			gone++
			lost += c.Area(e)
		}
	}
	if gone > 0 {
		again := p.cover(c, keep)
		p.warn("overlapping-polygons", "export the surface once, without copies and without overlap",
			"%d polygons with %.4g m2 lie on earlier ones and are left out, so that nothing counts twice", gone, lost)
		if again == nil {
			return nil
		}
		cover = *again
	}
	area := 0.0
	for e := range c.Len() {
		area += c.Area(e)
	}
	// A single probe is within the rounding of a seam.
	if cover.Overlap > math.Max(maxOverlap*area, 1.5*cover.Probe) {
		return Refuse(p.Name(), "export one surface without overlapping parts", "the polygons overlap: about %.3g m2 of %.4g m2 are covered more than once", cover.Overlap, area)
	}
	if cover.Overlap > 1.5*cover.Probe {
		p.warn("overlap-left", "export one surface without overlapping parts", "about %.2g m2 of %.4g m2 are covered twice and count twice", cover.Overlap, area)
	}
	return nil
}

// lattice returns the lattice that the polygons are the elements of, or nil: all
// complete quadrilaterals of a lattice of nodes and nothing else, or all cells of
// a lattice of cells with the borders that it represents.
func lattice(c *grid.CellSet, mesh *grid.Mesh) *grid.Lattice {
	for e := range c.Len() {
		if len(c.Polygon(e)) != 4 {
			return nil
		}
	}
	l, repeats := grid.DetectLattice(mesh.Points)
	if l == nil || repeats != nil {
		return nil
	}
	nx := len(l.X)
	place := make([]int32, len(mesh.Points))
	for k, i := range l.Index {
		if i >= 0 {
			place[i] = int32(k)
		}
	}
	if mesh.Kind == grid.KindCells {
		ex, ey := grid.CellEdges(l.X), grid.CellEdges(l.Y)
		tx, ty := sameCell*(ex[nx]-ex[0]), sameCell*(ey[len(l.Y)]-ey[0])
		for e := range c.Len() {
			i, j := int(place[e])%nx, int(place[e])/nx
			for _, id := range c.Polygon(e) {
				q := c.Corners[id]
				if math.Min(math.Abs(q.X-ex[i]), math.Abs(q.X-ex[i+1])) > tx || math.Min(math.Abs(q.Y-ey[j]), math.Abs(q.Y-ey[j+1])) > ty {
					return nil
				}
			}
			// Four corners on the borders span the cell if they have its area.
			if whole := (ex[i+1] - ex[i]) * (ey[j+1] - ey[j]); math.Abs(c.Area(e)-whole) > 1e-6*whole {
				return nil
			}
		}
		return l
	}
	seen := make([]bool, len(l.Index))
	for e := range c.Len() {
		var at [4]int
		for k, id := range c.Polygon(e) {
			at[k] = int(place[id])
		}
		slices.Sort(at[:])
		lo := at[0]
		if lo%nx+1 >= nx || seen[lo] || at != [4]int{lo, lo + 1, lo + nx, lo + nx + 1} {
			return nil
		}
		seen[lo] = true
	}
	if full := (&grid.Mesh{Kind: grid.KindLattice, Lattice: l}).Elements(); full != c.Len() {
		return nil
	}
	return l
}

// sampleAreas takes over the area column where the file gives one and no
// elements.
func (p *Plane) sampleAreas() {
	a := p.Field[Area]
	if a == nil {
		return
	}
	sum := 0.0
	for _, v := range a {
		sum += v
	}
	p.Mesh.SampleArea = a
	p.Mesh.Support = grid.Cells
	p.SupportBy = "area column"
	// A sample represents its cell, so the warning about unknown cells is void.
	p.Warnings = slices.DeleteFunc(p.Warnings, func(w Warning) bool { return w.Code == "cells-not-known" })
	w := p.Mesh.Window()
	h := p.Mesh.Spacing()
	room := (w.Width() + h) * (w.Height() + h)
	for _, g := range p.Mesh.Gaps {
		room -= g.Area
	}
	if !(sum < 1.1*room && sum > 0.5*room) {
		p.warn("area-unlikely", "check the unit of the area column, or leave it out",
			"the areas of the samples add up to %.4g m2, where the samples cover about %.4g m2", sum, room)
	}
}
