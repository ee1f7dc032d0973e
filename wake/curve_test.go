package wake_test

import (
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
)

// Samples on a curve cover no area: what few triangles bridge no gap are no
// plane.
func TestSamplesOnCurve(t *testing.T) {
	const n = 3000
	for name, at := range map[string]func(u float64) grid.Point{
		"parabola": func(u float64) grid.Point { return grid.Point{X: u, Y: u * u} },
		"circle":   func(u float64) grid.Point { return grid.Point{X: math.Cos(math.Pi * u), Y: math.Sin(math.Pi * u)} },
	} {
		s := &wake.Samples{N: n}
		for q := range wake.NumQuantities {
			if q <= wake.U {
				s.Col[q] = make([]float64, n)
			}
		}
		for i := range n {
			p := at(2*float64(i)/n - 1)
			s.Col[wake.Y][i], s.Col[wake.Z][i], s.Col[wake.U][i] = p.X, p.Y, 1+0.1*p.X
		}
		_, err := wake.Planes(s, wake.PlaneOptions{})
		if want := "bridge gaps"; err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
}
