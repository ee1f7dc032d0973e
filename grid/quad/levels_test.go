package quad_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/quad"
)

// TestLevels: fields within a spread have the areas of AreaAbove, in boxes too, on all
// kinds of meshes, with samples whose value is missing, and look at no others than
// those marked.
func TestLevels(t *testing.T) {
	base := lattice(41, 37, grid.Nodes, 4, nil)
	box := grid.Box{Min: grid.Point{X: -0.31, Y: -0.5}, Max: grid.Point{X: 1.2, Y: 0.77}}
	thresholds := []float64{-0.2, 0.1, 0.3, math.NaN(), 0.9, 2}
	rng := rand.New(rand.NewPCG(5, 6))
	polygons := triangles(base)
	polygons.Kind = grid.KindPolygons
	cells := lattice(41, 37, grid.Cells, 4, func(x, y float64) bool { return math.Hypot(x-0.4, y) < 0.2 })
	for _, m := range []*grid.Mesh{base, triangles(base), polygons, cells} {
		f := sample(m, func(x, y float64) float64 { return math.Exp(-(x*x + y*y) / 0.3) })
		f[400] = math.NaN()
		spread := make([]float64, len(f))
		for i := range spread {
			spread[i] = 0.05 * rng.NormFloat64()
		}
		boxes := []*grid.Box{nil, &box}
		l := quad.NewLevels(m, boxes, f, spread, thresholds)
		marks := make(quad.Marks, len(f))
		l.Mark(marks)
		looked := marks.All()
		if len(looked) == 0 || m.Support == grid.Nodes && len(looked) > len(f)*3/4 {
			t.Errorf("%d of %d samples are looked at", len(looked), len(f))
		}
		for range 20 {
			g := make([]float64, len(f))
			for i := range g {
				g[i] = f[i] + (2*rng.Float64()-1)*spread[i]
			}
			only := make([]float64, len(g))
			for _, i := range looked {
				only[i] = g[i]
			}
			got := l.Above(only)
			for b, box := range boxes {
				for k, want := range areaAbove(m, box, g, thresholds) {
					near(t, "area", got[b][k], want, 1e-12)
				}
			}
		}
	}
}
