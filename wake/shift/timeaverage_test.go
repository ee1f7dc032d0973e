package shift_test

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// evenStress is that of the planes below, in units of U².
const evenStress = 0.01

// turbulent is the structures of a plane with Gaussian wakes of 0.4 at the given y and
// z = 0.1, and the same <u'u'> everywhere, with the time average drawn.
func turbulent(t *testing.T, kind string, avg parts.TimeAverage, sigma float64, at ...float64) *parts.Set {
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
	case "many":
		s = waketest.Lattice(f, -2, 2, -1.5, 1.5, 301, 241)
	}
	s.Col[wake.UU] = make([]float64, s.N)
	for i := range s.Col[wake.UU] {
		s.Col[wake.UU][i] = evenStress
	}
	m := take(t, s, opt)
	field, err := parts.NewField(m)
	if err != nil {
		t.Fatal(err)
	}
	field.DrawTime(m, avg, 0.1)
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
// (y−ȳ)/∫(f−t)₊ inside the outline and the same <u'u'>/(N U²) = s² everywhere,
//
//	u² = s² ∬ g(x) g(x') exp(−|x−x'|²/2L²) dx dx'
//
// for each of the two planes: here that integral by the midpoint rule, against the
// mean square over four moves, whose 192 draws know it to 5 % (one standard
// deviation).
func TestTimeAverageOfCentroid(t *testing.T) {
	const sigma, level, n = 0.2, 0.1, 25.0
	for _, c := range []struct {
		kind  string
		L     float64
		moves int
	}{{"nodes", 0.1, 4}, {"nodes", 0.3, 4}, {"cells", 0.15, 4}, {"scatter", 0.15, 2}, {"many", 0.15, 1}} {
		avg := parts.TimeAverage{Samples: n, Length: c.L}
		got := 0.0
		for k := range c.moves {
			// Each place has draws of its own.
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
		want := math.Sqrt(2 * evenStress / n * sum * d * d * d * d / (total * total))
		near(t, fmt.Sprintf("%s, L = %g: the centroid's item of the time average", c.kind, c.L), math.Sqrt(got), want, want*0.28/math.Sqrt(float64(c.moves)))
	}
}

// Without a number of samples a move is not judged.
func TestWithoutTimeAverage(t *testing.T) {
	none := parts.TimeAverage{}
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
	// Errors that are alike all over a plane bound nothing.
	one := parts.TimeAverage{Samples: 25}
	s = between(t, turbulent(t, "nodes", one, 0.2, 0.7), turbulent(t, "nodes", one, 0.2, 0.71), shift.Options{Items: stated})
	if s.Verdict == uncertainty.Resolved || len(s.Missing) != 1 {
		t.Errorf("without a correlation length: %+v", s.Judgement)
	}
}

// Means over different parts of one record of the shuttle differ by the finite average
// alone: nothing moved. What the item says must be what they differ by. Each part of eleven
// snapshots comes to a fifth of what the study states for the whole record.
func TestTimeAverageOfRecord(t *testing.T) {
	dir := waketest.Shared(t, "shuttle")
	t.Parallel()
	const pieces = 5
	avg := parts.TimeAverage{Samples: shuttleAverage.Samples / pieces, Length: shuttleAverage.Length}
	in, n := map[string]int{}, map[string]int{}
	square := map[string]float64{}
	for _, c := range []string{"bare", "fairing"} {
		files, err := filepath.Glob(filepath.Join(dir, "snapshots", c+"_*.csv.gz"))
		if err != nil || len(files) != 55 {
			t.Fatalf("%d snapshots, %v", len(files), err)
		}
		var snaps []*wake.Samples
		for _, f := range files {
			snaps = append(snaps, exported(t, f))
		}
		stress := meanOf(snaps, nil)
		var sets []*parts.Set
		for k := range pieces {
			l := len(snaps) / pieces
			s := meanOf(snaps[k*l:(k+1)*l], stress)
			m, err := measure.Take(planes(t, s, wake.PlaneOptions{Support: grid.Cells, SupportBy: "study"}),
				measure.Options{Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}})
			if err != nil {
				t.Fatal(err)
			}
			f, err := parts.NewField(m)
			if err != nil {
				t.Fatal(err)
			}
			f.DrawTime(m, avg, 0.1)
			sets = append(sets, find(t, f, parts.Options{}))
		}
		for i := range sets {
			for j := range i {
				for _, box := range []grid.Box{{Min: grid.Point{X: 0.66, Y: 0}, Max: grid.Point{X: 1.75, Y: 1}}, {Min: grid.Point{X: -1.75, Y: 0}, Max: grid.Point{X: -0.66, Y: 1}}} {
					s, err := shift.InBox(sets[j].Field(), sets[i].Field(), "wheel", &box, 0.1, shift.Options{Items: shift.Complete})
					if err != nil {
						t.Fatal(err)
					}
					for _, m := range s.Moves {
						n[m.Measure]++
						u := timeOf(t, m)
						square[m.Measure] += m.Lateral * m.Lateral / (u * u)
						if math.Abs(m.Lateral) <= m.Expanded {
							in[m.Measure]++
						}
					}
				}
			}
		}
	}
	// The boxes hold no free outline. Of the ten moves of a side four are independent, so
	// the root mean square of all has a standard deviation of a sixth.
	for _, name := range []string{shift.MeasureCentroid, shift.MeasureProfile, shift.MeasureRegistration} {
		ratio, share := math.Sqrt(square[name]/float64(n[name])), float64(in[name])/float64(n[name])
		t.Logf("%s: %d of %d moves of nothing within U; their root mean square is %.2f of what the time average is said to make", name, in[name], n[name], ratio)
		if n[name] != 40 || !(ratio >= 0.66 && ratio <= 1.33) || !(share >= 0.85) {
			t.Errorf("%s: %d of %d within U, ratio %.2f", name, in[name], n[name], ratio)
		}
	}
}

// meanOf is the mean of snapshots with their resolved normal stresses, or with those
// given.
func meanOf(list []*wake.Samples, stress *wake.Samples) *wake.Samples {
	out := &wake.Samples{File: list[0].File, N: list[0].N}
	for q := wake.X; q <= wake.P; q++ {
		if list[0].Col[q] == nil {
			continue
		}
		out.Col[q] = make([]float64, out.N)
		for _, s := range list {
			for i, v := range s.Col[q] {
				out.Col[q][i] += v / float64(len(list))
			}
		}
	}
	for k, q := range []wake.Quantity{wake.UU, wake.VV, wake.WW} {
		if stress != nil {
			out.Col[q] = stress.Col[q]
			continue
		}
		mean := []wake.Quantity{wake.U, wake.V, wake.W}[k]
		out.Col[q] = make([]float64, out.N)
		for _, s := range list {
			for i, v := range s.Col[mean] {
				d := v - out.Col[mean][i]
				out.Col[q][i] += d * d / float64(len(list))
			}
		}
	}
	return out
}

// An error of the time average that moves all measures alike does not make them
// agree: a wake that widened on the spot is still said to have changed its shape where
// the measures' own uncertainties, taken as independent, would let them pass.
func TestTimeAverageDoesNotHideShape(t *testing.T) {
	avg := parts.TimeAverage{Samples: 150, Length: 0.4}
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
