package average

import (
	"math"
	"slices"
	"testing"
)

// TestRunning: 1, 2, 3 … has the running mean (k+1)/2 exactly, and large values that
// cancel leave the small ones whole.
func TestRunning(t *testing.T) {
	v := Series{values: []float64{1, 2, 3, 4, 5}}
	if got := v.Running(); !slices.Equal(got, []float64{1, 1.5, 2, 2.5, 3}) {
		t.Errorf("running mean %v", got)
	}
	v = Series{values: []float64{1, 1e100, 1, -1e100}}
	if got := v.Running(); got[3] != 0.5 {
		t.Errorf("running mean %v, its end is 0.5", got)
	}
	if got := (&Series{}).Running(); len(got) != 0 {
		t.Errorf("running mean of nothing: %v", got)
	}
	v = Series{values: []float64{1}}
	v.Values()[0] = math.NaN()
	if v.values[0] != 1 {
		t.Error("Values hands out the series itself")
	}
}
