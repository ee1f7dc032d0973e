package grid

import "math"

// Clip returns what of the mesh lies in a box, and what its samples are made of: point i
// is Σ Weight·f[Sample] over shares[i], linear where the box cuts an element. Its integrals
// of such fields are those of the mesh over the box. A cell that is cut keeps its value; of
// a lattice of cells the outermost lines move so that their cells end at the box. What lies
// in the box whole is returned as it is, with nil shares; nil where fewer than four samples
// remain. SampleArea is not kept.
func (m *Mesh) Clip(box Box) (*Mesh, [][4]Share) {
	if box.ContainsBox(m.Window()) {
		return m, nil
	}
	if b := box.Intersect(m.Window()); b.Empty() || b.Area() == 0 {
		return nil, nil
	}
	c := &clipping{m: m, box: box, out: &Mesh{Kind: m.Kind, Support: m.Support}, at: map[Point]int32{}}
	switch m.Kind {
	case KindLattice:
		c.lattice()
	case KindCells:
		c.cells()
	default:
		c.triangles()
	}
	if len(c.out.Points) < 4 {
		return nil, nil
	}
	for _, g := range m.Gaps {
		if !g.Box.Intersect(box).Empty() {
			c.out.Gaps = append(c.out.Gaps, g)
		}
	}
	if m.DroppedArea > 0 {
		c.out.DroppedArea = math.Max(0, c.out.Window().Area()-trianglesArea(c.out))
	}
	return c.out, c.shares
}

func trianglesArea(m *Mesh) float64 {
	sum := 0.0
	for k := 0; k+2 < len(m.Triangles); k += 3 {
		sum += m.triangleArea(k)
	}
	return sum
}

// clipping is one Clip at work.
type clipping struct {
	m, out *Mesh
	box    Box
	shares [][4]Share
	at     map[Point]int32
}

// line is a place between two lines of a lattice, part of the way from i to i+1.
type line struct {
	at, part float64
	i        int
}

// clipLines are the lines a in [lo, hi], with lines at its ends where it cuts. Of cells the
// outermost move to where their cells end with it.
func clipLines(a []float64, lo, hi float64, cells bool) []line {
	n := len(a)
	near := (a[n-1] - a[0]) / float64(n-1) * 1e-6
	var at []float64
	e := a
	if cells {
		e = CellEdges(a)
	}
	lo, hi = math.Max(lo, e[0]), math.Min(hi, e[len(e)-1])
	for i, x := range a {
		if cells && e[i+1] > lo+near && e[i] < hi-near || !cells && x > lo+near && x < hi-near {
			at = append(at, x)
		}
	}
	switch k := len(at) - 1; {
	case !cells:
		at = append(append([]float64{lo}, at...), hi)
	case k > 0:
		if lo > e[0] {
			at[0] = (lo + at[1]/2) / 1.5
		}
		if hi < e[n] {
			at[k] = (hi + at[k-1]/2) / 1.5
		}
	}
	out := make([]line, len(at))
	i := 0
	for k, x := range at {
		for i+2 < n && a[i+1] <= x {
			i++
		}
		out[k] = line{x, (x - a[i]) / (a[i+1] - a[i]), i}
	}
	return out
}

func (c *clipping) lattice() {
	l, cells := c.m.Lattice, c.m.Support == Cells
	x, y := clipLines(l.X, c.box.Min.X, c.box.Max.X, cells), clipLines(l.Y, c.box.Min.Y, c.box.Max.Y, cells)
	out := &Lattice{}
	for _, v := range x {
		out.X = append(out.X, v.at)
	}
	for _, v := range y {
		out.Y = append(out.Y, v.at)
	}
	for _, b := range y {
	place:
		for _, a := range x {
			var of [4]Share
			for k, w := range [4]float64{(1 - a.part) * (1 - b.part), a.part * (1 - b.part), (1 - a.part) * b.part, a.part * b.part} {
				if w == 0 {
					continue
				}
				if of[k] = (Share{l.At(a.i+k%2, b.i+k/2), w}); of[k].Sample < 0 {
					out.Index = append(out.Index, -1)
					continue place
				}
			}
			out.Index = append(out.Index, int32(len(c.out.Points)))
			c.out.Points, c.shares = append(c.out.Points, Point{X: a.at, Y: b.at}), append(c.shares, of)
		}
	}
	c.out.Lattice = out
}

// vertex is a corner of a polygon that is being cut, with what it is made of.
type vertex struct {
	Point
	of [4]Share
}

// Cut keeps the part of a convex polygon where depth is not negative (Sutherland & Hodgman 1974,
// from memory), in room. between makes the corner on the side from a to b, of depths da and db.
func Cut[T any](poly, room []T, depth func(T) float64, between func(a, b T, da, db float64) T) []T {
	room = room[:0]
	for k, q := range poly {
		p := poly[(k+len(poly)-1)%len(poly)]
		dp, dq := depth(p), depth(q)
		if dp >= 0 != (dq >= 0) {
			room = append(room, between(p, q, dp, dq))
		}
		if dq >= 0 {
			room = append(room, q)
		}
	}
	return room
}

// Depths are how far a point lies inside of each side of the box.
func (b Box) Depths() [4]func(Point) float64 {
	return [4]func(Point) float64{
		func(p Point) float64 { return p.X - b.Min.X }, func(p Point) float64 { return b.Max.X - p.X },
		func(p Point) float64 { return p.Y - b.Min.Y }, func(p Point) float64 { return b.Max.Y - p.Y },
	}
}

// cut is what of a convex polygon lies in the box.
// Where a side is cut is worked out from its lesser end, so that two elements agree.
func (c *clipping) cut(poly []vertex) []vertex {
	for _, depth := range c.box.Depths() {
		poly = Cut(poly, nil, func(v vertex) float64 { return depth(v.Point) }, func(a, b vertex, da, db float64) vertex {
			if b.X < a.X || b.X == a.X && b.Y < a.Y {
				a, b, da, db = b, a, db, da
			}
			return between(a, b, da/(da-db))
		})
	}
	return poly
}

// between is the place part t of the way from a to b. A triangle's corners make no more than
// three shares.
func between(a, b vertex, t float64) vertex {
	v := vertex{Point: Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y)}}
	n := 0
	add := func(s Share, w float64) {
		if s.Weight*w == 0 {
			return
		}
		for k := range v.of[:n] {
			if v.of[k].Sample == s.Sample {
				v.of[k].Weight += w * s.Weight
				return
			}
		}
		v.of[n] = Share{s.Sample, w * s.Weight}
		n++
	}
	for k := range a.of {
		add(a.of[k], 1-t)
		add(b.of[k], t)
	}
	return v
}

// point numbers a corner, the same for all elements that have it.
func (c *clipping) point(v vertex) int32 {
	k, ok := c.at[v.Point]
	if !ok {
		k = int32(len(c.out.Points))
		c.at[v.Point] = k
		c.out.Points, c.shares = append(c.out.Points, v.Point), append(c.shares, v.of)
	}
	return k
}

func (c *clipping) triangles() {
	m := c.m
	if m.Faces != nil {
		c.out.Faces = []int32{0}
	}
	face := 0
	for k := 0; k+2 < len(m.Triangles); k += 3 {
		var poly []vertex
		for _, s := range m.Triangles[k : k+3] {
			poly = append(poly, vertex{m.Points[s], [4]Share{{s, 1}}})
		}
		poly = c.cut(poly)
		for i := 2; i < len(poly); i++ {
			if TriangleArea(poly[0].Point, poly[i-1].Point, poly[i].Point) > 0 {
				c.out.Triangles = append(c.out.Triangles, c.point(poly[0]), c.point(poly[i-1]), c.point(poly[i]))
			}
		}
		if m.Faces != nil && k/3+1 == int(m.Faces[face+1]) {
			face++
			if n := int32(len(c.out.Triangles) / 3); n > c.out.Faces[len(c.out.Faces)-1] {
				c.out.Faces = append(c.out.Faces, n)
			}
		}
	}
}

func (c *clipping) cells() {
	m, out := c.m, &CellSet{Start: []int32{0}}
	for i, p := range m.Points {
		var poly []vertex
		for _, k := range m.Cells.Polygon(i) {
			poly = append(poly, vertex{Point: m.Cells.Corners[k]})
		}
		if poly = c.cut(poly); len(poly) < 3 {
			continue
		}
		for _, v := range poly {
			k, ok := c.at[v.Point]
			if !ok {
				k = int32(len(out.Corners))
				c.at[v.Point] = k
				out.Corners = append(out.Corners, v.Point)
			}
			out.Index = append(out.Index, k)
		}
		out.Start = append(out.Start, int32(len(out.Index)))
		p = Point{X: math.Max(c.box.Min.X, math.Min(c.box.Max.X, p.X)), Y: math.Max(c.box.Min.Y, math.Min(c.box.Max.Y, p.Y))}
		c.out.Points, c.shares = append(c.out.Points, p), append(c.shares, [4]Share{{int32(i), 1}})
	}
	c.out.Cells = out
}
