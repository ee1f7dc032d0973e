package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

const (
	// leastOpening is the part of the window below which what no element covers is left
	// out of account: rounded coordinates leave no more along a straight border.
	leastOpening = 1e-6
	// openingWarns: an opening that holds more than this part of the drag is named.
	openingWarns = 0.01
	// rangeOfThree is the mean range of three normal values in standard deviations (L. H. C.
	// Tippett 1925, from memory), medianScale their standard deviation over the median of
	// their absolute values.
	rangeOfThree, medianScale = 1.693, 1.4826
	// throughBody: a side of a rim that is so many times as long as the median one, and as its triangle
	// is deep, runs through the body from wall to wall, and the triangle may lie within it.
	throughBody = 4
	// oneWay is the least cosine between the sides of a rim that go on in one direction.
	oneWay = 0.75
)

// openings is what no element covers, between the outermost samples: lost samples,
// slits between polygons, rows that were left apart, notches of the border, the cut of a
// body. The integrals lack it; what they lack is estimated from the samples on its rim.
type openings struct {
	// of is the mesh, gaps triangles that fill the openings from node to node
	// (grid.Mesh.Nodal) of their rims, but for bodies.
	of, gaps *grid.Mesh
	// nodes are those of gaps and rim, which count them by their place in it.
	nodes *grid.NodalPart
	rim   []rimSide
	// stretches is how many parts of the rim go on in one direction.
	stretches int
}

// rimSide is the side of an element that looks at a body, and the element's corner across from it. The
// wall lies anywhere between the side and the next sample, which it has taken away: with it go the elements
// that it cuts, half of them on this side of it. So the strip is as large as the triangle on the mean,
// and at most twice that. Given elements reach the wall.
type rimSide struct {
	// nodes are the ends and the corner. The foot of the corner is a part of the way from the one end to
	// the other. The area is that of the triangle, below zero for one that may lie within the body. The way is that from
	// end to end, of length 1.
	nodes      [3]int32
	foot, area float64
	way        [2]float64
	// stretch is the number of the part of the rim that goes on in one direction, from 1.
	stretch int
}

// newOpenings finds those of a mesh of which elements cover the area given; nil where
// there are none.
func newOpenings(m *grid.Mesh, area float64) *openings {
	if m.SampleArea != nil {
		return nil // the areas are known whatever the elements cover
	}
	room := m.Window().Area()
	o := &openings{of: m}
	covered := !(room-area > leastOpening*room) || m.Kind == grid.KindTriangles && !(m.DroppedArea > leastOpening*room)
	switch {
	case covered && m.Wide == nil:
		return nil
	case covered:
		o.gaps = &grid.Mesh{Kind: grid.KindTriangles}
		return o.compact()
	}
	nodal := m.NodalMesh()
	open := m.Bridges
	if open == nil {
		open = bridges(nodal)
	}
	gaps, cut := []int32{}, []int32{}
	bodies := m.Bodies()
	for t := range slices.Chunk(open, 3) {
		if at := middle(nodal.Points, t); slices.ContainsFunc(bodies, func(g grid.Gap) bool { return widened(g.Box, m.Spacing()).Contains(at) }) {
			cut = append(cut, t...)
		} else {
			gaps = append(gaps, t...)
		}
	}
	o.gaps = &grid.Mesh{Kind: grid.KindTriangles, Points: nodal.Points, Triangles: gaps}
	if m.Kind != grid.KindPolygons && m.Kind != grid.KindCells { // given elements reach the wall
		o.rim = facing(nodal, sides(cut))
		o.stretches = countStretches(o.rim)
	}
	return o.compact()
}

// compact counts the nodes of gaps and rim anew, since all others are of no use.
func (o *openings) compact() *openings {
	place, nodes, points := map[int32]int32{}, []int32{}, []grid.Point{}
	renumber := func(list []int32) {
		for k, s := range list {
			if _, ok := place[s]; !ok {
				place[s] = int32(len(nodes))
				nodes, points = append(nodes, s), append(points, o.gaps.Points[s])
			}
			list[k] = place[s]
		}
	}
	renumber(o.gaps.Triangles)
	for k := range o.rim {
		renumber(o.rim[k].nodes[:])
	}
	o.gaps.Points, o.nodes = points, o.of.NodalPart(nodes)
	return o
}

// facing gives the sides that look at a body, of triangles to their left, with the elements of the mesh of
// nodes behind them, of which a quadrilateral of a lattice has two. Along the outer border there are none.
func facing(m *grid.Mesh, rim [][2]int32) (out []rimSide) {
	const behind = 1e-3 // of a side's length
	near, on := &grid.Mesh{Kind: m.Kind, Lattice: m.Lattice, Points: m.Points}, make(quad.Marks, len(m.Points))
	for _, e := range rim {
		on[e[0]], on[e[1]] = true, true
	}
	for t := range slices.Chunk(m.Triangles, 3) {
		if on[t[0]] || on[t[1]] || on[t[2]] {
			near.Triangles = append(near.Triangles, t...)
		}
	}
	loc := grid.NewLocator(near)
	var long []float64
	for _, e := range rim {
		a, b := m.Points[e[0]], m.Points[e[1]]
		x, y := b.X-a.X, b.Y-a.Y
		shares, n, _ := loc.At(grid.Point{X: (a.X+b.X)/2 + behind*y, Y: (a.Y+b.Y)/2 - behind*x})
		if c := slices.IndexFunc(shares[:n], func(s grid.Share) bool { return s.Sample != e[0] && s.Sample != e[1] }); c >= 0 {
			p, l := m.Points[shares[c].Sample], math.Hypot(x, y)
			long = append(long, l)
			out = append(out, rimSide{nodes: [3]int32{e[0], e[1], shares[c].Sample}, foot: ((p.X-a.X)*x + (p.Y-a.Y)*y) / (l * l), area: math.Abs(grid.TriangleArea(a, b, p)), way: [2]float64{x / l, y / l}})
		}
	}
	most := throughBody * grid.Median(slices.Clone(long))
	for k, l := range long {
		if r := &out[k]; l > most && l*l > 2*throughBody*r.area {
			r.area = -r.area
		}
	}
	return out
}

// countStretches numbers the parts of a rim that go on in the direction of one of their sides, by 40° or
// so: the walls of a lattice, steps, a few sides of scattered samples. Where the mesh ends before the wall
// along one of them tells little of the next.
func countStretches(rim []rimSide) (n int) {
	by := [2]map[int32]int{{}, {}} // the sides by the node that they start from, and by that they end in
	for k, r := range rim {
		by[0][r.nodes[0]], by[1][r.nodes[1]] = k, k
	}
	for k := range rim {
		if rim[k].stretch > 0 {
			continue
		}
		n++
		for end := range 2 {
			for j, ok := k, true; ok && (j == k || rim[j].stretch == 0 && floats.Dot(rim[j].way[:], rim[k].way[:]) >= oneWay); j, ok = by[end][rim[j].nodes[1-end]] {
				rim[j].stretch = n
			}
		}
	}
	return n
}

// widened is a box with a margin.
func widened(b grid.Box, by float64) grid.Box {
	return grid.Box{Min: grid.Point{X: b.Min.X - by, Y: b.Min.Y - by}, Max: grid.Point{X: b.Max.X + by, Y: b.Max.Y + by}}
}

// middle is that of the triangle of the first three of the numbers.
func middle(points []grid.Point, t []int32) grid.Point {
	a, b, c := points[t[0]], points[t[1]], points[t[2]]
	return grid.Point{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3}
}

// sides are those that no second triangle has, as the triangle to their left has them.
func sides(triangles []int32) [][2]int32 {
	one := make(map[[2]int32]bool, len(triangles))
	side := func(k int) [2]int32 { return [2]int32{triangles[k], triangles[k/3*3+(k+1)%3]} }
	for k := range triangles {
		one[side(k)] = true
	}
	var out [][2]int32
	for k := range triangles {
		if e := side(k); !one[[2]int32{e[1], e[0]}] {
			out = append(out, e)
		}
	}
	return out
}

// bridges fills what no element of a mesh of nodes covers with triangles between the
// nodes on the border of the elements: of their Delaunay triangulation those whose
// middle lies in no element. On a lattice that is exact; of polygons a side that is no
// side of the triangulation moves the border by a part of a polygon.
func bridges(m *grid.Mesh) []int32 {
	on := make(quad.Marks, len(m.Points))
	add := func(nodes ...int32) {
		for _, s := range nodes {
			if s >= 0 {
				on[s] = true
			}
		}
	}
	if l := m.Lattice; m.Kind == grid.KindLattice {
		nx := len(l.X)
		for j := range len(l.Y) - 1 {
			for i := range nx - 1 {
				if k := j*nx + i; !l.Full(i, j) {
					add(l.Index[k], l.Index[k+1], l.Index[k+nx], l.Index[k+nx+1])
				}
			}
		}
	} else {
		for _, e := range sides(m.Triangles) {
			add(e[:]...)
		}
	}
	rim := on.All()
	t, err := delaunay.Triangulate(wake.At(m.Points, rim))
	if err != nil {
		return nil // fewer than three nodes, or all on one line
	}
	loc := grid.NewLocator(m)
	var open []int32
	for k := 0; k < len(t.Triangles); k += 3 {
		if _, _, covered := loc.At(middle(t.Points, t.Triangles[k:])); covered {
			continue
		}
		for _, i := range t.Triangles[k : k+3] {
			open = append(open, rim[t.Order[i]])
		}
	}
	return open
}

// lack estimates the integral of a field of the nodes over the openings in a box, nil
// for all: over gaps as linear between their rims, over the strips along the rims of bodies as linear
// beyond them, on the mean of all places that a wall may have (d/2·f − d²/6·f′ with the depth d). half is
// how far from it the strips may be (up to d·f − d²/2·f′), each stretch by itself. area is that of all.
func (o *openings) lack(box *grid.Box, f func(node int) float64) (gaps, mean, half, area float64) {
	w := quad.NewWeights(o.gaps, box)
	gaps, area = w.IntegrateFunc(f), w.Area()
	// Of each stretch: as much as on the rim, and what that falls by over the depth of the triangles.
	value, slope := make([]float64, o.stretches+1), make([]float64, o.stretches+1)
	for _, r := range o.rim {
		lo, hi := 0.0, 1.0
		if box != nil {
			lo, hi = clipSide(o.gaps.Points[r.nodes[0]], o.gaps.Points[r.nodes[1]], *box)
		}
		a, b, strip := f(int(r.nodes[0])), f(int(r.nodes[1])), r.area*math.Max(0, hi-lo)
		area += math.Abs(strip)
		if on := strip * (a + (b-a)*(lo+hi)/2); strip < 0 {
			half = math.Hypot(half, on)
		} else {
			value[r.stretch] += on
			slope[r.stretch] += strip * (f(int(r.nodes[2])) - a - (b-a)*r.foot)
		}
	}
	strips, size, fall := floats.Sum(value), floats.Norm(value, 1), floats.Sum(slope)
	// Fields bend: the slope counts no more than half of what there is on the rim.
	part := math.Min(1, size/2/math.Max(math.Abs(fall), math.SmallestNonzeroFloat64))
	for k, v := range value {
		half = math.Hypot(half, v-2*part*slope[k]/3)
	}
	return gaps, strips - part*fall/3, half, area
}

// clipSide gives the parts of the way from a to b between which the side lies in a box.
func clipSide(a, b grid.Point, box grid.Box) (lo, hi float64) {
	lo, hi = 0, 1
	along := func(a, b, least, most float64) {
		switch d := b - a; {
		case d > 0:
			lo, hi = math.Max(lo, (least-a)/d), math.Min(hi, (most-a)/d)
		case d < 0:
			lo, hi = math.Max(lo, (most-a)/d), math.Min(hi, (least-a)/d)
		case !(least <= a && a <= most):
			hi = 0
		}
	}
	along(a.X, b.X, box.Min.X, box.Max.X)
	along(a.Y, b.Y, box.Min.Y, box.Max.Y)
	return lo, hi
}

// spanned is what the wide triangles in a box, nil for all, may have missed between their
// corners: half the range of the field over each, all with one sign, less the range that
// noise makes, whose sign changes from one to the next.
func (o *openings) spanned(box *grid.Box, f []float64) (missed, area float64) {
	if len(o.of.Wide) == 0 {
		return 0, 0
	}
	noise := rangeOfThree * medianScale * grid.Median(NewScatter(o.of, f).residual)
	p := o.of.Points
	for w := range slices.Chunk(o.of.Wide, 3) {
		if box != nil && !box.Contains(middle(p, w)) {
			continue
		}
		a := grid.TriangleArea(p[w[0]], p[w[1]], p[w[2]])
		area += a
		if beyond := max(f[w[0]], f[w[1]], f[w[2]]) - min(f[w[0]], f[w[1]], f[w[2]]) - noise; beyond > 0 {
			missed += a * beyond / 2
		}
	}
	return missed, area
}

// item is that of scale·∫f dS, f a field of the samples, for what no element covers in a
// box, nil for the whole plane, and what that comes to with what spanned says. It is left out of
// the integral, an error of one sign: a gap's is known to a quarter or so. A strip along a wall
// may be twice as wide or not be there, by itself on each stretch of a rim: that is a half-width of its own
// size. open is the area of both.
func (o *openings) item(box *grid.Box, f []float64, scale float64) (items []uncertainty.Item, lack, open float64) {
	if o == nil {
		return nil, 0, 0
	}
	nodal := o.nodes.Values(f)
	gaps, strips, half, area := o.lack(box, func(i int) float64 { return nodal[i] })
	missed, wide := o.spanned(box, f)
	strips = scale * strips
	about := scale*half/math.Sqrt(3) + uncertainty.OffStandard(scale*gaps, 0, scale*gaps/4) + scale*missed
	if it := uncertainty.Left("area without samples", -strips, 0, about); it.Standard > 0 {
		items = []uncertainty.Item{it}
	}
	lack = scale*gaps + strips
	return items, lack + math.Copysign(scale*missed, lack), scale * (area + wide)
}

// WithoutSamples is the item of Scale·∫f dS, f a field of the samples, for what no element
// covers in a box, nil for the whole plane. None where elements cover all.
func (m *Measurement) WithoutSamples(box *grid.Box, f []float64) []uncertainty.Item {
	it, _, _ := m.openings.item(box, f, m.Scale)
	return it
}

// uncovered adds to the budget of a drag area, the integral of local over a box, its item, with a warning
// where it is a part of the drag that matters. of names what the drag is of.
func (m *measuring) uncovered(b uncertainty.Budget, box *grid.Box, of string, drag float64, local func(i int) float64) *uncertainty.Budget {
	if m.openings == nil {
		return &b
	}
	it, lack, area := m.openings.item(box, m.each(local), m.scale)
	if math.Abs(lack) > openingWarns*math.Abs(drag) {
		m.warn("area-without-samples", "sample that area, or export the surface without gaps",
			"%.3g m2 of %s are covered by no element, or by ones far wider than those beside them: by the samples round it, that area may change the drag area by %+.2g m2, %.2g %%; the uncertainty includes it",
			area, of, lack, 100*math.Abs(lack/drag))
	}
	return new(b.With(it...))
}

// uncoveredCentroid is the item of both coordinates of a centroid.
func (m *measuring) uncoveredCentroid(box *grid.Box, w *Wake) (it [2][]uncertainty.Item) {
	if m.openings == nil {
		return it
	}
	for k := range it {
		lever := m.each(func(i int) float64 {
			p := m.mesh.Points[i]
			return m.weight[i] * ([2]float64{p.X, p.Y}[k] - w.Centroid[k]) / math.Abs(w.Integral)
		})
		it[k], _, _ = m.openings.item(box, lever, m.scale)
	}
	return it
}

// Above is 1 at the samples whose weight is above a threshold, else 0.
func (m *Measurement) Above(threshold float64) []float64 {
	return m.each(func(i int) float64 {
		if m.Weight[i] > threshold {
			return 1
		}
		return 0
	})
}
