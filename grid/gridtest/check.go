package gridtest

import (
	"math"
	"testing"
)

// Near fails the test where got is not within tol of want, or is not a number.
func Near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %.1g (off by %.3g)", what, got, want, tol, got-want)
	}
}
