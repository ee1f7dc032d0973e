package wake_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
)

// TestCrossRefused: samples on two crossing lines, at any angle, tell nothing of what lies
// between the arms, and those on a curve cover no area; samples that are spread, graded or in
// clusters do.
func TestCrossRefused(t *testing.T) {
	planes := func(points []grid.Point) error {
		s := &wake.Samples{File: "plane.csv", N: len(points)}
		for q := wake.X; q <= wake.U; q++ {
			s.Col[q] = make([]float64, len(points))
		}
		for i, p := range points {
			s.Col[wake.Y][i], s.Col[wake.Z][i] = p.X, p.Y
		}
		_, err := wake.Planes(s, wake.PlaneOptions{})
		return err
	}
	for _, n := range []int{80, 400, 4000} {
		var cross []grid.Point
		for i := range n {
			at := 2*(float64(i)+0.5)/float64(n) - 1
			// Off the line by a little, as a traverse is.
			cross = append(cross, grid.Point{X: at, Y: 1e-5 * math.Sin(float64(i))}, grid.Point{X: 1e-5 * math.Cos(float64(i)), Y: at})
		}
		for _, degrees := range []float64{0, 30, 45} {
			var in *wake.InputError
			if err := planes(gridtest.Rotated(cross, degrees)); !errors.As(err, &in) || !strings.Contains(in.Text, "samples") {
				t.Errorf("a cross of %d samples turned by %g degrees: %v", 2*n, degrees, err)
			}
		}
	}
	for name, at := range map[string]func(u float64) grid.Point{
		"parabola": func(u float64) grid.Point { return grid.Point{X: u, Y: u * u} },
		"circle":   func(u float64) grid.Point { return grid.Point{X: math.Cos(math.Pi * u), Y: math.Sin(math.Pi * u)} },
	} {
		var curve []grid.Point
		for i := range 3000 {
			curve = append(curve, at(2*float64(i)/3000-1))
		}
		if err := planes(curve); err == nil || !strings.Contains(err.Error(), "bridge gaps") {
			t.Errorf("%s: %v", name, err)
		}
	}
	box := gridtest.PlaneBox
	for name, points := range map[string][]grid.Point{
		"scattered": gridtest.JitteredPoints(30, 20, box, 0.45, 1), "clusters": gridtest.ClusteredPoints(2000, box, 2),
		"graded": gridtest.GradedPoints(40, 30, box, 5, 0.2, 3), "octree": gridtest.SurveyPoints("octree", 2000, 4),
		"stretched": gridtest.JitteredPoints(60, 15, box, 0.3, 5),
	} {
		if err := planes(points); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
