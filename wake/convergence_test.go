package wake_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// refined covers the unit square, finer near a place, without the hole. n is a multiple of 8,
// so that the hole is whole.
func refined(n int, hole grid.Box) [][]grid.Point {
	return quadtree(grid.Point{}, n, n, 2, 1/float64(n), func(b grid.Box) bool {
		d, coarse := math.Hypot(b.Centre().X-0.3, b.Centre().Y-0.3), b.Width() > 0.75/float64(n)
		return coarse && d < 0.25 || !coarse && d < 0.12
	}, func(b grid.Box) bool { return hole.Contains(b.Centre()) })
}

// The momentum integral of METHOD's check 12, the potential sphere, over a part of
// its plane converges with the square of the spacing whatever joins the samples: on
// lattices, scattered points, refined meshes with hanging nodes and a hole, as given
// polygons with values at the corners or one in each, and from their corners alone,
// where the mesher has to find the hole itself.
func TestOrderTwo(t *testing.T) {
	// A part of the plane off the axis, close to the sphere, where the field is curved.
	sphere := waketest.Sphere(1, 1.5)
	field := func(y, z float64) waketest.State { return sphere(1.2*y-0.4, 1.2*z-0.3) }
	density := func(p grid.Point) float64 { s := field(p.X, p.Y); return measure.MomentumDensity(2*s.P, 1, s.U) }
	hole := grid.Box{Min: grid.Point{X: 0.5, Y: 0.375}, Max: grid.Point{X: 0.875, Y: 0.75}}
	// Gauss's rule of three points (Abramowitz & Stegun 25.4.30, from memory) in 64 × 64
	// cells: the error is of the order of (1/64)⁶.
	exact := func(skip *grid.Box) float64 {
		sum := 0.0
		for i := range 64 {
			for j := range 64 {
				c := grid.Point{X: (float64(i) + 0.5) / 64, Y: (float64(j) + 0.5) / 64}
				if skip != nil && skip.Contains(c) {
					continue
				}
				for k, u := range [3]float64{5, 8, 5} {
					for l, v := range [3]float64{5, 8, 5} {
						r := math.Sqrt(0.6) / 128
						sum += u * v / 324 / 64 / 64 * density(grid.Point{X: c.X + r*float64(k-1), Y: c.Y + r*float64(l-1)})
					}
				}
			}
		}
		return sum
	}
	whole, holed := exact(nil), exact(&hole)
	corners := func(n int) *wake.Samples {
		return polygons(false, func(_ int, p grid.Point) waketest.State { return field(p.X, p.Y) }, refined(n, hole)...)
	}
	for _, c := range []struct {
		name   string
		kind   grid.Kind
		want   float64
		sample func(n int, seed uint64) *wake.Samples
		seeds  int
		slack  float64 // of the order
	}{
		{"lattice of nodes", grid.KindLattice, whole, func(n int, _ uint64) *wake.Samples { return waketest.Lattice(field, 0, 1, 0, 1, n+1, n+1) }, 1, 0.05},
		{"lattice of cells", grid.KindLattice, whole, func(n int, _ uint64) *wake.Samples {
			s := waketest.Centres(field, 0, 1, 0, 1, n, n)
			s.CellValues = true
			return s
		}, 1, 0.05},
		// Chance scatters the order of random samples.
		{"scattered", grid.KindTriangles, whole, func(n int, seed uint64) *wake.Samples { return waketest.Scatter(field, 0, 1, 0, 1, n+1, n+1, seed) }, 12, 0.25},
		{"polygons, values at corners", grid.KindPolygons, holed, func(n int, _ uint64) *wake.Samples { return corners(n) }, 1, 0.1},
		{"polygons, values in cells", grid.KindCells, holed, func(n int, _ uint64) *wake.Samples {
			polys := refined(n, hole)
			return polygons(true, func(e int, _ grid.Point) waketest.State {
				c := grid.Bounds(polys[e]).Centre()
				return field(c.X, c.Y)
			}, polys...)
		}, 1, 0.1},
		// In the corners of the hole the mesher leaves a triangle or none.
		{"octree points", grid.KindTriangles, holed, func(n int, _ uint64) *wake.Samples {
			s := corners(n)
			s.Elements = nil
			return s
		}, 1, 0.3},
	} {
		t.Run(c.name, func(t *testing.T) {
			of := func(n int) float64 {
				sum := 0.0
				for seed := range uint64(c.seeds) {
					p := one(t, c.sample(n, 7+seed))
					if p.Mesh.Kind != c.kind {
						t.Fatalf("the mesh is of %s", p.Mesh.Kind)
					}
					e := quad.NewWeights(p.Mesh, nil).IntegrateFunc(func(i int) float64 {
						return measure.MomentumDensity(2*p.Field[wake.P][i], 1, p.Field[wake.U][i])
					}) - c.want
					sum += e * e / float64(c.seeds)
				}
				return math.Sqrt(sum)
			}
			coarse, fine := of(16), of(64)
			if order := math.Log2(coarse/fine) / 2; !(math.Abs(order-2) <= c.slack) {
				t.Errorf("errors %.3g and %.3g with 16 and 64 samples a side: order %.2f, 2 is expected", coarse, fine, order)
			}
		})
	}
}
