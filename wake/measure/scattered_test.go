package measure_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// The published fields on scattered points: looser than on lattices, and with the
// order of convergence that a piecewise-linear field has.
func TestScatteredPointsConverge(t *testing.T) {
	gaussian := waketest.Gaussian(0.5, 0.2, 0.03, -0.02)
	cosine := func(y, z float64) waketest.State {
		r := math.Hypot(y, z)
		if r >= 1 {
			return waketest.State{U: 1}
		}
		k := math.Cos(math.Pi * r / 2)
		return waketest.State{U: 1 - k*k}
	}
	vee := func(y, z float64) waketest.State { return waketest.State{U: 0.5 + 0.25*(1+z)} }
	drag := func(r *measure.Result) float64 { return r.Drag.Momentum.DragArea }
	cases := []struct {
		name  string
		field waketest.Field
		y, z  [2]float64
		of    func(*measure.Result) float64
		want  float64
		tol   float64 // at 161 × 161 points
		box   *grid.Box
	}{
		// Closed forms of the tests in published_test.go.
		{"Gaussian, dissipation", gaussian, [2]float64{-1.2, 1.2}, [2]float64{-1.2, 1.2}, func(r *measure.Result) float64 { return r.Drag.Energy.Dissipation }, 0.16755161, 1e-4, nil},
		{"Gaussian, area above 0.05", gaussian, [2]float64{-1.2, 1.2}, [2]float64{-1.2, 1.2}, func(r *measure.Result) float64 { return r.Wake.Areas[1].Area }, 0.749707, 2e-3, nil},
		{"Gaussian, right of y = 0.1", waketest.Gaussian(0.5, 0.2, 0, 0), [2]float64{-1.2, 1.2}, [2]float64{-1.2, 1.2}, func(r *measure.Result) float64 { return *r.Regions[0].DragArea }, 0.06248000, 1e-4,
			&grid.Box{Min: grid.Point{X: 0.1, Y: -1.2}, Max: grid.Point{X: 1.2, Y: 1.2}}},
		{"Gaussian cut by the ground, centroid", waketest.Gaussian(0.5, 0.1, 0, 0.1), [2]float64{-0.6, 0.6}, [2]float64{0, 1}, func(r *measure.Result) float64 { return r.Wake.Centroid[1] }, 0.12876000, 2e-4, nil},
		{"cosine, drag", cosine, [2]float64{-1.2, 1.2}, [2]float64{-1.2, 1.2}, drag, math.Pi / 4, 1e-4, nil},
		{"half of a V, drag", vee, [2]float64{0, 1}, [2]float64{-1, 1}, drag, 2.0 / 3, 1e-4, nil},
		{"sphere, drag", waketest.Sphere(1, 2), [2]float64{-4, 4}, [2]float64{-4, 4}, drag, sphereSquare(4), 2e-4, nil},
		{"sphere, velocity only", waketest.Sphere(1, 2), [2]float64{-4, 4}, [2]float64{-4, 4}, func(r *measure.Result) float64 { return r.Drag.VelocityOnly.DragArea }, 0.99366148, 2e-4, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			at := func(n int) float64 {
				sum := 0.0
				for seed := range uint64(3) {
					opt := measure.Options{Floor: "none", Weight: measure.WeightTotalPressure}
					if c.name != "sphere, velocity only" {
						opt.Section = noWakeOnly
					}
					if c.name == "Gaussian cut by the ground, centroid" {
						opt.Weight = measure.WeightDeficit
					}
					if c.box != nil {
						opt.Regions = []measure.Box{{Name: "box", Box: *c.box}}
					}
					p := plane(t, waketest.Scatter(c.field, c.y[0], c.y[1], c.z[0], c.z[1], n, n, 10+seed), grid.Nodes)
					if p.Mesh.Kind != grid.KindTriangles {
						t.Fatalf("the mesh is a %s", p.Mesh.Kind)
					}
					d := c.of(run(t, p, opt)) - c.want
					sum += d * d
				}
				return math.Sqrt(sum / 3)
			}
			coarse, fine := at(41), at(161)
			if !(fine <= c.tol) {
				t.Errorf("error %.3g with 161 × 161 points, at most %.1g is expected", fine, c.tol)
			}
			// The sampling is random, so the order scatters about 2.
			if order := math.Log2(coarse/fine) / 2; !(order > 1.5) && fine > 1e-9 {
				t.Errorf("error %.3g with 41 points a side, %.3g with 161: order %.2f, 2 is expected", coarse, fine, order)
			}
		})
	}
}

// sphereSquare is the momentum integral of the potential sphere at x = 2 over the
// square of half-width h. The integrand is p∞−p+ρu(U−u) in closed form, summed
// with Simpson's rule on a fine raster, which is exact to 1e-9 here.
func sphereSquare(h float64) float64 {
	f := waketest.Sphere(1, 2)
	const n = 400
	weight := func(i int) float64 {
		switch {
		case i == 0 || i == n:
			return 1
		case i%2 == 1:
			return 4
		}
		return 2
	}
	d := 2 * h / n
	sum := 0.0
	for j := range n + 1 {
		for i := range n + 1 {
			s := f(-h+d*float64(i), -h+d*float64(j))
			sum += weight(i) * weight(j) * measure.MomentumDensity(2*s.P, 1, s.U)
		}
	}
	return sum * d * d / 9
}
