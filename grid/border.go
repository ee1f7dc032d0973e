package grid

import (
	"math"
	"slices"
)

// Side is a straight piece of a mesh's border, from A to B with the mesh on its
// left. From and To are the samples at its ends, or close behind them; on cells both
// are the cell's.
type Side struct {
	A, B     Point
	From, To int32
	// a and b number the ends, and e the element.
	a, b, e int32
}

// Length is the distance from A to B, m.
func (s *Side) Length() float64 { return math.Hypot(s.B.X-s.A.X, s.B.Y-s.A.Y) }

// Outward is the unit vector square to the side that leaves the mesh; zero for a
// side without length.
func (s *Side) Outward() Point {
	l := s.Length()
	if l == 0 {
		return Point{}
	}
	return Point{X: (s.B.Y - s.A.Y) / l, Y: (s.A.X - s.B.X) / l}
}

const (
	// hanging is how far apart, as a part of the shorter one, two sides may run that
	// are the border of two elements with each other: a side with a hanging node is
	// two on its other side.
	hanging = 1e-3
	// slit is the same for elements of two parts that do not share corners: a slit
	// that is narrower is no border.
	slit = 0.25
)

// Border returns the outer border of the mesh: for each connected part the sides
// that have an element on one side only, in order anticlockwise. Rims of holes,
// which run clockwise, are left out, and so are sides that face another element
// across a hanging node or a slit narrower than a quarter of the side. A notch is
// border, as wide as it may be; a hole that touches the border in a corner is a hole.
func (m *Mesh) Border() [][]Side {
	var all []Side
	switch m.Kind {
	case KindLattice:
		all = m.latticeSides()
	case KindCells:
		c := m.Cells
		all = unmatched(len(c.Corners), func(do func(a, b, e int32)) {
			for e := range c.Len() {
				ids := c.Polygon(e)
				a := ids[len(ids)-1]
				for _, b := range ids {
					do(a, b, int32(e))
					a = b
				}
			}
		})
		for k := range all {
			s := &all[k]
			s.A, s.B, s.From, s.To = c.Corners[s.a], c.Corners[s.b], s.e, s.e
		}
	default:
		t := m.Triangles
		all = unmatched(len(m.Points), func(do func(a, b, e int32)) {
			for k := 0; k < len(t); k += 3 {
				do(t[k], t[k+1], int32(k))
				do(t[k+1], t[k+2], int32(k))
				do(t[k+2], t[k], int32(k))
			}
		})
		for k := range all {
			s := &all[k]
			s.A, s.B, s.From, s.To = m.Points[s.a], m.Points[s.b], s.a, s.b
		}
	}
	if m.Kind != KindLattice {
		all = notFacing(all, hanging)
	}
	loops := slices.DeleteFunc(joined(all), func(l []Side) bool { return !(loopArea(l) > 0) })
	if m.Kind != KindLattice && len(loops) > 1 {
		loops = joined(notFacing(slices.Concat(loops...), slit))
	}
	if m.Kind == KindTriangles {
		m.shareFlat(loops)
	}
	return loops
}

// shareFlat shares the long sides of a hull out among the samples that lie close
// behind them: a triangle that sees its border side under more than a right angle has
// its third corner nearer to it than half its length, and represents the part of the
// side in front of it.
func (m *Mesh) shareFlat(loops [][]Side) {
	on := make([]bool, len(m.Points))
	for _, l := range loops {
		for k := range l {
			on[l[k].a] = true
		}
	}
	// The third corner of the triangle on the left of a directed side, near the border.
	third := make(map[[2]int32]int32)
	for k := 0; k+2 < len(m.Triangles); k += 3 {
		t := m.Triangles[k : k+3]
		if !on[t[0]] && !on[t[1]] && !on[t[2]] {
			continue
		}
		for i := range 3 {
			third[[2]int32{t[i], t[(i+1)%3]}] = t[(i+2)%3]
		}
	}
	var share func(out []Side, s Side) []Side
	share = func(out []Side, s Side) []Side {
		a, b := m.Points[s.From], m.Points[s.To]
		if c, ok := third[[2]int32{s.From, s.To}]; ok && !on[c] {
			q := m.Points[c]
			if (a.X-q.X)*(b.X-q.X)+(a.Y-q.Y)*(b.Y-q.Y) < 0 {
				dx, dy := s.B.X-s.A.X, s.B.Y-s.A.Y
				t := ((q.X-s.A.X)*dx + (q.Y-s.A.Y)*dy) / (dx*dx + dy*dy)
				t = math.Max(0, math.Min(1, t))
				first, second := s, s
				first.B = Point{X: s.A.X + t*dx, Y: s.A.Y + t*dy}
				second.A = first.B
				first.To, second.From = c, c
				return share(share(out, first), second)
			}
		}
		return append(out, s)
	}
	for k, l := range loops {
		var out []Side
		for _, s := range l {
			out = share(out, s)
		}
		loops[k] = out
	}
}

// latticeSides lists the sides of the full quadrilaterals, or of the cells of the
// samples, that have nothing beyond them.
func (m *Mesh) latticeSides() []Side {
	l := m.Lattice
	x, y := l.X, l.Y
	cells := m.Support == Cells
	if cells {
		x, y = CellEdges(l.X), CellEdges(l.Y)
	}
	nx, ny := len(x)-1, len(y)-1
	full := func(i, j int) bool {
		switch {
		case i < 0 || j < 0 || i >= nx || j >= ny:
			return false
		case cells:
			return l.At(i, j) >= 0
		}
		return l.Full(i, j)
	}
	// Of each side the neighbour beyond it and its two ends, from the lower left corner.
	around := [4]struct{ beyond, from, to [2]int }{
		{[2]int{0, -1}, [2]int{0, 0}, [2]int{1, 0}}, {[2]int{1, 0}, [2]int{1, 0}, [2]int{1, 1}},
		{[2]int{0, 1}, [2]int{1, 1}, [2]int{0, 1}}, {[2]int{-1, 0}, [2]int{0, 1}, [2]int{0, 0}},
	}
	var out []Side
	for j := range ny {
		for i := range nx {
			if !full(i, j) {
				continue
			}
			for _, d := range around {
				if full(i+d.beyond[0], j+d.beyond[1]) {
					continue
				}
				i0, j0, i1, j1 := i+d.from[0], j+d.from[1], i+d.to[0], j+d.to[1]
				s := Side{A: Point{X: x[i0], Y: y[j0]}, B: Point{X: x[i1], Y: y[j1]}, a: int32(j0*(nx+1) + i0), b: int32(j1*(nx+1) + i1)}
				if cells {
					s.From, s.To = l.At(i, j), l.At(i, j)
				} else {
					s.From, s.To = l.At(i0, j0), l.At(i1, j1)
				}
				out = append(out, s)
			}
		}
	}
	return out
}

// unmatched lists the directed sides that no element has the other way round. Most sides of a
// mesh are matched, so the corners are told first: the numbers of a corner's neighbours, mixed, cancel where each neighbour is
// left and entered once.
func unmatched(corners int, each func(do func(a, b, e int32))) []Side {
	mix := func(v int32) uint64 {
		// The finaliser of the splitmix64 generator (Steele, Lea, Flood 2014, from memory).
		z := (uint64(v) + 1) * 0x9e3779b97f4a7c15
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return z ^ z>>31
	}
	left := make([]uint64, corners)
	each(func(a, b, _ int32) {
		left[a] += mix(b)
		left[b] -= mix(a)
	})
	var out []Side
	each(func(a, b, e int32) {
		if left[a] != 0 && left[b] != 0 {
			out = append(out, Side{a: a, b: b, e: e})
		}
	})
	// A side is open where it runs one way more often than the other.
	more := make(map[[2]int32]int, len(out))
	for _, s := range out {
		more[[2]int32{s.a, s.b}]++
		more[[2]int32{s.b, s.a}]--
	}
	return slices.DeleteFunc(out, func(s Side) bool {
		k := [2]int32{s.a, s.b}
		open := more[k] > 0
		if open {
			more[k] = 0 // once
		}
		return !open
	})
}

// notFacing takes out the sides that another one faces, running the other way no
// further off than a part of the shorter of the two. The point that is looked at is no
// simple part of the side, so that it is no hanging node of halved elements.
func notFacing(sides []Side, part float64) []Side {
	const at = 0.37
	// Sides are found by their middle in buckets as wide as the power of two above their
	// length, so that neither one long side nor many short ones cost more than their number.
	type bucket struct {
		level int
		x, y  int64
	}
	place := func(p Point, level int) bucket {
		size := math.Ldexp(1, level)
		return bucket{level, int64(math.Floor(p.X / size)), int64(math.Floor(p.Y / size))}
	}
	along := func(s *Side, t float64) Point {
		return Point{X: s.A.X + t*(s.B.X-s.A.X), Y: s.A.Y + t*(s.B.Y-s.A.Y)}
	}
	lengths := make([]float64, len(sides))
	buckets := make(map[bucket][]int32)
	var levels []int
	for k := range sides {
		lengths[k] = sides[k].Length()
		_, level := math.Frexp(lengths[k])
		b := place(along(&sides[k], 0.5), level)
		buckets[b] = append(buckets[b], int32(k))
		if !slices.Contains(levels, level) {
			levels = append(levels, level)
		}
	}
	faced := func(k int) bool {
		s := &sides[k]
		p, n := along(s, at), s.Outward()
		for _, level := range levels {
			b := place(p, level)
			for _, d := range [9][2]int64{{0, 0}, {-1, 0}, {1, 0}, {0, -1}, {0, 1}, {-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
				for _, j := range buckets[bucket{level, b.x + d[0], b.y + d[1]}] {
					o := &sides[j]
					m := o.Outward()
					if s.e == o.e || n.X*m.X+n.Y*m.Y > -0.5 {
						continue
					}
					// In the other side's own directions.
					rx, ry := p.X-o.A.X, p.Y-o.A.Y
					off := rx*m.X + ry*m.Y
					t := (rx*(o.B.X-o.A.X) + ry*(o.B.Y-o.A.Y)) / (lengths[j] * lengths[j])
					reach := part * math.Min(lengths[k], lengths[j])
					if t >= 0 && t <= 1 && off >= -hanging*reach && off <= reach {
						return true
					}
				}
			}
		}
		return false
	}
	var out []Side
	for k := range sides {
		if !faced(k) {
			out = append(out, sides[k])
		}
	}
	return out
}

// joined puts sides in order, each after the one that ends where it begins; a chain
// that is not closed is a loop by itself. Where several begin, the one that leaves the
// other parts on its right is taken, so that a hole that touches the border in a
// corner is a loop of its own.
func joined(sides []Side) [][]Side {
	from := make(map[int32][]int32, len(sides))
	enters := make(map[int32]int, len(sides))
	for k := range sides {
		from[sides[k].a] = append(from[sides[k].a], int32(k))
		enters[sides[k].b]++
	}
	used := make([]bool, len(sides))
	next := func(k int32) int32 {
		s := &sides[k]
		back := math.Atan2(s.A.Y-s.B.Y, s.A.X-s.B.X)
		best, least := int32(-1), math.Inf(1)
		for _, j := range from[s.b] {
			if used[j] {
				continue
			}
			o := &sides[j]
			// The turn anticlockwise from the way back, through what is not mesh.
			turn := math.Atan2(o.B.Y-o.A.Y, o.B.X-o.A.X) - back
			if turn <= 0 {
				turn += 2 * math.Pi
			}
			if turn < least {
				best, least = j, turn
			}
		}
		return best
	}
	var out [][]Side
	walk := func(k int32) {
		var l []Side
		for ; k >= 0; k = next(k) {
			used[k] = true
			l = append(l, sides[k])
			if l[0].a == sides[k].b {
				break
			}
		}
		out = append(out, l)
	}
	// Chains first, from where nothing enters.
	for k := range sides {
		if enters[sides[k].a] == 0 && !used[k] {
			walk(int32(k))
		}
	}
	for k := range sides {
		if !used[k] {
			walk(int32(k))
		}
	}
	return out
}

// loopArea is the area within a loop, closed by a straight line where it is open;
// positive anticlockwise.
func loopArea(l []Side) float64 {
	sum := 0.0
	for k := range l {
		sum += TriangleArea(l[0].A, l[k].A, l[k].B)
	}
	return sum
}
