package predicate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The pairs of float64 decide like the expansions: on whole numbers near and on a
// common circle, on decimal lattices, with any scale, and on all corners of
// rectangles.
func TestInCircleDouble(t *testing.T) {
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, 1))
	decided, rectangles, zeros := 0, 0, 0
	for i := range 90000 {
		var v [6]float64
		switch i % 4 {
		case 0: // small whole numbers: often exactly on a circle
			for k := range v {
				v[k] = float64(rng.IntN(21) - 10)
			}
		case 1: // a circle through the origin, rounded to a fine grid
			r := math.Ldexp(1, rng.IntN(40))
			for k := range 3 {
				s, c := math.Sincos(2 * math.Pi * rng.Float64())
				v[2*k], v[2*k+1] = math.Round((r+r*c)*64)/64, math.Round(r*s*64)/64
			}
		case 2: // a rectangle, its corners in any order
			w, h := rng.NormFloat64(), rng.NormFloat64()
			p := [3][2]float64{{w, 0}, {w, h}, {0, h}}
			rng.Shuffle(3, func(a, b int) { p[a], p[b] = p[b], p[a] })
			v = [6]float64{p[0][0], p[0][1], p[1][0], p[1][1], p[2][0], p[2][1]}
		default: // the same, off by a last digit
			w, h := rng.NormFloat64(), rng.NormFloat64()
			v = [6]float64{w, 0, w, math.Nextafter(h, 9), 0, h}
		}
		if i%3 == 0 {
			for k := range v {
				v[k] = math.Ldexp(v[k], 90)
			}
		}
		want := inCircleExpanded(v[0], v[1], v[2], v[3], v[4], v[5])
		if got := inCircleDiffs(v[0], v[1], v[2], v[3], v[4], v[5]); got != want {
			t.Fatalf("seed %d: in-circle of %v is %d, expansions say %d", seed, v, got, want)
		}
		if want == 0 {
			zeros++
		}
		if rectangle(v[0], v[1], v[2], v[3], v[4], v[5]) {
			rectangles++
		} else if det, size := inCircleDouble(v[0], v[1], v[2], v[3], v[4], v[5]); math.Abs(det) > inCircleBound*size {
			decided++
		}
	}
	if decided < 30000 || rectangles < 21000 || zeros < 22000 {
		t.Errorf("%d decided by pairs, %d rectangles, %d zeros: the cases test nothing", decided, rectangles, zeros)
	}
}
