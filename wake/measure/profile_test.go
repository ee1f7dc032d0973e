package measure_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// TestProfilesAddUp: strips are cut exactly, so their sum is the momentum integral
// over the plane, for any number of strips and any mesh (additivity of the
// integral).
func TestProfilesAddUp(t *testing.T) {
	f := waketest.Gaussian(0.4, 0.3, 0.2, 0.9)
	for _, tt := range []struct {
		name    string
		support grid.Support
		scatter bool
	}{{"nodes", grid.Nodes, false}, {"cells", grid.Cells, false}, {"scattered", grid.Nodes, true}} {
		s := waketest.Lattice(f, -2, 2, 0, 2, 41, 27)
		if tt.scatter {
			s = waketest.Scatter(f, -2, 2, 0, 2, 41, 27, 7)
		}
		m := mustTake(t, plane(t, s, tt.support), measure.Options{Reference: waketest.Reference()})
		want := m.Result.Drag.Momentum.DragArea
		for _, n := range []int{1, 7, 36} {
			p := m.Profiles(n)
			for _, q := range []measure.Profile{p.First, p.Second} {
				sum := 0.0
				for k, d := range q.Density {
					sum += d * (q.Edges[k+1] - q.Edges[k])
				}
				near(t, tt.name, sum, want, 1e-12*math.Abs(want)+1e-13)
			}
		}
		if m.Profiles(0) != nil {
			t.Error("no strips, but profiles")
		}
	}
}

// TestProfilesOfTopHat: a parallel wake of u = 0.6 over |y| < 0.5, |z| < 0.3
// has the local drag 2u(1−u) = 0.48 inside, so 0.48 × its breadth in each direction
// and nothing far from it (Betz's defect of a parallel stream at p∞).
func TestProfilesOfTopHat(t *testing.T) {
	f := topHat(0.6, 1, 0.6)
	m := mustTake(t, plane(t, waketest.Centres(f, -2, 2, -1, 1, 80, 80), grid.Cells), measure.Options{Reference: waketest.Reference()})
	p := m.Profiles(20)
	inside := 0
	for axis, q := range []measure.Profile{p.First, p.Second} {
		// Half the wake's breadth along the axis, and the drag per length of it.
		reach, want := []float64{0.5, 0.3}[axis], []float64{0.48 * 0.6, 0.48 * 1}[axis]
		for k, d := range q.Density {
			switch at := math.Abs(q.Edges[k]+q.Edges[k+1]) / 2; {
			case at < reach-0.1:
				inside++
				near(t, "inside", d, want, 1e-9)
			case at > reach+0.1:
				near(t, "outside", d, 0, 1e-12)
			}
		}
	}
	if inside < 6 {
		t.Errorf("%d strips are inside", inside)
	}
}
