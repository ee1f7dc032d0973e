package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestStatesFalseAlarm: of steady records, autoregressive or skewed by an exponential
// function of one, or of an oscillation in noise, no more than 1 % are told as two states.
func TestStatesFalseAlarm(t *testing.T) {
	const seed, runs = 2, 200
	for _, c := range []struct {
		name string
		n    int
		rho  float64
		of   func(i int, v float64) float64
	}{
		{"white", 60, 0, nil}, {"AR(1), 0.5", 90, 0.5, nil}, {"AR(1), 0.8", 270, 0.8, nil}, {"AR(1), 0.95", 400, 0.95, nil},
		{"skewed", 270, 0.8, func(i int, v float64) float64 { return math.Exp(v / 2) }},
		{"oscillating", 400, 0.5, func(i int, v float64) float64 { return 5*math.Sin(float64(i)/5) + v }},
	} {
		r := rand.New(rand.NewPCG(seed, 0))
		told := 0
		for range runs {
			x := ar1(r, c.n, c.rho)
			for i := range x {
				if c.of != nil {
					x[i] = c.of(i, x[i]-5)
				}
			}
			if NewStates(numbers(c.n), x, TimeScale(numbers(c.n), x)) != nil {
				told++
			}
		}
		if told > runs/100 {
			t.Errorf("seed %d, %s: %d of %d records are told as two states", seed, c.name, told, runs)
		}
	}
}

// TestStates: of records that switch at random the states, their means and shares are found;
// the interval of the share holds it in nine of ten.
func TestStates(t *testing.T) {
	const seed, runs, n, up = 6, 100, 1500, 0.03
	r := rand.New(rand.NewPCG(seed, 0))
	told, held, right := 0, 0, 0
	for range runs {
		// Up with 3 %, down with 6 %: a third of the time below.
		x := make([]float64, n)
		truth := make([]int, n)
		state := 0
		for i := range x {
			x[i], truth[i] = 2+0.1*float64(state)+0.02*r.NormFloat64(), state
			if p := up * float64(2-state); r.Float64() < p {
				state = 1 - state
			}
		}
		s := NewStates(numbers(n), x, TimeScale(numbers(n), x))
		if s == nil {
			continue
		}
		told++
		for i, k := range s.Of {
			if k == truth[i] {
				right++
			}
		}
		if s.ShareExpanded != nil && math.Abs(s.State[0].Share-1.0/3) <= *s.ShareExpanded {
			held++
		}
		near(t, "lower state", s.State[0].Mean, 2, 0.006)
		near(t, "upper state", s.State[1].Mean, 2.1, 0.006)
		near(t, "shares", s.State[0].Share+s.State[1].Share, 1, 1e-12)
	}
	if told < 95*runs/100 || right < told*n*98/100 || held < 88*told/100 {
		t.Errorf("seed %d: %d of %d told, %d values of %d right, %d shares held", seed, told, runs, right, told*n, held)
	}
}
