package parts

import (
	"math"

	"wakeledger/grid"
)

// sums are the integrals over a part: of 1, of the criterion f and its moments
// about an origin, of the local drag and of the vorticity.
type sums struct{ area, f, fx, fy, fxx, fxy, fyy, drag, vorticity grid.Sum }

// centroid and spread are the first moments of f and the root of the second about
// it, counted from origin.
func (s *sums) centroid(origin grid.Point) grid.Point {
	m := s.f.Value()
	return grid.Point{X: origin.X + s.fx.Value()/m, Y: origin.Y + s.fy.Value()/m}
}

func (s *sums) spread() [2]float64 {
	m := s.f.Value()
	x, y := s.fx.Value()/m, s.fy.Value()/m
	return [2]float64{math.Sqrt(math.Max(0, s.fxx.Value()/m-x*x)), math.Sqrt(math.Max(0, s.fyy.Value()/m-y*y))}
}

// part is a structure while it is being measured.
type part struct {
	sums
	origin grid.Point
	box    grid.Box
}

// integrate measures the n parts that the labels make, and what is left over in
// the elements that reach the threshold. local and vorticity may be nil. All
// fields are taken as linear in each triangle, so the integrals are exact for
// them and the parts and the rest add up to the whole.
func integrate(s *simplex, f []float64, label []int32, n int, t float64, local, vorticity []float64) (parts []part, rest sums) {
	parts = make([]part, n)
	for k := range parts {
		parts[k].box = grid.EmptyBox()
	}
	for v, l := range label {
		if l >= 0 {
			parts[l].box = parts[l].box.Extend(s.pts[v])
		}
	}
	for k := range parts {
		parts[k].origin = parts[k].box.Centre()
		parts[k].box = grid.EmptyBox()
	}
	pick := func(g []float64, k int) (v [3]float64) {
		if g != nil {
			v = [3]float64{g[s.tri[k]], g[s.tri[k+1]], g[s.tri[k+2]]}
		}
		return v
	}
	sh := s.valleys(f, label)
	for k := 0; k < len(s.tri); k += 3 {
		p := [3]grid.Point{s.pts[s.tri[k]], s.pts[s.tri[k+1]], s.pts[s.tri[k+2]]}
		whole := grid.TriangleArea(p[0], p[1], p[2])
		fv, lv, ov := pick(f, k), pick(local, k), pick(vorticity, k)
		s.divide(k, f, label, sh, t, func(l int32, poly []bary) {
			if l < 0 {
				rest.add(poly, whole, p, p[0], fv, lv, ov)
				return
			}
			q := &parts[l]
			q.add(poly, whole, p, q.origin, fv, lv, ov)
			for _, b := range poly {
				q.box = q.box.Extend(grid.Point{X: b.dot([3]float64{p[0].X, p[1].X, p[2].X}), Y: b.dot([3]float64{p[0].Y, p[1].Y, p[2].Y})})
			}
		})
	}
	return parts, rest
}

// add adds the integrals over a convex piece of the triangle p of the given area.
// ∫ over a triangle of a linear function is A·mean, of two A/12·(ΣaΣb + Σab), of
// three A/60·(ΣaΣbΣc + Σa·Σbc + Σb·Σac + Σc·Σab + 2Σabc).
func (s *sums) add(poly []bary, whole float64, p [3]grid.Point, origin grid.Point, f, drag, vorticity [3]float64) {
	x := [3]float64{p[0].X - origin.X, p[1].X - origin.X, p[2].X - origin.X}
	y := [3]float64{p[0].Y - origin.Y, p[1].Y - origin.Y, p[2].Y - origin.Y}
	for k := 2; k < len(poly); k++ {
		c := [3]bary{poly[0], poly[k-1], poly[k]}
		share := (c[1][1]-c[0][1])*(c[2][2]-c[0][2]) - (c[1][2]-c[0][2])*(c[2][1]-c[0][1])
		area := whole * share
		at := func(v [3]float64) [3]float64 { return [3]float64{c[0].dot(v), c[1].dot(v), c[2].dot(v)} }
		fv, xv, yv := at(f), at(x), at(y)
		s.area.Add(area)
		s.f.Add(area * sum3(fv) / 3)
		s.fx.Add(area / 12 * (sum3(fv)*sum3(xv) + dot3(fv, xv)))
		s.fy.Add(area / 12 * (sum3(fv)*sum3(yv) + dot3(fv, yv)))
		s.fxx.Add(area / 60 * triple(fv, xv, xv))
		s.fxy.Add(area / 60 * triple(fv, xv, yv))
		s.fyy.Add(area / 60 * triple(fv, yv, yv))
		s.drag.Add(area * sum3(at(drag)) / 3)
		s.vorticity.Add(area * sum3(at(vorticity)) / 3)
	}
}

func sum3(a [3]float64) float64    { return a[0] + a[1] + a[2] }
func dot3(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func triple(a, b, c [3]float64) float64 {
	return sum3(a)*sum3(b)*sum3(c) + sum3(a)*dot3(b, c) + sum3(b)*dot3(a, c) + sum3(c)*dot3(a, b) +
		2*(a[0]*b[0]*c[0]+a[1]*b[1]*c[1]+a[2]*b[2]*c[2])
}
