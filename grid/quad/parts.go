package quad

import (
	"fmt"
	"math"

	"wakeledger/grid"
)

// cutter adds up, for the samples of one mesh, the integrals of their shape
// functions over convex pieces of its elements.
type cutter struct {
	m *grid.Mesh
	w []float64
}

// weights makes Weights of what was added, in proportion to the sample areas where
// the mesh has them.
func (c *cutter) weights() Weights {
	if c.m.SampleArea != nil {
		full := elementWeights(c.m, nil)
		for s, v := range c.w {
			if v != 0 && full[s] > 0 {
				c.w[s] = v / full[s] * c.m.SampleArea[s]
			}
		}
	}
	return c.pick()
}

// pick keeps the samples that have a weight.
func (c *cutter) pick() Weights {
	w := Weights{Index: []int32{}}
	for s, v := range c.w {
		if v != 0 {
			w.Index, w.Weight = append(w.Index, int32(s)), append(w.Weight, v)
		}
	}
	return w
}

// NewPolygonWeights gives the weights over the part of the mesh inside a polygon,
// convex or not, given by its corners in either sense. Elements that its border
// cuts are clipped exactly: an integral is that of the field that the mesh stands
// for over the common part. Polygons that tile a region share every integral out.
// The error says why a polygon will not do: fewer than three corners, a corner that
// is not finite, no area, or sides that cross.
func NewPolygonWeights(m *grid.Mesh, polygon []grid.Point) (Weights, error) {
	n := len(polygon)
	set := &grid.CellSet{Corners: polygon, Start: []int32{0, int32(n)}, Index: make([]int32, n)}
	for i, p := range polygon {
		if math.IsNaN(p.X-p.X) || math.IsNaN(p.Y-p.Y) {
			return Weights{}, fmt.Errorf("corner %d of the polygon is (%g, %g)", i+1, p.X, p.Y)
		}
		set.Index[i] = int32(i)
	}
	if set.Degenerate(0) {
		return Weights{}, fmt.Errorf("the polygon of %d corners has no area", n)
	}
	if set.Area(0) < 0 {
		set.Turn(0)
	}
	tri, ok := set.AppendTriangles(nil, 0)
	if !ok {
		return Weights{}, fmt.Errorf("the sides of the polygon of %d corners cross", n)
	}
	c := &cutter{m: m, w: make([]float64, len(m.Points))}
	for k := 0; k < len(tri); k += 3 {
		t := [3]grid.Point{polygon[tri[k]], polygon[tri[k+1]], polygon[tri[k+2]]}
		box := grid.Bounds(t[:])
		c.elements(&box, func(piece, spare []grid.Point) ([]grid.Point, []grid.Point) {
			for s := range 3 {
				a, b := t[s], t[(s+1)%3]
				piece, spare = clipHalf(piece, spare, func(p grid.Point) float64 { return grid.TriangleArea(a, b, p) })
			}
			return piece, spare
		})
	}
	return c.weights(), nil
}

// NewLevelWeights gives the weights over the part of the mesh inside the box where
// the field is at or above the level; a nil box means the whole mesh. Level lines
// run as AreaAbove has them, and the integrand is the field that the mesh stands
// for: constant in a cell though the level line is that of the continuous field.
// On a lattice of nodes it is linear in the four triangles about the centre. A NaN
// level gives no weight; an element with a NaN corner counts as below. Where the
// mesh has sample areas, whole samples are at or above the level or not.
func NewLevelWeights(m *grid.Mesh, box *grid.Box, f []float64, level float64) Weights {
	c := &cutter{m: m, w: make([]float64, len(m.Points))}
	if math.IsNaN(level) {
		return c.weights()
	}
	if m.SampleArea != nil {
		w := sampleWeights(m, box)
		for s, v := range f {
			if v >= level {
				c.w[s] = w[s]
			}
		}
		return c.pick()
	}
	fine, g := m.Nodal(f)
	above := func(p [3]grid.Point, v [3]float64, add func(a, b, d [3]float64, area float64)) {
		lo, hi := min(v[0], v[1], v[2]), max(v[0], v[1], v[2])
		if math.IsNaN(lo) || hi < level {
			return
		}
		area := grid.TriangleArea(p[0], p[1], p[2])
		at := barycentric(p, area)
		var room [2][16]grid.Point
		piece, spare := append(room[0][:0], p[:]...), room[1][:0]
		if lo < level {
			// Values at the corners are exact; between, the plane through them.
			piece, spare = clipHalf(piece, spare, func(q grid.Point) float64 {
				for k := range p {
					if q == p[k] {
						return v[k] - level
					}
				}
				return dot3(at(q), v) - level
			})
		}
		if box != nil {
			piece, _ = clipPolygon(piece, spare, *box)
		}
		for k := 2; k < len(piece); k++ {
			add(at(piece[0]), at(piece[k-1]), at(piece[k]), grid.TriangleArea(piece[0], piece[k-1], piece[k]))
		}
	}
	third := func(a, b, d [3]float64, area float64, k int) float64 { return area * (a[k] + b[k] + d[k]) / 3 }
	switch {
	case m.Kind == grid.KindLattice && m.Support == grid.Nodes:
		l := m.Lattice
		for j := 0; j+1 < len(l.Y); j++ {
			for i := 0; i+1 < len(l.X); i++ {
				if !l.Full(i, j) {
					continue
				}
				ids := [4]int32{l.At(i, j), l.At(i+1, j), l.At(i+1, j+1), l.At(i, j+1)}
				mean := (f[ids[0]] + f[ids[1]] + f[ids[2]] + f[ids[3]]) / 4
				p := [4]grid.Point{{X: l.X[i], Y: l.Y[j]}, {X: l.X[i+1], Y: l.Y[j]}, {X: l.X[i+1], Y: l.Y[j+1]}, {X: l.X[i], Y: l.Y[j+1]}}
				mid := grid.Box{Min: p[0], Max: p[2]}.Centre()
				for k := range 4 {
					n := (k + 1) % 4
					above([3]grid.Point{p[k], p[n], mid}, [3]float64{f[ids[k]], f[ids[n]], mean}, func(a, b, d [3]float64, area float64) {
						c.w[ids[k]] += third(a, b, d, area, 0)
						c.w[ids[n]] += third(a, b, d, area, 1)
						for _, s := range ids {
							c.w[s] += third(a, b, d, area, 2) / 4
						}
					})
				}
			}
		}
	case m.Kind == grid.KindLattice:
		// Each quadrilateral of the finer lattice is a quarter of the cell whose centre
		// is among its corners, the one with two odd numbers.
		l := fine.Lattice
		for j := 0; j+1 < len(l.Y); j++ {
			for i := 0; i+1 < len(l.X); i++ {
				if !l.Full(i, j) {
					continue
				}
				s := m.Lattice.At(i/2, j/2)
				v := [4]float64{g[l.At(i, j)], g[l.At(i+1, j)], g[l.At(i+1, j+1)], g[l.At(i, j+1)]}
				p := [4]grid.Point{{X: l.X[i], Y: l.Y[j]}, {X: l.X[i+1], Y: l.Y[j]}, {X: l.X[i+1], Y: l.Y[j+1]}, {X: l.X[i], Y: l.Y[j+1]}}
				mid, mean := grid.Box{Min: p[0], Max: p[2]}.Centre(), (v[0]+v[1]+v[2]+v[3])/4
				for k := range 4 {
					n := (k + 1) % 4
					above([3]grid.Point{p[k], p[n], mid}, [3]float64{v[k], v[n], mean}, func(_, _, _ [3]float64, area float64) { c.w[s] += area })
				}
			}
		}
	default:
		for t := 0; t+2 < len(fine.Triangles); t += 3 {
			ids := [3]int32(fine.Triangles[t : t+3])
			p := [3]grid.Point{fine.Points[ids[0]], fine.Points[ids[1]], fine.Points[ids[2]]}
			above(p, [3]float64{g[ids[0]], g[ids[1]], g[ids[2]]}, func(a, b, d [3]float64, area float64) {
				if m.Kind == grid.KindCells {
					c.w[ids[0]] += area // the centre's number is the cell's
					return
				}
				for k, s := range ids {
					c.w[s] += third(a, b, d, area, k)
				}
			})
		}
	}
	return c.weights()
}

// clipHalf cuts a polygon to the side where depth, a linear function, is not
// negative (one step of Sutherland & Hodgman 1974, from memory).
func clipHalf(poly, spare []grid.Point, depth func(grid.Point) float64) (out, room []grid.Point) {
	spare = spare[:0]
	for k, p := range poly {
		prev := poly[(k+len(poly)-1)%len(poly)]
		dp, dq := depth(prev), depth(p)
		if dp >= 0 != (dq >= 0) {
			t := dp / (dp - dq)
			spare = append(spare, grid.Point{X: prev.X + t*(p.X-prev.X), Y: prev.Y + t*(p.Y-prev.Y)})
		}
		if dq >= 0 {
			spare = append(spare, p)
		}
	}
	return spare, poly
}

// elements clips every element that touches the box and adds what is left of it.
func (c *cutter) elements(box *grid.Box, clip func(piece, spare []grid.Point) ([]grid.Point, []grid.Point)) {
	m := c.m
	var piece, spare []grid.Point
	touches := func(b grid.Box) bool {
		i := b.Intersect(*box)
		return !i.Empty() && i.Width() > 0 && i.Height() > 0
	}
	switch {
	case m.Kind == grid.KindLattice && m.Support == grid.Cells:
		ex, ey := grid.CellEdges(m.Lattice.X), grid.CellEdges(m.Lattice.Y)
		for j := range m.Lattice.Y {
			for i := range m.Lattice.X {
				s := m.Lattice.At(i, j)
				b := grid.Box{Min: grid.Point{X: ex[i], Y: ey[j]}, Max: grid.Point{X: ex[i+1], Y: ey[j+1]}}
				if s < 0 || !touches(b) {
					continue
				}
				piece, spare = clip(corners(piece, b), spare)
				c.w[s] += area(piece)
			}
		}
	case m.Kind == grid.KindLattice:
		l := m.Lattice
		for j := 0; j+1 < len(l.Y); j++ {
			for i := 0; i+1 < len(l.X); i++ {
				b := grid.Box{Min: grid.Point{X: l.X[i], Y: l.Y[j]}, Max: grid.Point{X: l.X[i+1], Y: l.Y[j+1]}}
				if !l.Full(i, j) || !touches(b) {
					continue
				}
				piece, spare = clip(corners(piece, b), spare)
				// With r and t from 0 to 1 the shape functions are (1−r)(1−t), r(1−t) …
				w, h := b.Width(), b.Height()
				for k := range piece {
					piece[k] = grid.Point{X: (piece[k].X - b.Min.X) / w, Y: (piece[k].Y - b.Min.Y) / h}
				}
				var v [6]float64
				for k := 2; k < len(piece); k++ {
					addTriangleMoments(piece[0], piece[k-1], piece[k], &v)
				}
				one, r, t, rt := v[0]*w*h, v[1]*w*h, v[2]*w*h, v[4]*w*h
				c.w[l.At(i, j)] += one - r - t + rt
				c.w[l.At(i+1, j)] += r - rt
				c.w[l.At(i, j+1)] += t - rt
				c.w[l.At(i+1, j+1)] += rt
			}
		}
	case m.Kind == grid.KindCells:
		for s := range m.Points {
			piece = piece[:0]
			for _, k := range m.Cells.Polygon(s) {
				piece = append(piece, m.Cells.Corners[k])
			}
			if !touches(grid.Bounds(piece)) {
				continue
			}
			piece, spare = clip(piece, spare)
			c.w[s] += area(piece)
		}
	default:
		for t := 0; t+2 < len(m.Triangles); t += 3 {
			ids := [3]int32(m.Triangles[t : t+3])
			p := [3]grid.Point{m.Points[ids[0]], m.Points[ids[1]], m.Points[ids[2]]}
			if !touches(grid.Bounds(p[:])) {
				continue
			}
			piece, spare = clip(append(piece[:0], p[:]...), spare)
			at := barycentric(p, grid.TriangleArea(p[0], p[1], p[2]))
			for k := 2; k < len(piece); k++ {
				third := grid.TriangleArea(piece[0], piece[k-1], piece[k]) / 3
				x, y, z := at(piece[0]), at(piece[k-1]), at(piece[k])
				for i, s := range ids {
					c.w[s] += third * (x[i] + y[i] + z[i])
				}
			}
		}
	}
}

// corners are those of a box, anticlockwise.
func corners(room []grid.Point, b grid.Box) []grid.Point {
	return append(room[:0], b.Min, grid.Point{X: b.Max.X, Y: b.Min.Y}, b.Max, grid.Point{X: b.Min.X, Y: b.Max.Y})
}

func area(p []grid.Point) float64 {
	sum := 0.0
	for k := 2; k < len(p); k++ {
		sum += grid.TriangleArea(p[0], p[k-1], p[k])
	}
	return sum
}
