package delaunay

import (
	"math"
	"testing"
	"time"

	"wakeledger/grid"
)

// Samples on a curve make triangles that flow along all of it. Walking each flow to its
// end took 10 s for 10,000 samples of a parabola and four times that for twice as many;
// walked once, they take milliseconds.
func TestCurves(t *testing.T) {
	const n = 15_000
	for name, at := range map[string]func(u float64) grid.Point{
		"parabola": func(u float64) grid.Point { return grid.Point{X: u, Y: u * u} },
		"sine":     func(u float64) grid.Point { return grid.Point{X: u, Y: 0.1 * math.Sin(10*u)} },
		"spiral":   func(u float64) grid.Point { return grid.Point{X: (u + 2) * math.Cos(9*u), Y: (u + 2) * math.Sin(9*u)} },
		"circle":   func(u float64) grid.Point { return grid.Point{X: math.Cos(math.Pi * u), Y: math.Sin(math.Pi * u)} },
		"cross": func(u float64) grid.Point {
			if u < 0 {
				return grid.Point{X: 4*u + 2.1, Y: 0.3 * u}
			}
			return grid.Point{X: 0.0003 * u, Y: 4*u - 2.1}
		},
	} {
		points := make([]grid.Point, n)
		for i := range points {
			points[i] = at(2*float64(i)/n - 1)
		}
		start := time.Now()
		tr, err := Triangulate(points)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		DropBridges(tr, 0)
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%s: %d samples took %v", name, n, took)
		} else {
			t.Log(name, took)
		}
	}
}
