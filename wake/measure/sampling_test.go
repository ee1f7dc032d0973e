package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// TestScatterOfSides: the item of the samples' distance is the scatter of the integral, of noise alone
// and beside a side on which two samples stand: nothing of the side itself where it runs along the
// lines of a lattice, at most twice the scatter of the integral where samples are spread; and the error
// of a side so thin that hardly a sample stands on it.
func TestScatterOfSides(t *testing.T) {
	const noise, h, draws = 0.01, 0.05, 60
	window := grid.Box{Min: grid.Point{X: -0.8, Y: -0.8}, Max: grid.Point{X: 0.8, Y: 0.8}}
	// Without noise the four sides stand anywhere between two lines, each by itself.
	at := func(mesh *grid.Mesh, thick, angle, height, noise float64, k uint64) (off, standard float64) {
		r := rand.New(rand.NewPCG(k, 2))
		place := func(x float64) float64 {
			if noise > 0 {
				return x
			}
			return x + h*(r.Float64()-0.5)
		}
		ends := [4]float64{place(-0.31), place(0.31), place(-0.31), place(0.31)}
		side := func(x, from, to float64) float64 { return (math.Erf((x-from)/thick/h) - math.Erf((x-to)/thick/h)) / 2 }
		sin, cos := math.Sincos(angle)
		r = rand.New(rand.NewPCG(k, 1))
		f := grid.Fill(len(mesh.Points), func(i int) float64 {
			p := mesh.Points[i]
			return height*side(cos*p.X+sin*p.Y, ends[0], ends[1])*side(cos*p.Y-sin*p.X, ends[2], ends[3]) + noise*r.NormFloat64()
		})
		w := quad.NewWeights(mesh, nil)
		return w.Integrate(f) - height*(ends[1]-ends[0])*(ends[3]-ends[2]), measure.NewScatter(mesh, f).Sampling(w, 1).Standard
	}
	lattice := plane(t, waketest.Lattice(waketest.Uniform(waketest.State{U: 1}), -0.8, 0.8, -0.8, 0.8, 33, 33), grid.Nodes).Mesh
	scattered := func(seed uint64) *grid.Mesh {
		tri, err := delaunay.Triangulate(gridtest.JitteredPoints(33, 33, window, 0.4, seed))
		if err != nil {
			t.Fatal(err)
		}
		return &grid.Mesh{Kind: grid.KindTriangles, Points: tri.Points, Triangles: tri.Triangles}
	}
	for _, c := range []struct {
		name                        string
		mesh                        func(seed uint64) *grid.Mesh
		thick, angle, height, noise float64
		least, most                 float64
	}{
		{"noise on a lattice", func(uint64) *grid.Mesh { return lattice }, 0.6, 0, 0, noise, 0.8, 1.25},
		{"noise on scattered samples", scattered, 0.6, 0, 0, noise, 0.8, 1.25},
		{"a side along the lines", func(uint64) *grid.Mesh { return lattice }, 0.6, 0, 1, noise, 0.8, 1.25},
		{"a thin side along the lines", func(uint64) *grid.Mesh { return lattice }, 0.35, 0, 1, 0, 1, 2},
		{"a side across scattered samples", scattered, 0.6, 0.4, 1, 0, 1, 2},
	} {
		var off2, standard float64
		for k := range uint64(draws) {
			off, u := at(c.mesh(k), c.thick, c.angle, c.height, c.noise, k)
			off2, standard = off2+off*off/draws, standard+u/draws
		}
		if ratio := standard / math.Sqrt(off2); !(ratio >= c.least && ratio <= c.most) {
			t.Errorf("%s: the item is %.2f of the scatter of the integral", c.name, ratio)
		}
	}
}
