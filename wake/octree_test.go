package wake_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// octreePlane is a plane of cell centres, four times finer within 0.45 of the middle, without
// those within r of a point.
func octreePlane(t *testing.T, at grid.Point, r float64) *grid.Mesh {
	t.Helper()
	box := grid.Box{Min: grid.Point{X: -1.5, Y: 0.6}, Max: grid.Point{X: 1.5, Y: 2.8}}
	pts := gridtest.OctreeCentres(20, 14, box, 2, func(p grid.Point) int {
		return max(0, 2-int(math.Hypot(p.X, p.Y-1.7)/0.45))
	})
	pts = gridtest.Without(pts, func(p grid.Point) bool { return math.Hypot(p.X-at.X, p.Y-at.Y) < r })
	s := &wake.Samples{N: len(pts)}
	for q := wake.X; q <= wake.U; q++ {
		s.Col[q] = make([]float64, len(pts))
	}
	for i, p := range pts {
		s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i] = 2, p.X, p.Y
	}
	return waketest.Plane(t, s, wake.PlaneOptions{}).Mesh
}

// TestHoleInOctree: the centres of cells of several sizes lie on many lines, which are no
// rows; a hole among them is found, and one that is a hole by its fine cells alone, beside
// coarse ones, is told.
func TestHoleInOctree(t *testing.T) {
	if m := octreePlane(t, grid.Point{}, 0); m.DroppedArea > 1e-9 || len(m.Wide) > 0 {
		t.Errorf("without a hole %g m2 are left open and %d triangles are wide", m.DroppedArea, len(m.Wide)/3)
	}
	if m := octreePlane(t, grid.Point{Y: 1.7}, 0.3); math.Abs(m.DroppedArea-math.Pi*0.09) > 0.06 {
		t.Errorf("of a hole of %.3f m2 %.3f m2 are left open", math.Pi*0.09, m.DroppedArea)
	}
	if m := octreePlane(t, grid.Point{X: 0.5, Y: 1.7}, 0.2); m.DroppedArea == 0 && len(m.Wide) == 0 {
		t.Error("a hole beside coarse cells is neither left open nor told")
	}
}
