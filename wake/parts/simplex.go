package parts

import (
	"math"
	"slices"

	"wakeledger/grid"
)

// simplex is the mesh on which the field is linear in each triangle, as the level
// lines and level areas of the other packages have it: a quadrilateral of a
// lattice is four triangles about its centre, which carries the corners' mean.
// Just the elements that are looked at closely, such as those that reach a threshold, are
// split into triangles.
type simplex struct {
	mesh *grid.Mesh // nodal
	pts  []grid.Point
	// src names the nodal samples whose mean a vertex is: one, or the four corners of
	// a quadrilateral (src[1] < 0 marks the former).
	src [][4]int32
	tri []int32
	// vertex is the vertex of each nodal sample, or −1.
	vertex []int32
}

// reaches is the split of newSimplex into the elements in which f reaches t.
func reaches(f []float64, t float64) func(c []int32) bool {
	return func(c []int32) bool { return slices.ContainsFunc(c, func(i int32) bool { return f[i] >= t }) }
}

// newSimplex splits those elements of a nodal mesh that split says, of their corners, and calls
// whole for the others. Elements with a corner that is not finite are left out, as everywhere.
func newSimplex(m *grid.Mesh, f []float64, split func(c []int32) bool, whole func(c []int32)) *simplex {
	n := len(m.Points)
	s := &simplex{mesh: m, vertex: make([]int32, n), pts: make([]grid.Point, 0, n/4), src: make([][4]int32, 0, n/4), tri: make([]int32, 0, n)}
	for i := range s.vertex {
		s.vertex[i] = -1
	}
	element := func(c []int32) {
		sum := 0.0
		for _, i := range c {
			sum += f[i]
		}
		switch {
		case sum-sum != 0:
		case !split(c):
			whole(c)
		case len(c) == 3:
			s.tri = append(s.tri, s.at(c[0]), s.at(c[1]), s.at(c[2]))
		default:
			a, b := m.Points[c[0]], m.Points[c[2]]
			mid := int32(len(s.pts))
			s.pts = append(s.pts, grid.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2})
			s.src = append(s.src, [4]int32(c))
			for k := range 4 {
				s.tri = append(s.tri, mid, s.at(c[k]), s.at(c[(k+1)%4]))
			}
		}
	}
	if m.Kind != grid.KindLattice {
		for k := 0; k+2 < len(m.Triangles); k += 3 {
			element(m.Triangles[k : k+3])
		}
		return s
	}
	l, room := m.Lattice, [4]int32{}
	for j := 0; j+1 < len(l.Y); j++ {
		for i := 0; i+1 < len(l.X); i++ {
			if l.Full(i, j) {
				room = [4]int32{l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1)}
				element(room[:])
			}
		}
	}
	return s
}

// at is the vertex of a nodal sample.
func (s *simplex) at(i int32) int32 {
	if s.vertex[i] < 0 {
		s.vertex[i] = int32(len(s.pts))
		s.pts = append(s.pts, s.mesh.Points[i])
		s.src = append(s.src, [4]int32{i, -1, -1, -1})
	}
	return s.vertex[i]
}

// values gives the vertices' values of a nodal field; nil stays nil.
func (s *simplex) values(g []float64) []float64 {
	if g == nil {
		return nil
	}
	out := make([]float64, len(s.pts))
	for v, c := range s.src {
		if c[1] < 0 {
			out[v] = g[c[0]]
			continue
		}
		// Opposite corners first, as the level lines have it, so that a mirrored field
		// has the same bits.
		out[v] = ((g[c[0]] + g[c[2]]) + (g[c[1]] + g[c[3]])) / 4
	}
	return out
}

// neighbours lists, for each vertex, those that it shares a triangle with: entries
// start[v] to start[v+1] of list, some of them twice.
func (s *simplex) neighbours() (start, list []int32) {
	start = make([]int32, len(s.pts)+1)
	for _, v := range s.tri {
		start[v+1] += 2
	}
	for v := range s.pts {
		start[v+1] += start[v]
	}
	list = make([]int32, len(s.tri)*2)
	fill := append([]int32(nil), start...)
	for k := 0; k < len(s.tri); k += 3 {
		for e := range 3 {
			v := s.tri[k+e]
			list[fill[v]], list[fill[v]+1] = s.tri[k+(e+1)%3], s.tri[k+(e+2)%3]
			fill[v] += 2
		}
	}
	return start, list
}

// elementIntegral is that of a nodal field over a whole element with the corners c.
func elementIntegral(m *grid.Mesh, g []float64, c []int32) float64 {
	p := m.Points
	if len(c) == 3 {
		return grid.TriangleArea(p[c[0]], p[c[1]], p[c[2]]) * (g[c[0]] + g[c[1]] + g[c[2]]) / 3
	}
	area := (p[c[2]].X - p[c[0]].X) * (p[c[2]].Y - p[c[0]].Y)
	return area * (g[c[0]] + g[c[1]] + g[c[2]] + g[c[3]]) / 4
}

// bary is a point of a triangle by the shares of its corners.
type bary [3]float64

func (b bary) dot(v [3]float64) float64 { return b[0]*v[0] + b[1]*v[1] + b[2]*v[2] }

// cut keeps the part of a convex polygon where the linear function with the corner
// values d is not negative. room is used for the result.
func cut(poly, room []bary, d [3]float64) []bary {
	return grid.Cut(poly, room, func(b bary) float64 { return b.dot(d) }, func(p, q bary, dp, dq float64) bary {
		t := dp / (dp - dq)
		return bary{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1]), p[2] + t*(q[2]-p[2])}
	})
}

// shares says which second structure a vertex is part of, and how large its part in
// the first is.
type shares struct {
	second []int32
	first  []float64
}

// level is the difference, as a part of the largest value, within which two values
// count as equal: rounding of sums of a few of them, with room.
const level = 1e-13

// valleys finds the vertices next to the bottom of a valley between two structures:
// those from which the field rises, or is level, toward another label than their
// own. With o the steepest rise that way and g the steepest one toward the own label
// on the opposite side, the parabola through the three has its bottom (g−o)/2(g+o) of
// a step toward the other side, zero at least. The vertex gets the part ½/(1 −
// that) in its own structure, so that the place where the linear shares are equal is
// the bottom: on the vertex itself for o = g, half way to the next one for o = 0 < g.
func (s *simplex) valleys(f []float64, label []int32) shares {
	out := shares{second: make([]int32, len(s.pts)), first: make([]float64, len(s.pts))}
	other, own := make([]float64, len(s.pts)), make([]float64, len(s.pts))
	across := make([]int32, len(s.pts))
	for v := range out.second {
		out.second[v], out.first[v] = -1, 1
		other[v], own[v], across[v] = -1, -1, -1
	}
	top := 0.0
	for _, v := range f {
		top = math.Max(top, math.Abs(v))
	}
	// each calls do for the neighbours to which the field does not fall.
	each := func(do func(v, u int32, g float64)) {
		for k := 0; k < len(s.tri); k += 3 {
			a, b, c := s.tri[k], s.tri[k+1], s.tri[k+2]
			if label[a] == label[b] && label[b] == label[c] && across[a] < 0 && across[b] < 0 && across[c] < 0 {
				continue
			}
			for _, e := range [6][2]int32{{a, b}, {a, c}, {b, a}, {b, c}, {c, a}, {c, b}} {
				v, u := e[0], e[1]
				if label[v] < 0 || label[u] < 0 || f[u] < f[v]-level*top {
					continue
				}
				g := 0.0
				if f[u] > f[v]+level*top {
					g = (f[u] - f[v]) / math.Hypot(s.pts[u].X-s.pts[v].X, s.pts[u].Y-s.pts[v].Y)
				}
				do(v, u, g)
			}
		}
	}
	each(func(v, u int32, g float64) {
		if label[u] == label[v] {
			return
		}
		if g > other[v] || g == other[v] && (label[u] < out.second[v] || label[u] == out.second[v] && before(s.pts[u], s.pts[across[v]])) {
			other[v], out.second[v], across[v] = g, label[u], u
		}
	})
	each(func(v, u int32, g float64) {
		if label[u] != label[v] || across[v] < 0 {
			return
		}
		p, q, o := s.pts[v], s.pts[u], s.pts[across[v]]
		if (q.X-p.X)*(o.X-p.X)+(q.Y-p.Y)*(o.Y-p.Y) < 0 {
			own[v] = math.Max(own[v], g)
		}
	})
	for v := range out.second {
		switch {
		case out.second[v] < 0:
		case own[v] < 0:
			// The field falls on the own side: no bottom here.
			out.second[v] = -1
		case own[v]+other[v] > 0:
			out.first[v] = 0.5 / (1 - math.Max(0, (own[v]-other[v])/(2*(own[v]+other[v]))))
		default:
			out.first[v] = 0.5
		}
	}
	return out
}

// before orders places by height, then from left to right.
func before(p, q grid.Point) bool { return p.Y < q.Y || p.Y == q.Y && p.X < q.X }

// single is the label that all of triangle k has; ok is false where it has to be divided.
func (s *simplex) single(k int, label []int32, sh shares) (l int32, ok bool) {
	a, b, c := s.tri[k], s.tri[k+1], s.tri[k+2]
	l = label[a]
	return l, label[b] == l && label[c] == l && sh.second[a] < 0 && sh.second[b] < 0 && sh.second[c] < 0
}

// divide hands out triangle k piece by piece: to the structures of its vertices
// where f is at or above t, and to label −1 elsewhere. Where structures meet, a point
// belongs to the one with the largest share in it, shares being linear between the
// vertices. give(label, poly) gets each piece.
func (s *simplex) divide(k int, f []float64, label []int32, sh shares, t float64, give func(label int32, poly []bary)) {
	v := [3]int32{s.tri[k], s.tri[k+1], s.tri[k+2]}
	l := [3]int32{label[v[0]], label[v[1]], label[v[2]]}
	whole := [3]bary{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	var ra, rb [16]bary
	d := [3]float64{f[v[0]] - t, f[v[1]] - t, f[v[2]] - t}
	// A part that was dropped (label −1 above t) is connected to no other, so it never
	// meets one in a triangle.
	var names [6]int32
	var part [6][3]float64
	n := 0
	add := func(name int32, e int, share float64) {
		for i := range n {
			if names[i] == name {
				part[i][e] += share
				return
			}
		}
		names[n] = name
		part[n] = [3]float64{}
		part[n][e] = share
		n++
	}
	for e := range 3 {
		if l[e] < 0 {
			continue
		}
		add(l[e], e, sh.first[v[e]])
		if o := sh.second[v[e]]; o >= 0 {
			add(o, e, 1-sh.first[v[e]])
		}
	}
	above := cut(whole[:], ra[:0], d)
	for e := range d {
		d[e] = -d[e]
	}
	if below := cut(whole[:], rb[:0], d); len(below) > 2 {
		give(-1, below)
	}
	if len(above) < 3 {
		return
	}
	if n == 1 {
		give(names[0], above)
		return
	}
	for i := range n {
		var r [2][16]bary
		piece := append(r[0][:0], above...)
		spare := r[1][:0]
		for o := range n {
			if o == i {
				continue
			}
			side := [3]float64{part[i][0] - part[o][0], part[i][1] - part[o][1], part[i][2] - part[o][2]}
			if side == [3]float64{} {
				// Equal throughout: it goes to the first of the two.
				if o < i {
					piece = piece[:0]
				}
				continue
			}
			piece, spare = cut(piece, spare, side), piece
		}
		if len(piece) > 2 {
			give(names[i], piece)
		}
	}
}
