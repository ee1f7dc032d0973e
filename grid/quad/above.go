package quad

import (
	"math"
	"sort"

	"wakeledger/grid"
)

// AreaAbove returns, for each threshold, the area of the part of the mesh inside
// the box where the field is at or above the threshold, m². A nil box means the
// whole mesh. Level lines are followed inside the elements: the field is linear
// in each triangle, and in the four triangles about the centre of each
// quadrilateral of a lattice (centre value: the corners' mean). Cells are first
// made continuous by Mesh.Nodal. A NaN threshold gives area 0; an element with a
// NaN corner counts as below. Where the mesh has sample areas it is the sum of the
// areas, or parts of them in the box, of the samples at or above the threshold.
func AreaAbove(m *grid.Mesh, box *grid.Box, f []float64, thresholds []float64) []float64 {
	if m.SampleArea != nil {
		w := sampleWeights(m, box)
		return sums(len(w), len(thresholds), func(i int, v []float64) {
			for k, t := range thresholds {
				if f[i] >= t {
					v[k] += w[i]
				}
			}
		})
	}
	m, f = m.Nodal(f)
	rows, step := aboveRows(m)
	n := (rows + step - 1) / step
	least := lowest(thresholds)
	part := make([][]float64, n)
	grid.Parallel(n, func(b int) {
		a := above{m: m, box: box, f: f, t: thresholds, sum: make([]float64, len(thresholds)), least: least}
		for r := b * step; r < min(rows, (b+1)*step); r++ {
			if m.Kind != grid.KindLattice {
				a.at(int32(r))
				continue
			}
			l := m.Lattice
			i0, i1 := 0, len(l.X)-1
			if box != nil {
				if l.Y[r] >= box.Max.Y || l.Y[r+1] <= box.Min.Y {
					continue
				}
				// From the last line on the left of the box to the first on its right.
				i0 = max(i0, sort.SearchFloat64s(l.X, box.Min.X)-1)
				i1 = min(i1, sort.SearchFloat64s(l.X, box.Max.X))
			}
			for i := i0; i < i1; i++ {
				a.quadrilateral(i, r)
			}
		}
		part[b] = a.sum
	})
	return addUp(part, len(thresholds))
}

// aboveRows is the number of rows of work in a mesh, and how many make a block: a
// row of a lattice is many elements, a triangle is one.
func aboveRows(m *grid.Mesh) (rows, step int) {
	if m.Kind == grid.KindLattice {
		return len(m.Lattice.Y) - 1, max(1, block/8/len(m.Lattice.X))
	}
	return len(m.Triangles) / 3, block / 8
}

// lowest is the smallest threshold, or −Inf where one is NaN.
func lowest(thresholds []float64) float64 {
	least := math.Inf(1)
	for _, t := range thresholds {
		least = math.Min(least, t)
	}
	if math.IsNaN(least) {
		return math.Inf(-1)
	}
	return least
}

// addUp adds up the blocks' sums.
func addUp(part [][]float64, n int) []float64 {
	out := make([]float64, n)
	for k := range out {
		var s grid.Sum
		for _, p := range part {
			s.Add(p[k])
		}
		out[k] = s.Value()
	}
	return out
}

type above struct {
	m   *grid.Mesh
	box *grid.Box
	f   []float64
	t   []float64
	sum []float64
	// least is the smallest threshold: below it nothing counts.
	least float64
}

// at adds an element: a triangle, or the quadrilateral above and to the right of a place
// of a lattice.
func (a *above) at(e int32) {
	if a.m.Kind == grid.KindLattice {
		nx := len(a.m.Lattice.X)
		a.quadrilateral(int(e)%nx, int(e)/nx)
		return
	}
	t, p := a.m.Triangles[3*e:3*e+3], a.m.Points
	a.triangle([3]grid.Point{p[t[0]], p[t[1]], p[t[2]]}, [3]float64{a.f[t[0]], a.f[t[1]], a.f[t[2]]})
}

// quadCorners are the samples of a lattice's quadrilateral, counter-clockwise; ok is false
// where one is missing.
func quadCorners(l *grid.Lattice, i, j int) (c [4]int32, ok bool) {
	k, nx := j*len(l.X)+i, len(l.X)
	c = [4]int32{l.Index[k], l.Index[k+1], l.Index[k+nx+1], l.Index[k+nx]}
	return c, c[0]|c[1]|c[2]|c[3] >= 0
}

// quadrilateral adds the one between columns i and i+1 and rows j and j+1.
func (a *above) quadrilateral(i, j int) {
	l := a.m.Lattice
	c, ok := quadCorners(l, i, j)
	if !ok {
		return
	}
	v := [4]float64{a.f[c[0]], a.f[c[1]], a.f[c[2]], a.f[c[3]]}
	lo, hi := min(v[0], v[1], v[2], v[3]), max(v[0], v[1], v[2], v[3])
	if hi < a.least {
		return
	}
	q := grid.Box{Min: grid.Point{X: l.X[i], Y: l.Y[j]}, Max: grid.Point{X: l.X[i+1], Y: l.Y[j+1]}}
	if a.box != nil {
		if c := q.Intersect(*a.box); c.Empty() || c.Area() == 0 {
			return
		}
	}
	if a.box == nil && !a.between(lo, hi) {
		a.whole(q.Area(), lo)
		return
	}
	p := [4]grid.Point{q.Min, {X: q.Max.X, Y: q.Min.Y}, q.Max, {X: q.Min.X, Y: q.Max.Y}}
	mid, mean := q.Centre(), (v[0]+v[1]+v[2]+v[3])/4
	for k := range 4 {
		n := (k + 1) % 4
		a.triangle([3]grid.Point{p[k], p[n], mid}, [3]float64{v[k], v[n], mean})
	}
}

// between reports whether a threshold lies within (lo, hi].
func (a *above) between(lo, hi float64) bool {
	for _, t := range a.t {
		if lo < t && t <= hi {
			return true
		}
	}
	return false
}

// whole adds an area on which the field is nowhere below lo and crosses no
// threshold.
func (a *above) whole(area, lo float64) {
	for k, t := range a.t {
		if lo >= t {
			a.sum[k] += area
		}
	}
}

func (a *above) triangle(p [3]grid.Point, v [3]float64) {
	lo, hi := min(v[0], v[1], v[2]), max(v[0], v[1], v[2])
	if math.IsNaN(lo) || hi < a.least {
		return
	}
	inside := a.box == nil || a.box.Contains(p[0]) && a.box.Contains(p[1]) && a.box.Contains(p[2])
	if inside {
		area := grid.TriangleArea(p[0], p[1], p[2])
		for k, t := range a.t {
			a.sum[k] += area * shareAbove(v, lo, hi, t)
		}
		return
	}
	var room [2][9]grid.Point
	poly, _ := clipPolygon(append(room[0][:0], p[:]...), room[1][:0], *a.box)
	if len(poly) < 3 {
		return
	}
	at := func(q grid.Point) float64 {
		w := barycentric(&p, q)
		return v[0] + w[1]*(v[1]-v[0]) + w[2]*(v[2]-v[0])
	}
	for i := 2; i < len(poly); i++ {
		w := [3]float64{at(poly[0]), at(poly[i-1]), at(poly[i])}
		area := grid.TriangleArea(poly[0], poly[i-1], poly[i])
		lo, hi := min(w[0], w[1], w[2]), max(w[0], w[1], w[2])
		for k, t := range a.t {
			a.sum[k] += area * shareAbove(w, lo, hi, t)
		}
	}
}

// shareAbove is the part of a triangle's area where the linear field with corner
// values v is at or above t. With one corner above, the corner cut off by the
// level line is similar in each side: its share is the product of the two
// sides' parts.
func shareAbove(v [3]float64, lo, hi, t float64) float64 {
	switch {
	case lo >= t:
		return 1
	case !(hi >= t):
		return 0
	}
	mid := v[0] + v[1] + v[2] - lo - hi
	// The sum above can round; the middle value lies between the others.
	mid = math.Min(math.Max(mid, lo), hi)
	if mid >= t {
		return 1 - (t-lo)/(hi-lo)*((t-lo)/(mid-lo))
	}
	return (hi - t) / (hi - lo) * ((hi - t) / (hi - mid))
}
