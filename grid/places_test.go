package grid

import "testing"

func TestRasterStep(t *testing.T) {
	for _, c := range []struct{ w, t, h float64 }{{1, 1, 1e-9}, {1, 1e-9, 1e-15}, {1e6, 1, 1e-6}, {3, 2, 0}, {4, 3, 0.01}} {
		s := RasterStep(Box{Max: Point{X: c.w, Y: c.t}}, c.h)
		places := (c.w/s + 2) * (c.t/s + 2)
		if !(places <= MostPlaces*(1+1e-9)) || s < c.h || s > c.h && places < 0.999*MostPlaces {
			t.Errorf("%g × %g at %g: step %g, %g places", c.w, c.t, c.h, s, places)
		}
	}
}
