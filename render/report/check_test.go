package report

import (
	"math"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// The ranges of an oblique plane's positions are those of its samples along the
// axes of the frame: y from −1 to 1, x half of it, z from 0 to 1.
func TestCheckOblique(t *testing.T) {
	s := waketest.Scatter(waketest.Uniform(waketest.State{U: 1}), -1, 1, 0, 1, 21, 11, 5)
	for i := range s.N {
		s.Col[wake.X][i] = 0.5 * s.Col[wake.Y][i]
	}
	for q := wake.X; q <= wake.Z; q++ {
		s.Source[q].Name = q.String()
	}
	planes, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil || planes[0].Normal != wake.Oblique {
		t.Fatal(err, planes)
	}
	want := [3][2]float64{{-0.5, 0.5}, {-1, 1}, {0, 1}}
	for q, r := range newCheckPlane(planes[0]).Columns {
		if w := want[q]; math.Abs(r.Least-w[0]) > 1e-9 || math.Abs(r.Greatest-w[1]) > 1e-9 {
			t.Errorf("%s from %g to %g, want %v", r.Quantity, r.Least, r.Greatest, w)
		}
	}
}
