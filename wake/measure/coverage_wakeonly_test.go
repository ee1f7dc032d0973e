package measure_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"wakeledger/wake/measure"
)

// TestWakeOnlyCoverage: where the window does not close, since the pressure is off, the
// wake-only drag is quoted, and its interval holds the truth. The wake has p = p∞ and no
// cross-flow, so that u* = U and the wake integral is that of the momentum.
func TestWakeOnlyCoverage(t *testing.T) {
	const trials = 100
	drag, _, _, _, _ := truth()
	c := trial{white: 0.002, pressure: 0.004, scale: 0.002}
	var mu sync.Mutex
	var wg sync.WaitGroup
	held, quotedWake := 0, 0
	const workers = 4
	for w := range workers {
		wg.Go(func() {
			for k := w; k < trials; k += workers {
				p, opt := c.survey(rand.New(rand.NewPCG(400, uint64(k))), 0)
				opt.Section, opt.Regions, opt.Thresholds = [2]float64{}, nil, []float64{0.25}
				res, err := measure.Measure(p, opt)
				if err != nil {
					t.Error(err)
					return
				}
				mu.Lock()
				if res.Drag.Headline == "wake_only" {
					quotedWake++
					if math.Abs(res.Drag.WakeOnly.DragArea-drag) <= res.Uncertainty.DragArea.Expanded {
						held++
					}
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	share := 100 * float64(held) / float64(quotedWake)
	t.Logf("wake-only drag quoted in %d of %d surveys, held in %.1f %%", quotedWake, trials, share)
	if quotedWake < trials/2 {
		t.Fatalf("wake-only drag is quoted in %d of %d surveys", quotedWake, trials)
	}
	// Three standard errors of the share below 95.
	if least := 95 - 300*math.Sqrt(0.05*0.95/float64(quotedWake)); share < least || share > 99.5 {
		t.Errorf("the interval of the wake-only drag holds the truth in %.1f %% of %d surveys", share, quotedWake)
	}
}
