package quad

import (
	"math"

	"wakeledger/grid"
)

// triangles visits the triangles that make up the parts inside the box of those of row r:
// the three samples of each, its corners, and the values of the samples' shape functions at these;
// nil where the corners are the samples.
func (e *elements) triangles(r int, visit func(samples []int32, q *[3]grid.Point, at *[3][3]float64)) {
	t, b := e.m.Triangles, e.box
	// One room for all, since what visit is given the compiler puts on the heap.
	var p, q [3]grid.Point
	var at [3][3]float64
	for k := 3 * r * run; k < min(len(t), 3*(r+1)*run); k += 3 {
		c := t[k : k+3]
		p = [3]grid.Point{e.from(e.m.Points[c[0]]), e.from(e.m.Points[c[1]]), e.from(e.m.Points[c[2]])}
		switch {
		case b == nil || b.Contains(p[0]) && b.Contains(p[1]) && b.Contains(p[2]):
			visit(c, &p, nil)
		case max(p[0].X, p[1].X, p[2].X) > b.Min.X && min(p[0].X, p[1].X, p[2].X) < b.Max.X &&
			max(p[0].Y, p[1].Y, p[2].Y) > b.Min.Y && min(p[0].Y, p[1].Y, p[2].Y) < b.Max.Y:
			var room [2][9]grid.Point
			poly, _ := clipPolygon(append(room[0][:0], p[:]...), room[1][:0], *b)
			for k := 2; k < len(poly); k++ {
				q = [3]grid.Point{poly[0], poly[k-1], poly[k]}
				at = [3][3]float64{barycentric(&p, q[0]), barycentric(&p, q[1]), barycentric(&p, q[2])}
				visit(c, &q, &at)
			}
		}
	}
}

// shares are the integrals of the samples' shape functions over a triangle that triangles visits.
func shares(q *[3]grid.Point, at *[3][3]float64) [3]float64 {
	s := grid.TriangleArea(q[0], q[1], q[2]) / 3
	if at == nil {
		return [3]float64{s, s, s}
	}
	return [3]float64{s * (at[0][0] + at[1][0] + at[2][0]), s * (at[0][1] + at[1][1] + at[2][1]), s * (at[0][2] + at[1][2] + at[2][2])}
}

// triangle adds a part of a triangle, as triangles visits it, with the values g of its samples.
func (t *tally) triangle(q *[3]grid.Point, at *[3][3]float64, g0, g1, g2 float64) {
	if at == nil {
		third := t.addLinear(q, g0, g1, g2) / 3
		t[6] += third * (g0*g0 + g1*g1 + g2*g2)
		t[7] += third * (math.Abs(g0) + math.Abs(g1) + math.Abs(g2))
		return
	}
	v := func(k int) float64 { return at[k][0]*g0 + at[k][1]*g1 + at[k][2]*g2 }
	t.addLinear(q, v(0), v(1), v(2))
	s := shares(q, at)
	t[6] += s[0]*g0*g0 + s[1]*g1*g1 + s[2]*g2*g2
	t[7] += s[0]*math.Abs(g0) + s[1]*math.Abs(g1) + s[2]*math.Abs(g2)
}

// barycentric gives the coordinates of q in the triangle p: the values there of the three
// corners' shape functions.
func barycentric(p *[3]grid.Point, q grid.Point) [3]float64 {
	whole := grid.TriangleArea(p[0], p[1], p[2])
	b, c := grid.TriangleArea(p[0], q, p[2])/whole, grid.TriangleArea(p[0], p[1], q)/whole
	return [3]float64{1 - b - c, b, c}
}

// addLinear adds the integrals, over the triangle q, of the linear function with the
// values f0, f1, f2 at the corners times 1, x, y, x², xy, y², and returns its area.
//
// With barycentric coordinates λ, ∫λᵢλⱼ = A/12·(1+δᵢⱼ) and ∫λᵢλⱼλₖ = A·(m₁!m₂!m₃!)·2/5!,
// where the m count how often each corner occurs (a standard formula, e.g.
// Zienkiewicz & Taylor, The Finite Element Method; from memory).
//
// Scalars, since the compiler keeps no array in registers.
func (t *tally) addLinear(q *[3]grid.Point, f0, f1, f2 float64) (area float64) {
	area = grid.TriangleArea(q[0], q[1], q[2])
	x0, x1, x2, y0, y1, y2 := q[0].X, q[1].X, q[2].X, q[0].Y, q[1].Y, q[2].Y
	sf, sx, sy := f0+f1+f2, x0+x1+x2, y0+y1+y2
	fx0, fx1, fx2 := f0*x0, f1*x1, f2*x2
	fy0, fy1, fy2 := f0*y0, f1*y1, f2*y2
	fx, fy := fx0+fx1+fx2, fy0+fy1+fy2
	t[0] += area / 3 * sf
	t[1] += area / 12 * (sf*sx + fx)
	t[2] += area / 12 * (sf*sy + fy)
	// 60/A times the integral of a product of three linear functions a, b, c is
	// ΣaΣbΣc plus the sums that a repeated corner adds, since ∫λᵢ³, ∫λᵢ²λⱼ and ∫λ₁λ₂λ₃
	// stand as 6 : 2 : 1.
	t[3] += area / 60 * (sf*(sx*sx+x0*x0+x1*x1+x2*x2) + 2*(sx*fx+fx0*x0+fx1*x1+fx2*x2))
	t[4] += area / 60 * (sf*(sx*sy+x0*y0+x1*y1+x2*y2) + sx*fy + sy*fx + 2*(fx0*y0+fx1*y1+fx2*y2))
	t[5] += area / 60 * (sf*(sy*sy+y0*y0+y1*y1+y2*y2) + 2*(sy*fy+fy0*y0+fy1*y1+fy2*y2))
	return area
}

// clipPolygon cuts a convex or simple polygon to the box, one side after the
// other. Both slices are used as room; the first result has the corners, the second is the spare
// room.
func clipPolygon(poly, spare []grid.Point, box grid.Box) (out, room []grid.Point) {
	for _, depth := range box.Depths() {
		poly, spare = grid.Cut(poly, spare, depth, func(p, q grid.Point, dp, dq float64) grid.Point {
			t := dp / (dp - dq)
			return grid.Point{X: p.X + t*(q.X-p.X), Y: p.Y + t*(q.Y-p.Y)}
		}), poly
	}
	return poly, spare
}
