package gridtest

import (
	"math"
	"slices"
	"testing"

	"wakeledger/grid"
)

// TestSurveyPoints holds the generators against what their names promise.
func TestSurveyPoints(t *testing.T) {
	for _, kind := range SurveyKinds {
		for _, n := range []int{1000, 20000} {
			p := SurveyPoints(kind, n, 1)
			if math.Abs(float64(len(p))/float64(n)-1) > 0.12 {
				t.Errorf("%s: %d points for %d", kind, len(p), n)
			}
			if !slices.Equal(p, SurveyPoints(kind, n, 1)) {
				t.Errorf("%s: two calls differ", kind)
			}
			seen := map[grid.Point]bool{}
			for _, q := range p {
				if !PlaneBox.Contains(q) || PlaneBody.Contains(q) || seen[q] {
					t.Fatalf("%s: point %v is outside, in the body or there twice", kind, q)
				}
				seen[q] = true
			}
		}
	}
}
