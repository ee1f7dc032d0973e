package average

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// record is the state of a series of u at one sample, and its integral time scale as the
// program finds it.
func record(x []float64) (*State, float64) {
	s := &State{head: header{Samples: 1, Snapshots: len(x), Quantities: []string{"u"}}}
	index := make([]int64, len(x))
	for i, v := range x {
		index[i] = int64(i + 1)
		s.blocks.add(index[i], [][]float64{{v}}, []wake.Quantity{wake.U})
	}
	scale, _ := newAutocovariance(index, [][]float64{x}, false).timeScale()
	return s, scale
}

// jackknife is the mean and its standard uncertainty from the blocks; dof is 0 where the
// record is too short.
func jackknife(s *State, x []float64, scale float64) (mean, u, dof float64) {
	b := s.leaveOut(x, scale)
	if b == nil {
		return 0, 0, 0
	}
	g := float64(len(b.Field))
	for _, f := range b.Field {
		mean += f[wake.U][0] / g
	}
	for _, f := range b.Field {
		u += (f[wake.U][0] - mean) * (f[wake.U][0] - mean)
	}
	return mean, math.Sqrt((g - 1) / g * u), g - 1
}

// twoStates switches between mean ± 1, each state lasting 1/p values on the mean, with
// noise of a fifth. Its correlation falls as (1−2p)^k.
func twoStates(r *rand.Rand, n int, p, mean float64) []float64 {
	x := make([]float64, n)
	state := 1.0
	if r.IntN(2) == 0 {
		state = -1
	}
	for i := range x {
		x[i] = mean + state + 0.2*r.NormFloat64()
		if r.Float64() < p {
			state = -state
		}
	}
	return x
}

// TestBlocksCover: the interval from leaving out blocks holds the true mean in 92 to 97
// of a hundred records that are 15 or more times as long as twice the integral time
// scale. At 10 times, the shortest that are judged, the time scale itself is a third off,
// and the records that are judged are those in which it looks short: of all records no
// more than 10 in a hundred may be judged and missed (two states then switch nine times in a record). Shorter ones are refused as a rule.
func TestBlocksCover(t *testing.T) {
	if testing.Short() {
		t.Skip("15,000 records take four seconds, many more under the race detector")
	}
	const seed, runs, mean = 20, 1500, 5.0
	const rho, p = 0.8, 0.1 // both have the time scale (1+0.8)/(1−0.8)/2 = 4.5
	const scale = 4.5
	for name, draw := range map[string]func(r *rand.Rand, n int) []float64{
		"AR(1)": func(r *rand.Rand, n int) []float64 {
			return ar1(r, n, rho)
		},
		"two states": func(r *rand.Rand, n int) []float64 { return twoStates(r, n, p, mean) },
	} {
		r := rand.New(rand.NewPCG(seed, uint64(len(name))))
		for _, lengths := range []float64{4, 10, 15, 30, 100} {
			n := int(lengths * 2 * scale)
			held, judged := 0, 0
			for range runs {
				x := draw(r, n)
				s, found := record(x)
				m, u, dof := jackknife(s, x, found)
				if dof == 0 {
					continue
				}
				judged++
				if math.Abs(m-mean) <= uncertainty.StudentFactor(0.95, dof)*u {
					held++
				}
			}
			share := 100 * float64(held) / float64(judged)
			t.Logf("%s, n/2Ti = %g: %d of %d judged, the interval holds the mean in %.1f %%", name, lengths, judged, runs, share)
			switch {
			case lengths < 10:
				if judged > runs/3 {
					t.Errorf("%d of %d records that are too short are judged", judged, runs)
				}
			case lengths < 15:
				if missed := 100 * float64(judged-held) / runs; missed > 10 {
					t.Errorf("seed %d: %s, n/2Ti = %g: %.1f %% of all are judged and missed", seed, name, lengths, missed)
				}
			case !(share >= 92 && share <= 97):
				t.Errorf("seed %d: %s, n/2Ti = %g: %.1f %%", seed, name, lengths, share)
			}
		}
	}
}
