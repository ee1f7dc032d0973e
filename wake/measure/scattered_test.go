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
	vee := func(y, z float64) waketest.State { return waketest.State{U: 0.5 + 0.25*(1+z)} }
	type result struct {
		name string
		of   func(*measure.Result) float64
		want float64
		tol  float64 // at 161 × 161 points
	}
	drag := func(r *measure.Result) float64 { return r.Drag.Momentum.DragArea }
	square := func(half float64) grid.Box { return box(-half, half, -half, half) }
	all := []result{
		{"dissipation", func(r *measure.Result) float64 { return r.Drag.Energy.Dissipation }, 0.16755161, 1e-4},
		{"area above 0.05", func(r *measure.Result) float64 { return r.Wake.Areas[1].Area }, 0.749707, 2e-3},
	}
	for _, m := range measure.Methods {
		all = append(all, result{m.Key, func(r *measure.Result) float64 { return methods(r.Drag)[m.Key] }, gaussianDrag, 1e-4})
	}
	for _, c := range []struct {
		name   string
		field  waketest.Field
		window grid.Box
		opt    measure.Options
		of     []result
	}{
		// Closed forms of the tests in published_test.go.
		{"Gaussian", gaussian, square(1.2), measure.Options{}, all},
		{"Gaussian in the middle", waketest.Gaussian(0.5, 0.2, 0, 0), square(1.2), measure.Options{Section: noWakeOnly, Regions: []measure.Box{{Name: "box", Box: box(0.1, 1.2, -1.2, 1.2)}}}, []result{
			{"right of y = 0.1", func(r *measure.Result) float64 { return *r.Regions[0].DragArea }, 0.06248000, 1e-4}}},
		{"Gaussian cut by the ground", waketest.Gaussian(0.5, 0.1, 0, 0.1), box(-0.6, 0.6, 0, 1), measure.Options{Section: noWakeOnly, Weight: measure.WeightDeficit}, []result{
			{"centroid", func(r *measure.Result) float64 { return r.Wake.Centroid[1] }, 0.12876000, 2e-4}}},
		{"cosine", cosine, square(1.2), measure.Options{Section: noWakeOnly}, []result{{"drag", drag, math.Pi / 4, 1e-4}}},
		{"half of a V", vee, box(0, 1, -1, 1), measure.Options{Section: noWakeOnly}, []result{{"drag", drag, 2.0 / 3, 1e-4}}},
		{"sphere", waketest.Sphere(1, 2), square(4), measure.Options{}, []result{
			{"velocity only", func(r *measure.Result) float64 { return r.Drag.VelocityOnly.DragArea }, 0.99366148, 2e-4},
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.opt.Floor = "none"
			at := func(n int) []float64 {
				off := make([]float64, len(c.of))
				for seed := range uint64(3) {
					p := plane(t, waketest.Scatter(c.field, c.window.Min.X, c.window.Max.X, c.window.Min.Y, c.window.Max.Y, n, n, 10+seed), grid.Nodes)
					if p.Mesh.Kind != grid.KindTriangles {
						t.Fatalf("the mesh is a %s", p.Mesh.Kind)
					}
					r := run(t, p, c.opt)
					for k, x := range c.of {
						off[k] = math.Hypot(off[k], (x.of(r)-x.want)/math.Sqrt(3))
					}
				}
				return off
			}
			coarse, fine := at(41), at(161)
			for k, x := range c.of {
				if !(fine[k] <= x.tol) {
					t.Errorf("%s: error %.3g with 161 × 161 points, at most %.1g is expected", x.name, fine[k], x.tol)
				}
				// The sampling is random, so the order scatters about 2.
				if order := math.Log2(coarse[k]/fine[k]) / 2; !(order > 1.5) && fine[k] > 1e-9 {
					t.Errorf("%s: error %.3g with 41 points a side, %.3g with 161: order %.2f, 2 is expected", x.name, coarse[k], fine[k], order)
				}
			}
		})
	}
}
