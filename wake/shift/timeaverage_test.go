package shift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// timeAverage is what the mean u of a plane is off by: sd everywhere, alike over a length; a
// length of 0 is none.
type timeAverage struct{ sd, length float64 }

// turbulent is the structures of a plane with Gaussian wakes of 0.4 at the given y and
// z = 0.1, with the time average drawn.
func turbulent(t *testing.T, kind string, avg timeAverage, sigma float64, at ...float64) *parts.Set {
	t.Helper()
	f := func(y, z float64) waketest.State {
		s := waketest.State{U: 1}
		for _, c := range at {
			s.U -= 1 - waketest.Gaussian(0.4, sigma, c, 0.1)(y, z).U
		}
		return s
	}
	s, opt := waketest.Lattice(f, -2, 2, -1.5, 1.5, 81, 61), wake.PlaneOptions{}
	switch kind {
	case "cells":
		s, opt = waketest.Centres(f, -2, 2, -1.5, 1.5, 80, 60), wake.PlaneOptions{Support: grid.Cells, SupportBy: "test"}
	case "scatter":
		s = waketest.Scatter(f, -2, 2, -1.5, 1.5, 81, 61, 7)
	}
	m := take(t, s, opt)
	field := parts.NewField(m)
	if avg.length > 0 {
		// Each place has draws of its own.
		field.Time = newShared(field.Mesh.Points, avg.length).timeDraws(rand.New(rand.NewPCG(math.Float64bits(at[0]), 1)), avg.sd)
	}
	return find(t, field, parts.Options{})
}

func timeOf(t *testing.T, m shift.Move) float64 {
	t.Helper()
	for _, it := range m.Items {
		if it.Name == "time average" {
			return it.Standard
		}
	}
	t.Fatalf("%s has no item of the time average: %+v", m.Measure, m.Items)
	return 0
}

// What the time average does to the centroid of (f−t)₊ is, with the gain g =
// (y−ȳ)/∫(f−t)₊ inside the outline and the standard uncertainty s everywhere,
//
//	u² = s² ∬ g(x) g(x') exp(−|x−x'|²/2L²) dx dx'
//
// for each of the two planes: here that integral by the midpoint rule, against the
// mean square over four moves, whose 192 draws know it to 5 % (one standard
// deviation).
func TestTimeAverageOfCentroid(t *testing.T) {
	const sigma, level, sd = 0.2, 0.1, 0.02
	for _, c := range []struct {
		kind  string
		L     float64
		moves int
	}{{"nodes", 0.1, 4}, {"nodes", 0.3, 4}, {"cells", 0.15, 4}, {"scatter", 0.15, 2}} {
		avg := timeAverage{sd, c.L}
		got := 0.0
		for k := range c.moves {
			y := 0.7 + 0.003*float64(k)
			s := between(t, turbulent(t, c.kind, avg, sigma, y), turbulent(t, c.kind, avg, sigma, y+0.001), shift.Options{Items: shift.Complete})
			if len(s.Moves) != 4 || s.Moves[0].Measure != shift.MeasureCentroid {
				t.Fatalf("%+v", s.Moves)
			}
			for _, m := range s.Moves {
				timeOf(t, m)
			}
			u := timeOf(t, s.Moves[0])
			got += u * u / float64(c.moves)
		}
		const d = 0.02
		var y, z, g []float64
		radius, total := sigma*math.Sqrt(2*math.Log(0.4/level)), 0.0
		for a := -radius; a <= radius; a += d {
			for b := -radius; b <= radius; b += d {
				if a*a+b*b < radius*radius {
					y, z, g = append(y, a), append(z, b), append(g, a)
					total += d * d * (0.4*math.Exp(-(a*a+b*b)/(2*sigma*sigma)) - level)
				}
			}
		}
		sum := 0.0
		for i := range y {
			for j := range y {
				sum += g[i] * g[j] * math.Exp(-((y[i]-y[j])*(y[i]-y[j])+(z[i]-z[j])*(z[i]-z[j]))/(2*c.L*c.L))
			}
		}
		want := math.Sqrt(2 * sd * sd * sum * d * d * d * d / (total * total))
		near(t, fmt.Sprintf("%s, L = %g: the centroid's item of the time average", c.kind, c.L), math.Sqrt(got), want, want*0.28/math.Sqrt(float64(c.moves)))
	}
}

// Without draws of the time average a move is not judged.
func TestWithoutTimeAverage(t *testing.T) {
	none := timeAverage{}
	stated := func(s float64) []uncertainty.Item {
		return uncertainty.Without(uncertainty.TimeAverage, shift.Complete(s))
	}
	s := between(t, turbulent(t, "nodes", none, 0.2, 0.7), turbulent(t, "nodes", none, 0.2, 0.71), shift.Options{Items: stated})
	for _, it := range s.Moves[0].Items {
		if it.Name == "time average" {
			t.Error("an item of a time average that nobody stated")
		}
	}
	if s.Verdict != uncertainty.NotJudged || len(s.Missing) != 1 || s.Missing[0] != uncertainty.TimeAverage {
		t.Errorf("%+v", s.Judgement)
	}
}

// An error of the time average that moves all measures alike does not make them
// agree: a wake that widened on the spot is still said to have changed its shape where
// the measures' own uncertainties, taken as independent, would let them pass.
func TestTimeAverageDoesNotHideShape(t *testing.T) {
	avg := timeAverage{0.1 / math.Sqrt(150), 0.4}
	a, b := turbulent(t, "nodes", avg, 0.2, 0.7), turbulent(t, "nodes", avg, 0.222, 0.69)
	s := between(t, a, b, shift.Options{Items: shift.Complete})
	var sum, mean, apart float64
	for _, m := range s.Moves {
		w := 1 / (m.Standard * m.Standard)
		sum += w
		mean += w * m.Lateral
	}
	mean /= sum
	for _, m := range s.Moves {
		apart += (m.Lateral - mean) * (m.Lateral - mean) / (m.Standard * m.Standard)
	}
	const limit = 7.815 // 95 % of χ² with three degrees of freedom
	if !(apart < limit) || s.Agree {
		t.Errorf("as if independent χ² is %.2f, limit %.2f: %+v", apart, limit, s)
	}
}
