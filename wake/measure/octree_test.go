package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// erfSquare is 1 in a square of side 0.6, whose sides are error functions of a standard deviation, turned.
func erfSquare(thick, angle float64) func(y, z float64) float64 {
	sin, cos := math.Sincos(angle)
	side := func(x float64) float64 {
		return (math.Erf((x+0.3)/thick/math.Sqrt2) - math.Erf((x-0.3)/thick/math.Sqrt2)) / 2
	}
	return func(y, z float64) float64 { return side(cos*y+sin*z) * side(cos*z-sin*y) }
}

// TestAreasInAnOctree: an octree that is finer only far from the wake has the samples of a lattice at the wake; the
// uncertainty of its areas is close to the lattice's.
func TestAreasInAnOctree(t *testing.T) {
	const trials, noise, least, most = 20, 0.006, 0.8, 2
	thresholds := []float64{0.1, 0.3, 0.5}
	for _, angle := range []float64{0, 0.1, 0.35} {
		for _, thick := range []float64{0.03, 0.015} {
			square := erfSquare(thick, angle)
			var u [2][3]float64
			for kind, finer := range []bool{false, true} {
				surveys(t, trials, func(k int) (*wake.Plane, measure.Options) {
					r := rand.New(rand.NewPCG(7, uint64(k)))
					h := 1.28 / (30 + 20*r.Float64())
					y0, z0 := h*r.Float64(), h*r.Float64()
					n := int(1.6/h) + 1
					end := h*float64(n) - 0.8
					points := gridtest.OctreeNodes(n, n, grid.Box{Min: grid.Point{X: -0.8, Y: -0.8}, Max: grid.Point{X: end, Y: end}}, 1, func(q grid.Point) int {
						if finer && (q.X < -0.62 || q.Y < -0.62) {
							return 1
						}
						return 0
					})
					var y, z []float64
					for _, q := range points {
						y, z = append(y, q.X), append(z, q.Y)
					}
					s := waketest.Samples(func(y, z float64) waketest.State {
						return waketest.State{U: 1 - 0.4*square(y-y0, z-z0) + noise*r.NormFloat64()}
					}, y, z)
					return waketest.Plane(t, s, wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"}),
						measure.Options{Reference: waketest.Reference(), Thresholds: thresholds, Section: noWakeOnly}
				}, func(res *measure.Result) {
					for i := range thresholds {
						u[kind][i] += res.Uncertainty.Areas[i].Standard / trials
					}
				})
			}
			for i, x := range thresholds {
				if ratio := u[1][i] / u[0][i]; !(ratio > least && ratio < most) {
					t.Errorf("turned by %g, sides of %g m, threshold %g: the uncertainty is %.2f of that on a lattice", angle, thick, x, ratio)
				}
			}
		}
	}
}

// TestCurvatureAlongAnOctree: with sides along the lines of an octree, the stated uncertainty covers the error that
// the curvature between samples leaves in the integral.
func TestCurvatureAlongAnOctree(t *testing.T) {
	const draws = 200
	half := grid.Box{Min: grid.Point{X: 0.03, Y: -0.55}, Max: grid.Point{X: 0.62, Y: 0.5}}
	const thick = 0.03
	square := erfSquare(thick, 0)
	// The local drag 2u(1−u) of u = 1 − 0.4 of the square, and its integral: that of a side squared is thick/√π less.
	local := func(d float64) float64 { return 0.8*d - 0.32*d*d }
	truth := 0.8*0.27*0.6 - 0.32*(0.27-thick/math.Sqrt(math.Pi))*(0.6-2*thick/math.Sqrt(math.Pi))
	within := 0
	for k := range uint64(draws) {
		r := rand.New(rand.NewPCG(k, 11))
		root := 5.4 / (30 + 20*r.Float64())
		n := int(1.8/root) + 1
		from := grid.Point{X: -0.9 + root/3*(r.Float64()-0.5), Y: -0.9 + root/3*(r.Float64()-0.5)}
		points := gridtest.OctreeNodes(n, n, grid.Box{Min: from, Max: grid.Point{X: from.X + root*float64(n), Y: from.Y + root*float64(n)}}, 2, func(q grid.Point) int {
			switch d := square(q.X, q.Y); {
			case d > 0.075:
				return 2
			case d > 0.0025:
				return 1
			}
			return 0
		})
		tri, err := delaunay.Triangulate(points)
		if err != nil {
			t.Fatal(err)
		}
		mesh := &grid.Mesh{Kind: grid.KindTriangles, Points: tri.Points, Triangles: tri.Triangles}
		f := grid.Fill(len(mesh.Points), func(i int) float64 { return local(square(mesh.Points[i].X, mesh.Points[i].Y)) })
		w := quad.NewWeights(mesh, &half)
		items := measure.NewScatter(mesh, f).Straight(w, 1)
		off := w.Integrate(f) - truth - items[1].Lack
		if off <= 1.645*math.Hypot(items[0].Standard, items[1].About) {
			within++
		}
	}
	if within < draws*92/100 || within == draws {
		t.Errorf("in %d of %d draws the integral is off by no more than 1.645 standard uncertainties, want 92 %% and not all", within, draws)
	}
}
