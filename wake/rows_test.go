package wake_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
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

// TestNoRows: samples that lie as far apart one way as the other are joined as they are.
func TestNoRows(t *testing.T) {
	box := grid.Box{Max: grid.Point{X: 1, Y: 1}}
	level := func(p grid.Point) int {
		if math.Hypot(p.X-0.41, p.Y-0.37) < 0.22 {
			return 3
		}
		return 0
	}
	sets := map[string][]grid.Point{
		"octree centres": gridtest.OctreeCentres(30, 30, box, 3, level),
		"octree nodes":   gridtest.OctreeNodes(30, 30, box, 3, level),
		"near lattice":   gridtest.Noisy(gridtest.LatticePoints(40, 40, box), 1e-4, 1),
		"few":            gridtest.JitteredPoints(3, 3, box, 0.3, 1),
	}
	for seed := range uint64(20) {
		sets[fmt.Sprintf("jittered %d", seed)] = gridtest.JitteredPoints(40, 40, box, 0.45, seed)
		rng := rand.New(rand.NewPCG(seed, 3))
		p := make([]grid.Point, 5+rng.IntN(500))
		for i := range p {
			p[i] = grid.Point{X: rng.Float64(), Y: rng.Float64()}
		}
		sets[fmt.Sprintf("random %d", seed)] = p
	}
	for name, p := range sets {
		if s := wake.RowScale(p); s != 1 {
			t.Errorf("%s: stretched by %g", name, s)
		}
	}
}
