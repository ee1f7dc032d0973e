package measure_test

import (
	"fmt"
	"math"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// BenchmarkStages times meshing and measuring apart, on a lattice and on
// scattered points: where a run's time goes after reading.
func BenchmarkStages(b *testing.B) {
	f := waketest.Gaussian(0.5, 0.2, 0.1, 0.1)
	for _, n := range []float64{1e4, 1e6} {
		side := int(math.Sqrt(n))
		for _, k := range []struct {
			name string
			s    *wake.Samples
		}{
			{"lattice", waketest.Lattice(f, -1, 1, -1, 1, side, side)},
			{"scatter", waketest.Scatter(f, -1, 1, -1, 1, side, side, 1)},
		} {
			b.Run(fmt.Sprintf("mesh/%s/n=%.0e", k.name, n), func(b *testing.B) {
				for b.Loop() {
					if _, err := wake.Planes(k.s, wake.PlaneOptions{}); err != nil {
						b.Fatal(err)
					}
				}
			})
			p := waketest.Plane(b, k.s, wake.PlaneOptions{})
			b.Run(fmt.Sprintf("measure/%s/n=%.0e", k.name, n), func(b *testing.B) {
				for b.Loop() {
					if _, err := measure.Take(p, measure.Options{Reference: waketest.Reference()}); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(len(p.Mesh.Points))*float64(b.N)/b.Elapsed().Seconds(), "samples/s")
			})
		}
	}
}
