package average

import (
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
)

// Where a wake sways in and out of a box the whole's drag changes fast and the box's slowly: the
// blocks of both are as long as the box asks for.
func TestSlowestBoxSetsBlocks(t *testing.T) {
	opt := options()
	a := mustNew(t, opt)
	r, sway := rand.New(rand.NewPCG(9, 7)), 0.0
	for k := 1; k <= 800; k++ {
		sway = 0.9*sway + r.NormFloat64()
		s := file(k, 6, 4)
		inside := 0
		for i := range s.N {
			if opt.Regions[0].Box.Contains(grid.Point{X: s.Col[wake.Y][i], Y: s.Col[wake.Z][i]}) {
				inside++
			}
		}
		for i := range s.N {
			if opt.Regions[0].Box.Contains(grid.Point{X: s.Col[wake.Y][i], Y: s.Col[wake.Z][i]}) {
				s.Col[wake.U][i] += sway
			} else {
				s.Col[wake.U][i] -= sway * float64(inside) / float64(s.N-inside)
			}
		}
		mustAdd(t, a, k, s)
	}
	got := mustResult(t, a.State())
	whole, box := &got.Series[0], &got.Series[1]
	if whole.Doubt != "" || box.Doubt != "" || !(box.Scale > 2*whole.Scale) {
		t.Fatalf("whole %q, T %g; box %q, T %g", whole.Doubt, whole.Scale, box.Doubt, box.Scale)
	}
	if got.Blocks != len(box.Blocks) || got.Blocks == len(whole.Blocks) {
		t.Errorf("%d blocks, the box asks for %d, the whole for %d", got.Blocks, len(box.Blocks), len(whole.Blocks))
	}
}
