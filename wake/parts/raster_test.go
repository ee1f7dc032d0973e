package parts

import (
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
)

// Clusters of samples far apart asked for a raster of terabytes.
func TestRasterBounded(t *testing.T) {
	for _, box := range []grid.Box{{Max: grid.Point{X: 1000, Y: 1000}}, {Max: grid.Point{X: 1e6, Y: 1}}} {
		if n := grid.NewRaster(box, 1e-3).Len(); n > grid.MostPlaces {
			t.Errorf("%v: %d places", box, n)
		}
	}
}

// Where the raster is coarser than the samples, the parts say so.
func TestCoarseRasterSaid(t *testing.T) {
	box := grid.Box{Max: grid.Point{X: 1, Y: 1}}
	points := gridtest.JitteredPoints(30, 30, box, 0.3, 1)
	far := gridtest.Moved(points, 3000, 3000)
	tri := func(points []grid.Point, first int32) (t []int32) {
		for j := range int32(29) {
			for i := range int32(29) {
				a := first + j*30 + i
				t = append(t, a, a+1, a+31, a, a+31, a+30)
			}
		}
		return t
	}
	m := &grid.Mesh{Kind: grid.KindTriangles, Points: append(points, far...), Triangles: append(tri(points, 0), tri(far, 900)...)}
	f := &Field{Name: "clusters", Mesh: m, Weight: make([]float64, 1800), Scale: 1}
	f.Weight[465], f.Weight[466] = 1, 1
	set := Find(f, Options{})
	if !slices.ContainsFunc(set.Warnings, func(w wake.Warning) bool { return w.Code == "coarse-raster" }) {
		t.Errorf("no warning: %v", set.Warnings)
	}
}
