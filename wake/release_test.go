package wake_test

import (
	"reflect"
	"slices"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// TestRelease: samples that are given up make the same plane, and hold nothing then.
func TestRelease(t *testing.T) {
	f := waketest.Gaussian(0.5, 0.2, 0.1, 0.1)
	for name, make := range map[string]func() *wake.Samples{
		"lattice":   func() *wake.Samples { return waketest.Lattice(f, -1, 1, -1, 1, 20, 20) },
		"scattered": func() *wake.Samples { return waketest.Scatter(f, -1, 1, -1, 1, 20, 20, 1) },
	} {
		kept, given := make(), make()
		want := waketest.Plane(t, kept, wake.PlaneOptions{})
		got := waketest.Plane(t, given, wake.PlaneOptions{Release: true})
		if !slices.Equal(got.Mesh.Points, want.Mesh.Points) || !reflect.DeepEqual(got.Field, want.Field) {
			t.Errorf("%s: another plane", name)
		}
		if !reflect.DeepEqual(kept.Col, make().Col) {
			t.Errorf("%s: samples that were to be kept have changed", name)
		}
		for q, col := range given.Col {
			if col != nil {
				t.Errorf("%s: %s is still held", name, wake.Quantity(q))
			}
		}
	}
}
