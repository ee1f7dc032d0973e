package grid_test

import (
	"slices"
	"testing"

	"wakeledger/grid"
)

// TestNodeArea: a sample of a triangle mesh represents a third of what is round it,
// so that the shares add up to the area of the mesh.
func TestNodeArea(t *testing.T) {
	m := &grid.Mesh{Kind: grid.KindTriangles,
		Points:    []grid.Point{{}, {X: 3}, {X: 3, Y: 2}, {Y: 2}, {X: 9, Y: 9}},
		Triangles: []int32{0, 1, 2, 0, 2, 3}}
	if got, want := m.NodeArea(), []float64{2, 1, 2, 1, 0}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}
