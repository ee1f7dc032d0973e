package average_test

import (
	"math"
	"path/filepath"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// shuttleRecord averages snapshots of the second computation of the shuttle.
func shuttleRecord(t *testing.T, names []string) *average.Result {
	t.Helper()
	return record(t, names, average.Options{
		Reference: &wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()},
		Plane:     wake.PlaneOptions{Support: grid.Cells, SupportBy: "flag"},
	})
}

// momentum is the drag area of the mean plane and the item of its time average; u is 0
// without one.
func momentum(t *testing.T, r *average.Result) (value, u float64) {
	t.Helper()
	m, err := measure.Take(waketest.Plane(t, r.Mean("mean"), wake.PlaneOptions{Support: grid.Cells, SupportBy: "flag"}), measure.Options{Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}})
	if err != nil {
		t.Fatal(err)
	}
	items := measure.InputItems(m.Layout.Method("momentum"), m)
	if k := slices.IndexFunc(items, func(it uncertainty.Item) bool { return it.Name == "time average" }); k >= 0 {
		u = items[k].Standard
	}
	return m.Result.Drag.Momentum.DragArea, u
}

// TestBlocksOfShuttle: the momentum integral is linear in the sums of u, u² and p, so
// leaving out blocks of the planes has to say the same of it as of its own series; and the means
// of independent thirds of the record scatter as it says.
func TestBlocksOfShuttle(t *testing.T) {
	if testing.Short() {
		t.Skip("reading 688 snapshots takes three seconds, many more under the race detector")
	}
	data := waketest.Shared(t, "shuttle2", "snapshots")
	var drag, u2 []float64
	for _, c := range []string{"bare", "fairing"} {
		names, err := filepath.Glob(filepath.Join(data, c+"_*.csv.gz"))
		if err != nil || len(names) != 172 {
			t.Fatalf("%d snapshots (%v), 172 are expected", len(names), err)
		}
		r := shuttleRecord(t, names)
		v, u := momentum(t, r)
		s := r.Series[0]
		if math.Abs(v-s.Mean) > 1e-6*v {
			t.Errorf("%s: the plane holds %.6f m², its series %.6f m²", c, v, s.Mean)
		}
		if r.Blocks < 8 || math.Abs(u / *s.Standard - 1) > 0.01 {
			t.Errorf("%s: %d blocks of planes say u = %.6f m², of the series %.6f m²", c, r.Blocks, u, *s.Standard)
		}
		var thirds []float64
		for k := range 3 {
			third, _ := momentum(t, shuttleRecord(t, names[k*len(names)/3:(k+1)*len(names)/3]))
			thirds = append(thirds, third)
		}
		// The scatter of three means has two degrees of freedom: χ² between 0.05 and 7.4.
		of := uncertainty.NewSample(thirds).Standard()
		if ratio := 2 * of * of / (u * u); !(0.05 < ratio && ratio < 7.4) {
			t.Errorf("%s: thirds %.4f m² say u = %.4f m², blocks %.4f m²", c, thirds, of, u)
		}
		t.Logf("%s: %.4f ± u %.4f m² by %d blocks; thirds %.4f, u %.4f m²", c, v, u, r.Blocks, thirds, of)
		drag, u2 = append(drag, v), append(u2, u*u)
	}
	t.Logf("fairing against bare, in the window of the snapshots: %+.4f, u = %.4f m²", drag[1]-drag[0], math.Sqrt(u2[0]+u2[1]))
}
