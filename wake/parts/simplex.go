package parts

import (
	"math"
	"slices"

	"wakeledger/grid"
)

// simplex is the mesh on which the field is linear in each triangle, as the level
// lines and level areas of the other packages have it: a quadrilateral of a
// lattice is four triangles about its centre, which carries the corners' mean.
// Just the elements that reach the threshold are split into triangles.
type simplex struct {
	mesh *grid.Mesh // nodal
	pts  []grid.Point
	// src names the nodal samples whose mean a vertex is: one, or the four corners of
	// a quadrilateral (src[1] < 0 marks the former).
	src [][4]int32
	tri []int32
	// vertex is the vertex of each nodal sample, or −1.
	vertex []int32
	// Entries start[v] to start[v+1] of list are the neighbours of vertex v.
	start, list []int32
}

// newSimplex splits those elements of a nodal mesh in which f reaches t. Elements with a corner
// that is not finite are left out, as everywhere.
func newSimplex(m *grid.Mesh, f []float64, t float64) *simplex {
	n := len(m.Points)
	s := &simplex{mesh: m, vertex: slices.Repeat([]int32{-1}, n), pts: make([]grid.Point, 0, n/4), src: make([][4]int32, 0, n/4), tri: make([]int32, 0, n)}
	element := func(c []int32) {
		sum, most := 0.0, math.Inf(-1)
		for _, i := range c {
			sum, most = sum+f[i], max(most, f[i])
		}
		switch {
		case sum-sum != 0 || most < t:
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
	} else {
		l, room := m.Lattice, [4]int32{}
		for j := 0; j+1 < len(l.Y); j++ {
			for i := 0; i+1 < len(l.X); i++ {
				if l.Full(i, j) {
					room = [4]int32{l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1)}
					element(room[:])
				}
			}
		}
	}
	s.join()
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

// join lists, for each vertex, those that it shares a triangle with.
func (s *simplex) join() {
	s.start = make([]int32, len(s.pts)+1)
	for _, v := range s.tri {
		s.start[v+1] += 2
	}
	for v := range s.pts {
		s.start[v+1] += s.start[v]
	}
	s.list = make([]int32, len(s.tri)*2)
	fill := slices.Clone(s.start)
	for k := 0; k < len(s.tri); k += 3 {
		for e := range 3 {
			v := s.tri[k+e]
			s.list[fill[v]], s.list[fill[v]+1] = s.tri[k+(e+1)%3], s.tri[k+(e+2)%3]
			fill[v] += 2
		}
	}
}

// near are the neighbours of a vertex, some of them twice.
func (s *simplex) near(v int32) []int32 { return s.list[s.start[v]:s.start[v+1]] }

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
	top := 0.0
	for _, v := range f {
		top = math.Max(top, math.Abs(v))
	}
	// rise is the slope from v to u, 0 where the field is level and −1 where it falls.
	rise := func(v, u int32) float64 {
		switch {
		case f[u] < f[v]-level*top:
			return -1
		case f[u] > f[v]+level*top:
			return (f[u] - f[v]) / math.Hypot(s.pts[u].X-s.pts[v].X, s.pts[u].Y-s.pts[v].Y)
		}
		return 0
	}
	for v := range int32(len(s.pts)) {
		out.second[v], out.first[v] = -1, 1
		p, other, own, across := s.pts[v], -1.0, -1.0, int32(-1)
		for _, u := range s.near(v) {
			if label[v] < 0 || label[u] < 0 || label[u] == label[v] {
				continue
			}
			if g := rise(v, u); g > other || across >= 0 && g == other && (label[u] < label[across] || label[u] == label[across] && before(s.pts[u], s.pts[across])) {
				other, across = g, u
			}
		}
		if across < 0 {
			continue
		}
		for _, u := range s.near(v) {
			q, o := s.pts[u], s.pts[across]
			if label[u] == label[v] && (q.X-p.X)*(o.X-p.X)+(q.Y-p.Y)*(o.Y-p.Y) < 0 {
				own = max(own, rise(v, u))
			}
		}
		switch {
		case own < 0:
			// The field falls on the own side: no bottom here.
			continue
		case own+other > 0:
			out.first[v] = 0.5 / (1 - math.Max(0, (own-other)/(2*(own+other))))
		default:
			out.first[v] = 0.5
		}
		out.second[v] = label[across]
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

// divide hands out triangle k piece by piece to the structures of its vertices, where f is at or
// above t. Where structures meet, a point
// belongs to the one with the largest share in it, shares being linear between the
// vertices. give(label, poly) gets each piece.
func (s *simplex) divide(k int, f []float64, label []int32, sh shares, t float64, give func(label int32, poly []bary)) {
	v := [3]int32{s.tri[k], s.tri[k+1], s.tri[k+2]}
	l := [3]int32{label[v[0]], label[v[1]], label[v[2]]}
	whole := [3]bary{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	var room [16]bary
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
	above := cut(whole[:], room[:0], d)
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
