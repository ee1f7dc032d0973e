package delaunay

import (
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// TestSorted: sorted samples are the given ones in another order, which depends on
// the positions alone.
func TestSorted(t *testing.T) {
	for name, p := range nasty() {
		sorted, err := Triangulate(p)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(p) - sorted.Duplicates; len(sorted.Points) != n || len(sorted.Order) != n {
			t.Fatalf("%s: %d points and %d places in order, want %d", name, len(sorted.Points), len(sorted.Order), n)
		}
		for i, k := range sorted.Order {
			if sorted.Points[i] != p[k] {
				t.Fatalf("%s: point %d is %v, its sample %d is at %v", name, i, sorted.Points[i], k, p[k])
			}
		}
		other, err := Triangulate(gridtest.Shuffled(p, 5))
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(other.Points, sorted.Points) || !slices.Equal(other.Triangles, sorted.Triangles) {
			t.Errorf("%s: another order of the samples gives other sorted points", name)
		}
	}
}

// TestSortedNear: on a scattered plane the corners of a triangle stand near each
// other in the list, which is what sorting is for. In a list in no order two samples
// are a third of its length apart on average.
func TestSortedNear(t *testing.T) {
	p := gridtest.Shuffled(gridtest.JitteredPoints(100, 100, grid.Box{Max: pt(1, 1)}, 0.4, 2), 3)
	tr, err := Triangulate(p)
	if err != nil {
		t.Fatal(err)
	}
	near := 0
	for k := range tr.Triangles {
		if d := int(tr.Triangles[k]) - int(tr.Triangles[following(k)]); -64 < d && d < 64 {
			near++
		}
	}
	if part := float64(near) / float64(len(tr.Triangles)); part < 0.8 {
		t.Errorf("%.2f of the edges join samples within 64 places of the list, want 0.8", part)
	}
}
