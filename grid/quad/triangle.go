package quad

import (
	"wakeledger/grid"
)

// clippedTriangle sets v to the integrals of the three corners' shape functions
// times 1, x, y, x², xy, y² over the part of the triangle inside the box, and
// reports whether there is such a part.
func clippedTriangle(p [3]grid.Point, box *grid.Box, order int, v *[3][6]float64) bool {
	if box == nil || box.Contains(p[0]) && box.Contains(p[1]) && box.Contains(p[2]) {
		area := grid.TriangleArea(p[0], p[1], p[2])
		addLinear(&p, area, [3]float64{1, 0, 0}, order, &v[0])
		addLinear(&p, area, [3]float64{0, 1, 0}, order, &v[1])
		addLinear(&p, area, [3]float64{0, 0, 1}, order, &v[2])
		return true
	}
	if !(max(p[0].X, p[1].X, p[2].X) > box.Min.X && min(p[0].X, p[1].X, p[2].X) < box.Max.X &&
		max(p[0].Y, p[1].Y, p[2].Y) > box.Min.Y && min(p[0].Y, p[1].Y, p[2].Y) < box.Max.Y) {
		return false
	}
	var room [2][9]grid.Point
	poly, _ := clipPolygon(append(room[0][:0], p[:]...), room[1][:0], *box)
	if len(poly) < 3 {
		return false
	}
	first, prev := barycentric(&p, poly[0]), barycentric(&p, poly[1])
	for k := 2; k < len(poly); k++ {
		here := barycentric(&p, poly[k])
		q := [3]grid.Point{poly[0], poly[k-1], poly[k]}
		for s := range 3 {
			addLinear(&q, grid.TriangleArea(q[0], q[1], q[2]), [3]float64{first[s], prev[s], here[s]}, order, &v[s])
		}
		prev = here
	}
	return true
}

// barycentric gives the coordinates of q in the triangle p: the values there of the three
// corners' shape functions.
func barycentric(p *[3]grid.Point, q grid.Point) [3]float64 {
	whole := grid.TriangleArea(p[0], p[1], p[2])
	b, c := grid.TriangleArea(p[0], q, p[2])/whole, grid.TriangleArea(p[0], p[1], q)/whole
	return [3]float64{1 - b - c, b, c}
}

// addLinear adds the integrals, over the triangle q, of the linear function with
// the values f at the corners times the monomials up to the order.
//
// With barycentric coordinates λ, ∫λᵢλⱼ = A/12·(1+δᵢⱼ) and ∫λᵢλⱼλₖ = A·(m₁!m₂!m₃!)·2/5!,
// where the m count how often each corner occurs (a standard formula, e.g.
// Zienkiewicz & Taylor, The Finite Element Method; from memory).
func addLinear(q *[3]grid.Point, area float64, f [3]float64, order int, v *[6]float64) {
	sf := f[0] + f[1] + f[2]
	v[0] += area * sf / 3
	if order == 0 {
		return
	}
	x := [3]float64{q[0].X, q[1].X, q[2].X}
	y := [3]float64{q[0].Y, q[1].Y, q[2].Y}
	sx, sy := x[0]+x[1]+x[2], y[0]+y[1]+y[2]
	fx, fy := dot3(f, x), dot3(f, y)
	v[1] += area / 12 * (sf*sx + fx)
	v[2] += area / 12 * (sf*sy + fy)
	// 60/A times the integral of a product of three linear functions a, b, c is
	// ΣaΣbΣc plus the sums that a repeated corner adds, since ∫λᵢ³, ∫λᵢ²λⱼ and ∫λ₁λ₂λ₃
	// stand as 6 : 2 : 1.
	v[3] += area / 60 * (sf*(sx*sx+dot3(x, x)) + 2*(sx*fx+f[0]*x[0]*x[0]+f[1]*x[1]*x[1]+f[2]*x[2]*x[2]))
	v[4] += area / 60 * (sf*(sx*sy+dot3(x, y)) + sx*fy + sy*fx + 2*(f[0]*x[0]*y[0]+f[1]*x[1]*y[1]+f[2]*x[2]*y[2]))
	v[5] += area / 60 * (sf*(sy*sy+dot3(y, y)) + 2*(sy*fy+f[0]*y[0]*y[0]+f[1]*y[1]*y[1]+f[2]*y[2]*y[2]))
}

func dot3(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

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
