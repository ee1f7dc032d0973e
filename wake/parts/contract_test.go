package parts_test

import (
	"fmt"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/waketest"
)

// A survey without velocity has nothing to find structures in.
func TestNoWeight(t *testing.T) {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1, 1, -1, 1, 9, 9)
	s.Col[wake.U] = nil
	m, err := measure.Take(planes(t, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference()})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parts.NewField(m); err == nil || !strings.Contains(err.Error(), "--column") {
		t.Errorf("taken, or without a cure: %v", err)
	}
}

func BenchmarkFind(b *testing.B) {
	for _, n := range []int{100, 316} {
		s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0.7, 0), -2, 2, -2, 2, n, n)
		f := fieldOf(waketest.Plane(b, s, wake.PlaneOptions{Support: grid.Cells, SupportBy: "test"}), blob{0.5, 0.4, 0.4, 0.7, 0}, blob{0.5, 0.4, 0.4, -0.7, 0})
		b.Run(fmt.Sprintf("n=%.0e", float64(n*n)), func(b *testing.B) {
			for b.Loop() {
				if _, err := parts.Find(f, parts.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSurvey is what finding structures adds to measuring a large plane.
func BenchmarkSurvey(b *testing.B) {
	const n = 1_000_000
	state := func(y, z float64) waketest.State {
		s := waketest.Gaussian(0.5, 0.2, 0.7, 0)(y, z)
		s.V, s.W = 0.1*z, -0.1*y
		return s
	}
	for name, s := range map[string]*wake.Samples{
		"lattice": waketest.Lattice(state, -2, 2, -2, 2, 1000, 1000),
		"scatter": waketest.Scatter(state, -2, 2, -2, 2, 1000, 1000, 3),
	} {
		m, err := measure.Take(waketest.Plane(b, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference()})
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("%s/n=%.0e", name, float64(n)), func(b *testing.B) {
			for b.Loop() {
				if _, _, err := parts.Survey(m, parts.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
