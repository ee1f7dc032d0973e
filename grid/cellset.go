package grid

import (
	"math"
	"slices"
)

// flatPolygon is the area, in units of the squared extent, at or below which a
// polygon counts as degenerate: coordinates with seven digits leave a line no
// thinner.
const flatPolygon = 1e-10

// Len counts the polygons.
func (c *CellSet) Len() int { return max(len(c.Start)-1, 0) }

// Polygon returns the corners of polygon e, a part of Index.
func (c *CellSet) Polygon(e int) []int32 { return c.Index[c.Start[e]:c.Start[e+1]] }

// Bounds is the smallest box that holds polygon e.
func (c *CellSet) Bounds(e int) Box { return c.bounds(c.Polygon(e)) }

// bounds is the smallest box that holds some corners.
func (c *CellSet) bounds(ids []int32) Box {
	b := EmptyBox()
	for _, id := range ids {
		b = b.Extend(c.Corners[id])
	}
	return b
}

// Area is the signed area of polygon e, positive when its corners run
// anticlockwise: the sum over the fan from the first corner, whose differences
// keep the digits far from the origin. A polygon that crosses itself has the
// difference of its parts.
func (c *CellSet) Area(e int) float64 {
	ids := c.Polygon(e)
	sum := 0.0
	for k := 2; k < len(ids); k++ {
		sum += TriangleArea(c.Corners[ids[0]], c.Corners[ids[k-1]], c.Corners[ids[k]])
	}
	return sum
}

// Centroid is the centre of area of polygon e; for one without area it is the
// mean of the corners.
func (c *CellSet) Centroid(e int) Point {
	ids := c.Polygon(e)
	o := c.Corners[ids[0]]
	var sx, sy, sum float64
	for k := 2; k < len(ids); k++ {
		p, q := c.Corners[ids[k-1]], c.Corners[ids[k]]
		a := TriangleArea(o, p, q)
		sum += a
		sx += a * ((p.X - o.X) + (q.X - o.X)) / 3
		sy += a * ((p.Y - o.Y) + (q.Y - o.Y)) / 3
	}
	if sum != 0 {
		return Point{X: o.X + sx/sum, Y: o.Y + sy/sum}
	}
	var m Point
	for _, id := range ids {
		m.X += (c.Corners[id].X - o.X) / float64(len(ids))
		m.Y += (c.Corners[id].Y - o.Y) / float64(len(ids))
	}
	return Point{X: o.X + m.X, Y: o.Y + m.Y}
}

// Degenerate reports whether polygon e has no area to speak of: fewer than three
// corners, or 1e-10 of its squared extent or less.
func (c *CellSet) Degenerate(e int) bool {
	ids := c.Polygon(e)
	if len(ids) < 3 {
		return true
	}
	b := c.bounds(ids)
	l := math.Max(b.Width(), b.Height())
	return !(math.Abs(c.Area(e)) > flatPolygon*l*l)
}

// Turn makes the corners of polygon e run the other way round; the first one
// stays first.
func (c *CellSet) Turn(e int) { slices.Reverse(c.Polygon(e)[1:]) }

// Uncross puts the corners of a quadrilateral two of whose sides cross, a bow-tie, in the
// order in which none do, and reports whether it was one.
func (c *CellSet) Uncross(e int) bool {
	ids := c.Polygon(e)
	if len(ids) != 4 {
		return false
	}
	cross := func(a, b, d, e int32) bool {
		p, q, r, s := c.Corners[a], c.Corners[b], c.Corners[d], c.Corners[e]
		return TriangleArea(p, q, r)*TriangleArea(p, q, s) < 0 && TriangleArea(r, s, p)*TriangleArea(r, s, q) < 0
	}
	// Sides that cross are the diagonals of the quadrilateral that is meant.
	switch {
	case cross(ids[0], ids[1], ids[2], ids[3]):
		ids[1], ids[2] = ids[2], ids[1]
	case cross(ids[1], ids[2], ids[3], ids[0]):
		ids[2], ids[3] = ids[3], ids[2]
	default:
		return false
	}
	return true
}

// Keep takes out the polygons for which keep is false, in place.
func (c *CellSet) Keep(keep []bool) {
	n, at := 0, int32(0)
	for e, k := range keep {
		if !k {
			continue
		}
		// n ≤ e and at ≤ Start[e], so nothing is overwritten before it was read.
		lo, hi := c.Start[e], c.Start[e+1]
		c.Start[n] = at
		at += int32(copy(c.Index[at:], c.Index[lo:hi]))
		n++
	}
	c.Start = append(c.Start[:n], at)
	c.Index = c.Index[:at]
}

// AppendTriangles splits polygon e, anticlockwise, into triangles of its own
// corners and appends them. It is the fan from the first corner where that has no
// inverted triangle, else ears are cut one after the other (Meisters 1975, from
// memory). Triangles without area, at a hanging node, are left out. ok is false
// where the polygon crosses itself and no split exists; nothing is appended then.
func (c *CellSet) AppendTriangles(tri []int32, e int) (out []int32, ok bool) {
	ids := c.Polygon(e)
	tiny := flatPolygon * math.Abs(c.Area(e))
	before := len(tri)
	fan := true
	for k := 2; k < len(ids); k++ {
		a := TriangleArea(c.Corners[ids[0]], c.Corners[ids[k-1]], c.Corners[ids[k]])
		if a < -tiny {
			fan = false
			break
		}
		if a > tiny {
			tri = append(tri, ids[0], ids[k-1], ids[k])
		}
	}
	// A polygon can wind round its first corner twice without an inverted triangle:
	// a star. Only then do the directions turn further than once round.
	if fan && c.turnsOnce(ids) {
		return tri, true
	}
	return c.ears(tri[:before], ids, tiny)
}

// turnsOnce reports whether the directions from the first corner to the others
// sweep less than one full turn.
func (c *CellSet) turnsOnce(ids []int32) bool {
	if len(ids) < 5 {
		return true
	}
	o := c.Corners[ids[0]]
	sum := 0.0
	for k := 2; k < len(ids); k++ {
		p, q := c.Corners[ids[k-1]], c.Corners[ids[k]]
		ax, ay, bx, by := p.X-o.X, p.Y-o.Y, q.X-o.X, q.Y-o.Y
		sum += math.Atan2(ax*by-ay*bx, ax*bx+ay*by)
	}
	return sum < 2*math.Pi-1e-6
}

// ears cuts ears off the polygon.
func (c *CellSet) ears(tri []int32, ids []int32, tiny float64) ([]int32, bool) {
	before := len(tri)
	left := append([]int32(nil), ids...)
	at := func(k int) Point { return c.Corners[left[(k+len(left))%len(left)]] }
	for len(left) > 3 {
		cut := -1
		for k := range left {
			a, b, d := at(k-1), at(k), at(k+1)
			area := TriangleArea(a, b, d)
			if area < -tiny {
				continue
			}
			if math.Abs(area) <= tiny {
				// A straight corner: it may go if the border does not run back on itself.
				if (b.X-a.X)*(d.X-b.X)+(b.Y-a.Y)*(d.Y-b.Y) < 0 {
					continue
				}
			}
			free := true
			for j := range left {
				p := at(j)
				if p == a || p == b || p == d {
					continue
				}
				if TriangleArea(a, b, p) >= -tiny && TriangleArea(b, d, p) >= -tiny && TriangleArea(d, a, p) >= -tiny {
					free = false
					break
				}
			}
			if free || math.Abs(area) <= tiny {
				cut = k
				if area > tiny {
					n := len(left)
					tri = append(tri, left[(k+n-1)%n], left[k], left[(k+1)%n])
				}
				break
			}
		}
		if cut < 0 {
			return tri[:before], false
		}
		left = append(left[:cut], left[cut+1:]...)
	}
	a := TriangleArea(at(0), at(1), at(2))
	if a < -tiny {
		return tri[:before], false
	}
	if a > tiny {
		tri = append(tri, left[0], left[1], left[2])
	}
	return tri, len(tri) > before
}

// interior is a point inside polygon e: the centroid of its largest triangle. ok
// is false for a polygon that crosses itself.
func (c *CellSet) interior(e int, tri []int32) (p Point, scratch []int32, ok bool) {
	tri, ok = c.AppendTriangles(tri[:0], e)
	most := 0.0
	for k := 0; k < len(tri); k += 3 {
		a, b, d := c.Corners[tri[k]], c.Corners[tri[k+1]], c.Corners[tri[k+2]]
		if area := TriangleArea(a, b, d); area > most {
			most = area
			p = Point{X: a.X + ((b.X-a.X)+(d.X-a.X))/3, Y: a.Y + ((b.Y-a.Y)+(d.Y-a.Y))/3}
		}
	}
	return p, tri, ok && most > 0
}

// Holds reports whether p lies inside polygon e, by counting crossings.
func (c *CellSet) Holds(e int, p Point) bool {
	ids := c.Polygon(e)
	in := false
	a := c.Corners[ids[len(ids)-1]]
	for _, id := range ids {
		b := c.Corners[id]
		if (a.Y <= p.Y) != (b.Y <= p.Y) && crossing(a, b, p.Y) > p.X {
			in = !in
		}
		a = b
	}
	return in
}

// crossing is the abscissa at which the side from a to b, which meets the
// ordinate y, does so. It is the same to the bit for the side from b to a.
func crossing(a, b Point, y float64) float64 {
	if a.Y > b.Y {
		a, b = b, a
	}
	return a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X)
}
