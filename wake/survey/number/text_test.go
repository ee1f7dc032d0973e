package number

import (
	"math/rand/v2"
	"strconv"
	"testing"
)

// scaleWide against strconv over its whole range, with mantissas of all 64 bits,
// so that many quotients and products come near to halfway between two float64.
func TestScaleWide(t *testing.T) {
	const seed = 5
	r := rand.New(rand.NewPCG(seed, seed))
	for range 400000 {
		m := max(r.Uint64()>>r.IntN(12), 1)
		exp := r.IntN(55) - 27
		want, err := strconv.ParseFloat(strconv.FormatUint(m, 10)+"e"+strconv.Itoa(exp), 64)
		if err != nil {
			t.Fatal(err)
		}
		if got := scaleWide(m, exp); got != want {
			t.Fatalf("seed %d: %de%d is %v, want %v", seed, m, exp, got, want)
		}
	}
}
