package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// TestBare: measuring again gives each headline number to the last bit, with the
// geometry of the first measurement or with its own. A plane without the static
// pressure goes the way of a pitot survey.
func TestBare(t *testing.T) {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0.05, 0), -0.8, 0.8, -0.8, 0.8, 33, 33)
	r := rand.New(rand.NewPCG(1, 2))
	for i := range s.N {
		s.Col[wake.U][i] += 0.01 * r.NormFloat64()
		s.Col[wake.V][i] += 0.01 * r.NormFloat64()
	}
	planes := waketest.Plane(t, s, wake.PlaneOptions{})
	pitot := *planes
	pitot.Field[wake.Pt] = make([]float64, s.N)
	for i, u := range pitot.Field[wake.U] {
		pitot.Field[wake.Pt][i] = u * u / 2
	}
	pitot.Field[wake.P], pitot.Field[wake.V], pitot.Field[wake.W] = nil, nil, nil
	for _, c := range []struct {
		name string
		p    *wake.Plane
		had  int
	}{{"all", planes, 16}, {"pitot", &pitot, 13}} {
		opt := Options{
			Reference: waketest.Reference(), Anchor: "edge",
			Regions: []Box{{Name: "part", Box: grid.Box{Max: grid.Point{X: 0.5, Y: 0.5}}}},
		}
		first, err := Take(c.p, opt)
		if err != nil {
			t.Fatal(err)
		}
		had := 0
		for _, g := range []*geometry{nil, first.geometry} {
			again, err := first.Layout.again(c.p, opt, shared{geometry: g})
			if err != nil {
				t.Fatal(err)
			}
			had = 0
			for i, v := range again {
				if v != first.Values[i] && !(math.IsNaN(v) && math.IsNaN(first.Values[i])) {
					t.Errorf("%s: number %d is %.17g, %.17g the first time", c.name, i, v, first.Values[i])
				}
				if !math.IsNaN(v) {
					had++
				}
			}
		}
		if had != c.had {
			t.Errorf("%s: %d headline numbers, %d are expected", c.name, had, c.had)
		}
	}
}
