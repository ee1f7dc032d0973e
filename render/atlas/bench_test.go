package atlas_test

import (
	"testing"

	"wakeledger/render/atlas"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// BenchmarkPlane draws one map and four maps of a million samples: a further
// quantity should cost little beside the first.
func BenchmarkPlane(b *testing.B) {
	f := waketest.Gaussian(0.5, 0.2, 0.1, 0.1)
	for _, k := range []struct {
		name string
		s    *wake.Samples
	}{
		{"lattice", waketest.Lattice(f, -1, 1, -1, 1, 1000, 1000)},
		{"scatter", waketest.Scatter(f, -1, 1, -1, 1, 1000, 1000, 1)},
	} {
		m, err := measure.Take(waketest.Plane(b, k.s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference()})
		if err != nil {
			b.Fatal(err)
		}
		for name, qs := range map[string][]string{"maps=1": measure.DefaultMaps[:1], "maps=4": measure.DefaultMaps} {
			b.Run(k.name+"/"+name, func(b *testing.B) {
				for b.Loop() {
					if _, err := atlas.Plane(b.Context(), m, "plane", atlas.Options{Quantities: qs}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
