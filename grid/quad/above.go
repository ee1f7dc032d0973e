package quad

import (
	"math"

	"wakeledger/grid"
)

// AreaAbove returns, by boxes, for each threshold the area of the part of the mesh inside
// the box where the field is at or above the threshold, m². A nil box means the
// whole mesh. Level lines are followed inside the elements: the field is linear
// in each triangle, and in the four triangles about the centre of each
// quadrilateral of a lattice (centre value: the corners' mean). Cells are first
// made continuous by Mesh.Nodal. A NaN threshold gives area 0; an element with a
// NaN corner counts as below. Where the mesh has sample areas it is the sum of the
// areas, or parts of them in the box, of the samples at or above the threshold.
func AreaAbove(m *grid.Mesh, boxes []*grid.Box, f, thresholds []float64) [][]float64 {
	if m.SampleArea != nil {
		out := make([][]float64, len(boxes))
		for b, box := range boxes {
			w := sampleWeights(m, box)
			out[b] = sums(len(w), len(thresholds), func(i int, v []float64) {
				for k, t := range thresholds {
					if f[i] >= t {
						v[k] += w[i]
					}
				}
			})
		}
		return out
	}
	m, f = m.Nodal(f)
	a := newAbove(m, boxes, thresholds)
	part := make([][]float64, a.blocks())
	grid.Parallel(len(part), func(b int) {
		part[b] = make([]float64, a.numbers())
		a.each(b, func(e *element) { a.add(e, f, part[b]) })
	})
	return a.addUp(part)
}

// above adds up areas above thresholds in boxes, element by element of a mesh of nodes: the
// triangles, or the quadrilaterals above and to the right of the places of a lattice.
type above struct {
	m     *grid.Mesh
	boxes []*grid.Box
	t     []float64
	// least is the smallest threshold, below which nothing counts; −Inf where one is NaN.
	least float64
}

func newAbove(m *grid.Mesh, boxes []*grid.Box, thresholds []float64) *above {
	a := &above{m: m, boxes: boxes, t: thresholds, least: math.Inf(1)}
	for _, t := range thresholds {
		a.least = min(a.least, t)
	}
	if math.IsNaN(a.least) {
		a.least = math.Inf(-1)
	}
	return a
}

// numbers is how many areas are added up, by boxes and then thresholds.
func (a *above) numbers() int { return len(a.boxes) * len(a.t) }

// rows is the number of rows of work in a mesh, and how many make a block: a
// row of a lattice is many elements, a triangle is one.
func (a *above) rows() (rows, step int) {
	if l := a.m.Lattice; a.m.Kind == grid.KindLattice {
		return len(l.Y) - 1, max(1, block/8/len(l.X))
	}
	return len(a.m.Triangles) / 3, block / 8
}

func (a *above) blocks() int {
	rows, step := a.rows()
	return (rows + step - 1) / step
}

// element is one of the mesh: its number, its place on a lattice and its nodes,
// counter-clockwise.
type element struct {
	number int32
	i, j   int
	nodes  []int32
	room   [4]int32
}

// each visits the elements of a block one after the other in one place.
func (a *above) each(b int, visit func(e *element)) {
	var e element
	rows, step := a.rows()
	for r := b * step; r < min(rows, (b+1)*step); r++ {
		if a.m.Kind != grid.KindLattice {
			a.triangle(&e, int32(r))
			visit(&e)
			continue
		}
		for i := range len(a.m.Lattice.X) - 1 {
			if a.quadrilateral(&e, i, r) {
				visit(&e)
			}
		}
	}
}

// at sets e to an element that each has visited.
func (a *above) at(e *element, number int32) {
	if a.m.Kind != grid.KindLattice {
		a.triangle(e, number)
		return
	}
	nx := len(a.m.Lattice.X)
	a.quadrilateral(e, int(number)%nx, int(number)/nx)
}

func (a *above) triangle(e *element, t int32) {
	e.number, e.nodes = t, a.m.Triangles[3*t:3*t+3]
}

// quadrilateral reports whether the lattice has all of its corners.
func (a *above) quadrilateral(e *element, i, j int) bool {
	nx, index := len(a.m.Lattice.X), a.m.Lattice.Index
	k := j*nx + i
	e.number, e.i, e.j = int32(k), i, j
	e.room = [4]int32{index[k], index[k+1], index[k+nx+1], index[k+nx]}
	e.nodes = e.room[:]
	return e.room[0]|e.room[1]|e.room[2]|e.room[3] >= 0
}

// addUp adds up the blocks' sums, by boxes.
func (a *above) addUp(part [][]float64) [][]float64 {
	out := make([][]float64, len(a.boxes))
	for b := range out {
		out[b] = make([]float64, len(a.t))
		for k := range out[b] {
			var s grid.Sum
			for _, p := range part {
				s.Add(p[b*len(a.t)+k])
			}
			out[b][k] = s.Value()
		}
	}
	return out
}

// add adds an element to the sums.
func (a *above) add(e *element, f, sum []float64) {
	var v [4]float64
	for k, n := range e.nodes {
		v[k] = f[n]
	}
	a.addValues(e, v[:len(e.nodes)], sum)
}

// addValues is add with the values at the corners.
func (a *above) addValues(e *element, v, sum []float64) {
	lo, hi := v[0], v[0]
	for _, x := range v {
		switch {
		case x < lo:
			lo = x
		case x > hi:
			hi = x
		case x != x: // a corner without a value
			return
		}
	}
	if !(hi >= a.least) {
		return
	}
	var share []float64
	var room [8]float64
	crossed, n := a.between(lo, hi), len(a.t)
	for b := range a.boxes {
		area, whole := a.area(e, b)
		s := sum[b*n : (b+1)*n]
		switch {
		case area == 0:
		case !crossed:
			for k, t := range a.t {
				if lo >= t {
					s[k] += area
				}
			}
		case whole:
			if share == nil {
				share = a.shares(v, room[:0])
			}
			for k, part := range share {
				s[k] += area * part
			}
		default:
			p := a.points(e)
			if len(e.nodes) == 3 {
				a.clipped([3]grid.Point(p[:3]), [3]float64(v), a.boxes[b], s)
				continue
			}
			mid, mean := grid.Point{X: (p[0].X + p[2].X) / 2, Y: (p[0].Y + p[2].Y) / 2}, (v[0]+v[1]+v[2]+v[3])/4
			for k := range 4 {
				n := (k + 1) % 4
				a.clipped([3]grid.Point{p[k], p[n], mid}, [3]float64{v[k], v[n], mean}, a.boxes[b], s)
			}
		}
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

func (a *above) points(e *element) (p [4]grid.Point) {
	for k, n := range e.nodes {
		p[k] = a.m.Points[n]
	}
	return p
}

// area is that of the part of an element in a box; whole says that none of it lies outside.
func (a *above) area(e *element, b int) (area float64, whole bool) {
	box := a.boxes[b]
	if l := a.m.Lattice; a.m.Kind == grid.KindLattice {
		all := grid.Box{Min: grid.Point{X: l.X[e.i], Y: l.Y[e.j]}, Max: grid.Point{X: l.X[e.i+1], Y: l.Y[e.j+1]}}
		if box == nil || box.ContainsBox(all) {
			return all.Area(), true
		}
		return box.Intersect(all).Area(), false
	}
	p := a.points(e)
	if box == nil || box.Contains(p[0]) && box.Contains(p[1]) && box.Contains(p[2]) {
		return grid.TriangleArea(p[0], p[1], p[2]), true
	}
	if box.Intersect(grid.Bounds(p[:3])).Empty() {
		return 0, false
	}
	var room [2][9]grid.Point
	poly, _ := clipPolygon(append(room[0][:0], p[:3]...), room[1][:0], *box)
	for k := 2; k < len(poly); k++ {
		area += grid.TriangleArea(poly[0], poly[k-1], poly[k])
	}
	return area, false
}

// shares appends, by thresholds, the part of an element's area above each: of a quadrilateral
// the mean of the four triangles about its centre, which are of one size.
func (a *above) shares(v, out []float64) []float64 {
	if len(v) == 3 {
		for _, t := range a.t {
			out = append(out, shareAbove([3]float64(v), t))
		}
		return out
	}
	mean := (v[0] + v[1] + v[2] + v[3]) / 4
	lo, hi := min(v[0], v[1], v[2], v[3], mean), max(v[0], v[1], v[2], v[3], mean)
	for _, t := range a.t {
		if lo >= t || hi < t { // most thresholds meet none of the four
			out = append(out, shareAbove([3]float64{lo, hi, mean}, t))
			continue
		}
		out = append(out, (shareAbove([3]float64{v[0], v[1], mean}, t)+shareAbove([3]float64{v[1], v[2], mean}, t)+
			shareAbove([3]float64{v[2], v[3], mean}, t)+shareAbove([3]float64{v[3], v[0], mean}, t))/4)
	}
	return out
}

// clipped adds the part of a triangle in a box to its sums by thresholds.
func (a *above) clipped(p [3]grid.Point, v [3]float64, box *grid.Box, sum []float64) {
	var room [2][9]grid.Point
	poly, _ := clipPolygon(append(room[0][:0], p[:]...), room[1][:0], *box)
	at := func(q grid.Point) float64 {
		w := barycentric(&p, q)
		return v[0] + w[1]*(v[1]-v[0]) + w[2]*(v[2]-v[0])
	}
	for i := 2; i < len(poly); i++ {
		w := [3]float64{at(poly[0]), at(poly[i-1]), at(poly[i])}
		area := grid.TriangleArea(poly[0], poly[i-1], poly[i])
		for k, t := range a.t {
			sum[k] += area * shareAbove(w, t)
		}
	}
}

// shareAbove is the part of a triangle's area where the linear field with corner
// values v is at or above t. With one corner above, the corner cut off by the
// level line is similar in each side: its share is the product of the two
// sides' parts.
func shareAbove(v [3]float64, t float64) float64 {
	lo, hi := min(v[0], v[1], v[2]), max(v[0], v[1], v[2])
	switch {
	case lo >= t:
		return 1
	case !(hi >= t):
		return 0
	}
	mid := v[0] + v[1] + v[2] - lo - hi
	// The sum above can round; the middle value lies between the others.
	mid = min(max(mid, lo), hi)
	if mid >= t {
		return 1 - (t-lo)/(hi-lo)*((t-lo)/(mid-lo))
	}
	return (hi - t) / (hi - lo) * ((hi - t) / (hi - mid))
}
