// Package isoline turns a field on a mesh into level lines. In go a mesh, one
// value a sample and a level; out come polylines in the plane's coordinates.
//
// The field is the mesh's piecewise linear one: linear on each triangle; a
// quadrilateral of a lattice is split into four triangles about its centre,
// which carries the mean of the corners. That split has no preferred diagonal,
// so a mirrored field has exactly mirrored lines.
package isoline

import (
	"math"

	"wakeledger/grid"
)

// Line is one level line. A closed line does not repeat its first point.
type Line struct {
	Points []grid.Point
	Closed bool
}

// Length is the sum of the distances along the line, the closing one included.
func (l Line) Length() float64 {
	s := 0.0
	for i := 1; i < len(l.Points); i++ {
		s += math.Hypot(l.Points[i].X-l.Points[i-1].X, l.Points[i].Y-l.Points[i-1].Y)
	}
	if n := len(l.Points); l.Closed && n > 1 {
		s += math.Hypot(l.Points[0].X-l.Points[n-1].X, l.Points[0].Y-l.Points[n-1].Y)
	}
	return s
}

// Area is the area that a closed line encloses, ½Σ(xᵢ×xᵢ₊₁): positive round a
// region of higher values, negative round a region of lower ones. For an open
// line it is 0.
func (l Line) Area() float64 {
	if !l.Closed || len(l.Points) < 3 {
		return 0
	}
	s, o := 0.0, l.Points[0]
	for i := 1; i+1 < len(l.Points); i++ {
		s += grid.TriangleArea(o, l.Points[i], l.Points[i+1])
	}
	return s
}

// Lines returns the border of {f ≥ level} inside the mesh as polylines with the
// higher values on their left, in the order in which the mesh's elements meet
// them. Lines that leave the mesh are open. A line never crosses an element with
// a corner whose value is not finite: the element counts as absent.
//
// A value equal to the level counts as above, everywhere, so that lines neither
// break nor fork there; where that makes a line run through one point several
// times in a row the point is kept once, and a line without length is left out.
//
// f has one value a sample. A mesh whose samples represent cells is replaced by
// its nodal form first. A level that is not finite has no lines.
func Lines(m *grid.Mesh, f []float64, level float64) []Line {
	return All(m, f, []float64{level})[0]
}

// All is Lines for each of several levels, of which most elements meet none.
func All(m *grid.Mesh, f []float64, levels []float64) [][]Line {
	out := make([][]Line, len(levels))
	if len(m.Points) == 0 {
		return out
	}
	m, f = m.Nodal(f)
	t := tracers{each: make([]tracer, len(levels)), from: math.Inf(1)}
	for k, level := range levels {
		t.each[k].level = level
	}
	if m.Kind == grid.KindLattice {
		t.lattice(m.Lattice, f)
	} else {
		t.triangles(m, f)
	}
	grid.Parallel(len(levels), func(k int) { out[k] = t.each[k].stitch() })
	return out
}

// node is a corner as the tracer sees it: a name that is unique in the mesh, a
// place and a value.
type node struct {
	id int32
	p  grid.Point
	f  float64
}

// tracer collects the segments of one level. A segment joins two crossed edges;
// an edge is named by its two nodes, so both elements beside it agree.
type tracer struct {
	level float64
	segs  []segment
}

// tracers are those of several levels. No level lies above from and up to to.
type tracers struct {
	each     []tracer
	from, to float64
}

// meets reports whether a level lies above lo and up to hi, of which a missing value makes
// NaN. Most elements are of the same band as the one before.
func (t *tracers) meets(lo, hi float64) bool {
	if lo >= t.from && hi <= t.to || !(lo <= hi) {
		return false
	}
	t.from, t.to = math.Inf(-1), math.MaxFloat64
	for k := range t.each {
		switch v := t.each[k].level; {
		case lo < v && v <= hi:
			t.from = math.Inf(1)
			return true
		case v <= lo:
			t.from = math.Max(t.from, v)
		case v > hi:
			t.to = math.Min(t.to, math.Nextafter(v, math.Inf(-1)))
		}
	}
	return false
}

type segment struct {
	from, to uint64
	p, q     grid.Point
}

func (t *tracers) lattice(l *grid.Lattice, f []float64) {
	nx := len(l.X)
	places := int32(len(l.Index))
	for j := 0; j+1 < len(l.Y); j++ {
		below, above := l.Index[j*nx:(j+1)*nx], l.Index[(j+1)*nx:(j+2)*nx]
		b, c := below[0], above[0]
		for i := 0; i+1 < nx; i++ {
			k, a, d := j*nx+i, b, c
			b, c = below[i+1], above[i+1]
			if a|b|c|d < 0 {
				continue
			}
			fa, fb, fc, fd := f[a], f[b], f[c], f[d]
			if !t.meets(min(fa, fb, fc, fd), max(fa, fb, fc, fd)) {
				continue
			}
			// Added in opposite pairs, so that a mirrored element has the same bits.
			mean := ((fa + fc) + (fb + fd)) / 4
			if mean-mean != 0 {
				continue
			}
			x0, x1, y0, y1 := l.X[i], l.X[i+1], l.Y[j], l.Y[j+1]
			n := [4]node{
				{int32(k), grid.Point{X: x0, Y: y0}, fa},
				{int32(k + 1), grid.Point{X: x1, Y: y0}, fb},
				{int32(k + nx + 1), grid.Point{X: x1, Y: y1}, fc},
				{int32(k + nx), grid.Point{X: x0, Y: y1}, fd},
			}
			centre := node{places + int32(k), grid.Point{X: (x0 + x1) / 2, Y: (y0 + y1) / 2}, mean}
			for k := range t.each {
				for s := range n {
					t.each[k].triangle(centre, n[s], n[(s+1)%4])
				}
			}
		}
	}
}

func (t *tracers) triangles(m *grid.Mesh, f []float64) {
	for k := 0; k+2 < len(m.Triangles); k += 3 {
		a, b, c := m.Triangles[k], m.Triangles[k+1], m.Triangles[k+2]
		fa, fb, fc := f[a], f[b], f[c]
		if !t.meets(min(fa, fb, fc), max(fa, fb, fc)) {
			continue
		}
		if s := fa + fb + fc; s-s != 0 {
			continue
		}
		for k := range t.each {
			t.each[k].triangle(node{a, m.Points[a], fa}, node{b, m.Points[b], fb}, node{c, m.Points[c], fc})
		}
	}
}

// triangle adds the segment of one anticlockwise triangle, if there is one.
func (t *tracer) triangle(a, b, c node) {
	// Turn the triangle until a is alone on its side of the level.
	ua, ub, uc := a.f >= t.level, b.f >= t.level, c.f >= t.level
	switch {
	case ua == ub && ub == uc:
		return
	case ua == uc:
		a, b, c = b, c, a
		ua = ub
	case ua == ub:
		a, b, c = c, a, b
		ua = uc
	}
	s := segment{from: edge(a, b), to: edge(c, a), p: t.crossing(a, b), q: t.crossing(c, a)}
	if !ua {
		s.from, s.to, s.p, s.q = s.to, s.from, s.q, s.p
	}
	t.segs = append(t.segs, s)
}

func edge(a, b node) uint64 {
	lo, hi := a.id, b.id
	if lo > hi {
		lo, hi = hi, lo
	}
	return uint64(lo)<<32 | uint64(hi)
}

// crossing is the point where the level is met between a and b. It is counted
// from the lower value, so that the order of the nodes cannot change its bits.
func (t *tracer) crossing(a, b node) grid.Point {
	if a.f > b.f {
		a, b = b, a
	}
	s := (t.level - a.f) / (b.f - a.f)
	if s == 1 {
		return b.p
	}
	return grid.Point{X: a.p.X + s*(b.p.X-a.p.X), Y: a.p.Y + s*(b.p.Y-a.p.Y)}
}

// stitch joins segments whose edges meet. An edge has one segment that comes in
// and one that goes out at most, since the segments keep the higher values on
// their left.
func (t *tracer) stitch() []Line {
	if len(t.segs) == 0 {
		return nil
	}
	starts := make(map[uint64]int32, len(t.segs))
	for i, s := range t.segs {
		starts[s.from] = int32(i)
	}
	next := make([]int32, len(t.segs))
	entered := make([]bool, len(t.segs))
	for i, s := range t.segs {
		next[i] = -1
		if k, ok := starts[s.to]; ok && !entered[k] {
			next[i] = k
			entered[k] = true
		}
	}
	var lines []Line
	used := make([]bool, len(t.segs))
	walk := func(i int32, closed bool) {
		l := Line{Closed: closed}
		add := func(p grid.Point) {
			if n := len(l.Points); n == 0 || l.Points[n-1] != p {
				l.Points = append(l.Points, p)
			}
		}
		add(t.segs[i].p)
		for i >= 0 && !used[i] {
			used[i] = true
			add(t.segs[i].q)
			i = next[i]
		}
		if n := len(l.Points); closed && n > 1 && l.Points[0] == l.Points[n-1] {
			l.Points = l.Points[:n-1]
		}
		if len(l.Points) > 1 {
			lines = append(lines, l)
		}
	}
	// Open lines begin at segments that nothing leads into; what is left after
	// them runs in circles. Both in the order of the elements.
	for i := range t.segs {
		if !entered[i] {
			walk(int32(i), false)
		}
	}
	for i := range t.segs {
		if !used[i] {
			walk(int32(i), true)
		}
	}
	return lines
}
