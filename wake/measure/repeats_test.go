package measure_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake/measure"
)

// Mirror images scatter by the root mean square of both, with the degrees of freedom of
// one; a box without an image, and the whole plane, keep their own.
func TestPoolMirrored(t *testing.T) {
	box := func(y0, y1 float64) measure.Box {
		return measure.Box{Box: grid.Box{Min: grid.Point{X: y0, Y: 0}, Max: grid.Point{X: y1, Y: 1}}}
	}
	l := measure.Layout{Thresholds: 1, Regions: 3}
	boxes := []measure.Box{box(0.66, 1.8), box(-0.4, 0.3), box(-1.8, -0.66)}
	at := func(v float64) measure.Vector {
		out := make(measure.Vector, l.Method(measure.ByJones)+1)
		for i := range out {
			out[i] = 1 + v
		}
		out[l.Drag(2)] = 1 + 30*v
		return out
	}
	sd, dof := measure.Pool(l, boxes, [][]measure.Vector{{at(0), at(0.02)}})
	one := 0.02 / math.Sqrt2
	for name, c := range map[string][2]float64{
		"whole": {sd[l.Drag(measure.Whole)], one}, "right": {sd[l.Drag(0)], one * math.Sqrt((1+900.)/2)}, "left": {sd[l.Drag(2)], one * math.Sqrt((1+900.)/2)},
		"middle": {sd[l.Drag(1)], one}, "area": {sd[l.Area(2, 0)], one}, "freedom": {dof[l.Drag(0)], 1},
	} {
		near(t, name, c[0], c[1], 1e-12)
	}
}
