package quad

import (
	"wakeledger/grid"
)

// Product returns ∫ f·g dS over the part of the mesh inside the box, in the units
// of both fields times m². A nil box means the whole mesh. f and g have one value a
// sample. It is exact for the fields that the mesh stands for: each is bilinear in
// a quadrilateral of a lattice of nodes, linear in a triangle, constant in a cell;
// the product is integrated as the polynomial that it is, where Weights applied to
// the samples' products would take it as linear. Where the mesh has sample areas it
// is Σ f·g·area. A NaN or infinite value that has weight makes the result not
// finite.
func Product(m *grid.Mesh, box *grid.Box, f, g []float64) float64 {
	if len(f) != len(m.Points) || len(g) != len(m.Points) {
		panic("quad: fields and samples differ in number")
	}
	switch {
	case m.SampleArea != nil || m.Kind == grid.KindCells || m.Kind == grid.KindLattice && m.Support == grid.Cells:
		return NewWeights(m, box).IntegrateFunc(func(i int) float64 { return f[i] * g[i] })
	case m.Kind == grid.KindLattice:
		return latticeProduct(m, box, f, g)
	}
	n := len(m.Triangles) / 3
	return sums(n, 1, func(t int, v []float64) {
		ids := m.Triangles[3*t : 3*t+3]
		p := [3]grid.Point{m.Points[ids[0]], m.Points[ids[1]], m.Points[ids[2]]}
		v[0] += triangleProduct(p, box, [3]float64{f[ids[0]], f[ids[1]], f[ids[2]]}, [3]float64{g[ids[0]], g[ids[1]], g[ids[2]]})
	})[0]
}

// triangleProduct is ∫ f·g over the part of a triangle inside the box:
// A/12 (Σf Σg + Σ fg) for a whole one.
func triangleProduct(p [3]grid.Point, box *grid.Box, f, g [3]float64) float64 {
	whole := func(area float64, f, g [3]float64) float64 {
		return area / 12 * ((f[0]+f[1]+f[2])*(g[0]+g[1]+g[2]) + dot3(f, g))
	}
	area := grid.TriangleArea(p[0], p[1], p[2])
	if box == nil || box.Contains(p[0]) && box.Contains(p[1]) && box.Contains(p[2]) {
		return whole(area, f, g)
	}
	var room [2][9]grid.Point
	poly, _ := clipPolygon(append(room[0][:0], p[:]...), room[1][:0], *box)
	sum := 0.0
	at := barycentric(p, area)
	for k := 2; k < len(poly); k++ {
		a, b, c := at(poly[0]), at(poly[k-1]), at(poly[k])
		sum += whole(grid.TriangleArea(poly[0], poly[k-1], poly[k]),
			[3]float64{dot3(a, f), dot3(b, f), dot3(c, f)}, [3]float64{dot3(a, g), dot3(b, g), dot3(c, g)})
	}
	return sum
}

// barycentric returns the function that gives a point's coordinates in a triangle
// of that area.
func barycentric(p [3]grid.Point, area float64) func(grid.Point) [3]float64 {
	return func(q grid.Point) [3]float64 {
		b, c := grid.TriangleArea(p[0], q, p[2])/area, grid.TriangleArea(p[0], p[1], q)/area
		return [3]float64{1 - b - c, b, c}
	}
}

// latticeProduct: in a quadrilateral each field is Σ h_a(x) h_b(y) f_ab with the
// hats' falling and rising halves h, so the product's integral is a sum over
// ∫h_a h_c dx · ∫h_b h_d dy.
func latticeProduct(m *grid.Mesh, box *grid.Box, f, g []float64) float64 {
	l := m.Lattice
	x, y := hatProducts(l.X, box, true), hatProducts(l.Y, box, false)
	rows := make([]Sum, len(y))
	parallel(len(rows), func(j int) {
		if y[j][0]+y[j][2] == 0 {
			return
		}
		for i := range x {
			if x[i][0]+x[i][2] == 0 || !l.Full(i, j) {
				continue
			}
			ids := [4]int32{l.At(i, j), l.At(i+1, j), l.At(i, j+1), l.At(i+1, j+1)}
			v := 0.0
			for a, s := range ids {
				for b, t := range ids {
					// Corner k has the rising hat along x if k is odd, along y if k ≥ 2.
					v += x[i][a&1+b&1] * y[j][a>>1+b>>1] * f[s] * g[t]
				}
			}
			rows[j].Add(v)
		}
	})
	var s Sum
	for _, r := range rows {
		s.Add(r.Value())
	}
	return s.Value()
}

// hatProducts gives, for each interval of the lines a, the integrals over its part
// inside the box of falling², falling·rising and rising². Simpson's rule has no
// error for them.
func hatProducts(a []float64, box *grid.Box, isX bool) [][3]float64 {
	out := make([][3]float64, len(a)-1)
	for i := range out {
		lo, hi := clip1(a[i], a[i+1], box, isX)
		if !(hi > lo) {
			continue
		}
		for k, w := range [3]float64{1, 4, 1} {
			r := (lo + (hi-lo)*float64(k)/2 - a[i]) / (a[i+1] - a[i])
			w *= (hi - lo) / 6
			out[i][0] += w * (1 - r) * (1 - r)
			out[i][1] += w * (1 - r) * r
			out[i][2] += w * r * r
		}
	}
	return out
}
