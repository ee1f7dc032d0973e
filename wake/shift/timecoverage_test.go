package shift_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/parts"
	"wakeledger/wake/waketest"
)

// shared makes random fields of unit variance at points with the correlation
// exp(−r²/2L²), by the kernel exp(−r²/L²) as far as 3L over white noise on a finer lattice:
// the kernel's own correlation is that.
type shared struct {
	weight [][]float64
	of     [][]int
	points int
}

func newShared(points []grid.Point, L float64) *shared {
	box := grid.Bounds(points)
	step := L / 2
	s := &shared{}
	var at []grid.Point
	for y := box.Min.Y - 3*L; y <= box.Max.Y+3*L; y += step {
		for x := box.Min.X - 3*L; x <= box.Max.X+3*L; x += step {
			at = append(at, grid.Point{X: x, Y: y})
		}
	}
	s.points = len(at)
	for _, p := range points {
		var w []float64
		var of []int
		sum := 0.0
		for k, q := range at {
			if d2 := ((p.X-q.X)*(p.X-q.X) + (p.Y-q.Y)*(p.Y-q.Y)) / (L * L); d2 < 9 {
				w, of = append(w, math.Exp(-d2)), append(of, k)
				sum += w[len(w)-1] * w[len(w)-1]
			}
		}
		for k := range w {
			w[k] /= math.Sqrt(sum)
		}
		s.weight, s.of = append(s.weight, w), append(s.of, of)
	}
	return s
}

func (s *shared) draw(r *rand.Rand) []float64 {
	white := make([]float64, s.points)
	for k := range white {
		white[k] = r.NormFloat64()
	}
	out := make([]float64, len(s.weight))
	for i, w := range s.weight {
		for k, v := range w {
			out[i] += v * white[s.of[i][k]]
		}
	}
	return out
}

// timeDraws draws what a field's weight can be off by where <u'u'>/(N U²) is s² everywhere,
// with the correlation of s, as DrawTime does from blocks.
func (s *shared) timeDraws(r *rand.Rand, sd float64) [][]float32 {
	out := make([][]float32, 24)
	for d := range out {
		for _, e := range s.draw(r) {
			out[d] = append(out[d], float32(-sd*e))
		}
	}
	return out
}

// Mean velocities that are off by errors as of a finite average, which neighbours
// share, move a wake by what the budgets say: the stated uncertainty covers the error
// of a move in 95 % of the trials for each measure and for the mean, within three standard
// errors of the share, or in 93 to 97 % of the long version's.
func TestTimeAverageCoverage(t *testing.T) {
	t.Parallel()
	const samples, L, stress, move, seed = 20.0, 0.25, 0.002, 0.02, 9
	trials, off := 120, 3*math.Sqrt(0.95*0.05/120)
	if gridtest.Large() {
		trials, off = 300, 0.02
	}
	base := waketest.Gaussian(0.5, 0.3, 0.06, 0.05)
	variant := waketest.Gaussian(0.5, 0.3, 0.06+move, 0.05)
	r := rand.New(rand.NewPCG(seed, 2))
	var errs *shared
	one := func(f waketest.Field) *parts.Set {
		s := waketest.Lattice(f, -1.2, 1.2, -1.2, 1.2, 25, 25)
		if errs == nil {
			points := make([]grid.Point, s.N)
			for i := range points {
				points[i] = grid.Point{X: s.Col[wake.Y][i], Y: s.Col[wake.Z][i]}
			}
			errs = newShared(points, L)
		}
		for i, e := range errs.draw(r) {
			s.Col[wake.U][i] += e * math.Sqrt(stress/samples)
		}
		m := take(t, s, wake.PlaneOptions{})
		field := parts.NewField(m)
		// What is on trial are the measures, not what the outer flow is counted from.
		for i := range field.Weight {
			field.Weight[i] += field.Level
		}
		field.Level = 0
		field.Time = errs.timeDraws(r, math.Sqrt(stress/samples))
		return find(t, field, parts.Options{})
	}
	covered(t, trials, move, 0.9, off, func() (a, b *parts.Set) { return one(base), one(variant) })
}
