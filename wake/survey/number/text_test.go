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

// Bytes that are no digits end a number wherever they stand among the eight that are taken at
// once, those beyond ASCII too.
func TestScanEnds(t *testing.T) {
	for at := range 9 {
		for c := range 256 {
			if c >= '0' && c <= '9' || c|0x20 == 'e' || c|0x20 == 'd' {
				continue
			}
			text := []byte("0.123456789012345")
			text[2+at] = byte(c)
			want, err := strconv.ParseFloat(string(text[:2+at]), 64)
			if v, n := Scan(text, '.'); err != nil || v != want || n != 2+at {
				t.Errorf("%q is %v of %d bytes, want %v of %d", text, v, n, want, 2+at)
			}
		}
	}
}
