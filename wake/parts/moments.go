package parts

import (
	"math"
	"slices"

	"wakeledger/grid"
)

// sums are the integrals over a part: of 1, of the criterion f and its moments
// about an origin, of the local drag and of the vorticity. They are added plainly for
// runs of pieces, and run by run compensated.
type sums struct {
	sum [momentCount]grid.Sum
	run [momentCount]float64
	n   int
}

const (
	ofOne = iota
	ofF
	ofFX
	ofFY
	ofFXX
	ofFYY
	ofDrag
	ofVorticity
	momentCount
)

// plain is how many terms are added before the sum is compensated: the rounding of so few is
// below 1e-14 of the largest partial sum.
const plain = 64

// value is an integral.
func (s *sums) value(k int) float64 {
	sum := s.sum[k]
	sum.Add(s.run[k])
	return sum.Value()
}

func (s *sums) area() float64      { return s.value(ofOne) }
func (s *sums) f() float64         { return s.value(ofF) }
func (s *sums) drag() float64      { return s.value(ofDrag) }
func (s *sums) vorticity() float64 { return s.value(ofVorticity) }

// centroid and spread are the first moments of f and the root of the second about
// it, counted from origin.
func (s *sums) centroid(origin grid.Point) grid.Point {
	m := s.f()
	return grid.Point{X: origin.X + s.value(ofFX)/m, Y: origin.Y + s.value(ofFY)/m}
}

func (s *sums) spread() [2]float64 {
	m := s.f()
	x, y := s.value(ofFX)/m, s.value(ofFY)/m
	return [2]float64{math.Sqrt(math.Max(0, s.value(ofFXX)/m-x*x)), math.Sqrt(math.Max(0, s.value(ofFYY)/m-y*y))}
}

// part is a structure while it is being measured.
type part struct {
	sums
	origin grid.Point
	box    grid.Box
}

// integrate measures the n parts that the labels make. local and vorticity may be nil. All
// fields are taken as linear in each triangle, so the integrals are exact for them.
func integrate(s *simplex, f []float64, label []int32, n int, t float64, local, vorticity []float64) []part {
	parts := slices.Repeat([]part{{box: grid.EmptyBox()}}, n)
	for v, l := range label {
		if l >= 0 {
			parts[l].box = parts[l].box.Extend(s.pts[v])
		}
	}
	for k := range parts {
		parts[k].origin = parts[k].box.Centre()
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
		if l, ok := s.single(k, label, sh); ok {
			if l >= 0 {
				x, y := from(p, parts[l].origin)
				parts[l].triangle(whole, x, y, fv, lv, ov)
			}
			continue
		}
		s.divide(k, f, label, sh, t, func(l int32, poly []bary) {
			q := &parts[l]
			q.add(poly, whole, p, q.origin, fv, lv, ov)
			for _, b := range poly {
				q.box = q.box.Extend(grid.Point{X: b.dot([3]float64{p[0].X, p[1].X, p[2].X}), Y: b.dot([3]float64{p[0].Y, p[1].Y, p[2].Y})})
			}
		})
	}
	return parts
}

// from are the coordinates of corners counted from an origin.
func from(p [3]grid.Point, origin grid.Point) (x, y [3]float64) {
	for k, c := range p {
		x[k], y[k] = c.X-origin.X, c.Y-origin.Y
	}
	return x, y
}

// add adds the integrals over a convex piece of the triangle p of the given area.
func (s *sums) add(poly []bary, whole float64, p [3]grid.Point, origin grid.Point, f, drag, vorticity [3]float64) {
	x, y := from(p, origin)
	for k := 2; k < len(poly); k++ {
		c := [3]bary{poly[0], poly[k-1], poly[k]}
		share := (c[1][1]-c[0][1])*(c[2][2]-c[0][2]) - (c[1][2]-c[0][2])*(c[2][1]-c[0][1])
		at := func(v [3]float64) [3]float64 { return [3]float64{c[0].dot(v), c[1].dot(v), c[2].dot(v)} }
		s.triangle(whole*share, at(x), at(y), at(f), at(drag), at(vorticity))
	}
}

// triangle adds the integrals over a triangle with the values of linear functions at its corners.
// ∫ of a linear function is A·mean, of two A/12·(ΣaΣb + Σab), of
// three A/60·(ΣaΣbΣc + Σa·Σbc + Σb·Σac + Σc·Σab + 2Σabc).
func (s *sums) triangle(area float64, x, y, f, drag, vorticity [3]float64) {
	v := &s.run
	sf, sx, sy, fx, fy := sum3(f), sum3(x), sum3(y), dot3(f, x), dot3(f, y)
	v[ofOne] += area
	v[ofF] += area * sf / 3
	v[ofFX] += area / 12 * (sf*sx + fx)
	v[ofFY] += area / 12 * (sf*sy + fy)
	v[ofFXX] += area / 60 * (sf*sx*sx + sf*dot3(x, x) + sx*fx + sx*fx + 2*(f[0]*x[0]*x[0]+f[1]*x[1]*x[1]+f[2]*x[2]*x[2]))
	v[ofFYY] += area / 60 * (sf*sy*sy + sf*dot3(y, y) + sy*fy + sy*fy + 2*(f[0]*y[0]*y[0]+f[1]*y[1]*y[1]+f[2]*y[2]*y[2]))
	v[ofDrag] += area * sum3(drag) / 3
	v[ofVorticity] += area * sum3(vorticity) / 3
	if s.n++; s.n%plain == 0 {
		for k := range v {
			s.sum[k].Add(v[k])
		}
		*v = [momentCount]float64{}
	}
}

func sum3(a [3]float64) float64    { return a[0] + a[1] + a[2] }
func dot3(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
