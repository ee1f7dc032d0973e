package wake_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// TestStrays: samples with a slipped coordinate that lie far from all others, or on a line
// of a lattice of their own, are left out and named; the window and the mesh are those of
// the others.
func TestStrays(t *testing.T) {
	f := waketest.Gaussian(0.5, 0.2, 0, 0)
	for _, to := range [][]float64{{1.3}, {3}, {30}, {-7}, {0.773}, {0.981}, {5, 5.01}} {
		for seed := range uint64(5) {
			for kind, s := range map[string]*wake.Samples{
				"lattice": waketest.Lattice(f, -1, 1, -1, 1, 41, 41), "scatter": waketest.Scatter(f, -1, 1, -1, 1, 41, 41, seed),
			} {
				if kind == "scatter" && math.Abs(to[0]) < 1 {
					continue // a place like any other
				}
				rng := rand.New(rand.NewPCG(seed, 21))
				i := 41*(5+rng.IntN(30)) + 5 + rng.IntN(30)
				for k, y := range to {
					s.Col[wake.Y][i+41*k] = y
				}
				s.LineOf = func(i int) int { return i + 2 }
				p, err := wake.Planes(s, wake.PlaneOptions{})
				if err != nil {
					t.Fatalf("%s, seed %d, %g: %v", kind, seed, to, err)
				}
				w := slices.IndexFunc(p[0].Warnings, func(w wake.Warning) bool { return w.Code == "stray-samples" })
				if w < 0 || !strings.Contains(p[0].Warnings[w].Text, "line ") || p[0].Dropped != len(to) {
					t.Errorf("%s, seed %d, %g: %d left out, %v", kind, seed, to, p[0].Dropped, p[0].Warnings)
				}
				m := p[0].Mesh
				if got, h := quad.NewWeights(m, nil).Area(), 0.05; m.Kind.String() == "lattice" != (kind == "lattice") || math.Abs(got-4) > 6.1*h*h || math.Abs(m.Window().Width()-2) > 1e-9 {
					t.Errorf("%s, seed %d, %g: %s over %.5g m2 in a window %.4g m wide", kind, seed, to, m.Kind, got, m.Window().Width())
				}
				if len(p[0].Field[wake.U]) != len(m.Points) {
					t.Errorf("%s: %d values for %d samples", kind, len(p[0].Field[wake.U]), len(m.Points))
				}
			}
		}
	}
	// Many are no slips.
	s := waketest.Scatter(f, -1, 1, -1, 1, 21, 21, 1)
	for k := range 6 {
		s.Col[wake.Y][21*(3*k+2)+10] = 4 * float64(1-k%2*2) * math.Pow(3.5, float64(k/2))
	}
	if _, err := wake.Planes(s, wake.PlaneOptions{}); err == nil || !strings.Contains(err.Error(), "far from all others") {
		t.Errorf("six strays of 441: %v", err)
	}
}
