package wake_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// TestRows: the rows of a traverse, far apart and with a little scatter about their
// lines, are joined, whichever way they run; a body between them stays open.
func TestRows(t *testing.T) {
	f := waketest.Gaussian(0.5, 0.2, 0, 0)
	for _, rows := range []int{9, 21} {
		for _, along := range []int{101, 401} {
			for _, noise := range []float64{1e-5, 0.001, 0.005} {
				for _, upright := range []bool{false, true} {
					rng := rand.New(rand.NewPCG(uint64(rows), uint64(along)))
					var y, z []float64
					for k := range rows * along {
						a, b := -1+2*float64(k%along)/float64(along-1)+noise*rng.NormFloat64(), -1+2*float64(k/along)/float64(rows-1)+noise*rng.NormFloat64()
						if upright {
							a, b = b, a
						}
						y, z = append(y, a), append(z, b)
					}
					for _, body := range []float64{0, 0.6} {
						s := left(waketest.Samples(f, y, z), func(y, z float64) bool { return math.Hypot(y, z) < body })
						p := waketest.Plane(t, s, wake.PlaneOptions{})
						// A body opens up to a spacing of the rows further on either side.
						name := fmt.Sprintf("%d × %d, scatter %g, upright %v, body of %g", along, rows, noise, upright, body)
						m, reach := p.Mesh, 2/float64(rows-1)
						hole := 4 - quad.NewWeights(m, nil).Area() - 8*noise*3
						if most := math.Pi * math.Pow(body+reach, 2); body == 0 && hole > 0.02 || hole > most || body > 0 && hole < math.Pi*body*body/2 {
							t.Errorf("%s: %.3g m2 are open", name, hole)
						}
						if got := m.CutsBody(); got != (body > 0) {
							t.Errorf("%s: cuts a body: %v", name, got)
						}
						if err := gridtest.Validate(m); err != nil {
							t.Errorf("%s: %v", name, err)
						}
					}
				}
			}
		}
	}
}

func left(s *wake.Samples, drop func(y, z float64) bool) *wake.Samples {
	out := &wake.Samples{File: s.File}
	for i := range s.N {
		if drop(s.Col[wake.Y][i], s.Col[wake.Z][i]) {
			continue
		}
		for q, c := range s.Col {
			if c != nil {
				out.Col[q] = append(out.Col[q], c[i])
			}
		}
		out.N++
	}
	return out
}
