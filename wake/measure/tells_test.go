package measure

import (
	"fmt"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// TestTellsScatter: on the fewest samples that scatter is told by, the shape of a wake
// without any is not taken for it at the default thresholds; with a quarter fewer it
// would be.
func TestTellsScatter(t *testing.T) {
	taken := func(n int, width float64) bool {
		s := waketest.Lattice(waketest.Gaussian(0.5, width, 0.5, 0.5), 0, 1, 0, 1, n, n)
		s1, err := newStation(waketest.Plane(t, s, wake.PlaneOptions{}), Options{Reference: waketest.Reference()}, shared{})
		if err != nil {
			t.Fatal(err)
		}
		m := &measuring{Measurement: &Measurement{Result: &Result{Wake: s1.numbers().wake}, station: s1}}
		// As often as it takes to have enough of them: the median stays.
		r := m.weightScatter().residual
		all := append([]float64(nil), r...)
		for len(all) < tellsScatter {
			all = append(all, r...)
		}
		m.thresholdsInScatter(all)
		return m.Result.Wake.Areas[0].InScatter
	}
	would := 0
	for _, part := range []float64{4, 5, 6, 7, 8} {
		t.Run(fmt.Sprintf("1 in %g", part), func(t *testing.T) {
			if taken(14, 1/part) {
				t.Error("the shape of a wake is taken for scatter")
			}
		})
		if taken(12, 1/part) {
			would++
		}
	}
	if would == 0 {
		t.Error("fewer samples would do")
	}
}
