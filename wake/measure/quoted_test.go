package measure_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// asRead labels the pressures as columns of a file, with these units.
func asRead(s *wake.Samples, p, pt string) *wake.Samples {
	s.Source[wake.P] = wake.Source{Name: "p", Unit: p, Factor: 1}
	if s.Col[wake.Pt] != nil {
		s.Source[wake.Pt] = wake.Source{Name: "p_t", Unit: pt, Factor: 1}
	}
	return s
}

// A pressure whose unit nobody states is kinematic where pt − p = ½|V|² (refused), and
// probably where p falls by ½|V|² along the edge of a potential flow (warned). A stated
// unit is believed, pascals are left alone, and at ρ = 1 there is nothing to tell.
func TestKinematicPressureWithoutUnit(t *testing.T) {
	const speed = 25.0
	sphere := waketest.Sphere(0.5, 1)
	samples := func(f waketest.Field, over float64, total bool) *wake.Samples {
		s := inAir(f, speed, 0)
		if total {
			s.Col[wake.Pt] = make([]float64, s.N)
		}
		for i := range s.N {
			u, v, w := s.Col[wake.U][i], s.Col[wake.V][i], s.Col[wake.W][i]
			if total {
				s.Col[wake.Pt][i] = (s.Col[wake.P][i] + 0.6*(u*u+v*v+w*w)) / over
			}
			s.Col[wake.P][i] /= over
		}
		return s
	}
	gauss := waketest.Gaussian(0.5, 0.2, 0, 1)
	uneven := func(s *wake.Samples) *wake.Samples {
		r := rand.New(rand.NewPCG(1, 2))
		for i := range s.N {
			s.Col[wake.P][i] += 30 * r.NormFloat64()
		}
		return s
	}
	for _, c := range []struct {
		name            string
		s               *wake.Samples
		density         float64
		refused, warned bool
	}{
		{"kinematic beside pt", asRead(samples(gauss, 1.2, true), "", ""), 1.2, true, false},
		{"pascals beside pt", asRead(samples(gauss, 1, true), "", ""), 1.2, false, false},
		{"stated beside pt", asRead(samples(gauss, 1.2, true), "Pa", "Pa"), 1.2, false, false},
		{"density 1", asRead(samples(gauss, 1.2, true), "", ""), 1, false, false},
		{"kinematic edge", asRead(samples(sphere, 1.2, false), "", ""), 1.2, false, true},
		{"kinematic edge in water", asRead(samples(sphere, 1.2, false), "", ""), 1000, false, true},
		{"edge in pascals", asRead(samples(sphere, 1, false), "", ""), 1.2, false, false},
		{"kinematic edge, stated", asRead(samples(sphere, 1.2, false), "Pa", ""), 1.2, false, false},
		{"edge in noise", asRead(uneven(samples(sphere, 1.2, false)), "", ""), 1.2, false, false},
		{"even edge", asRead(samples(gauss, 1.2, false), "", ""), 1.2, false, false},
	} {
		ref := air(speed, 0)
		ref.Density = c.density
		m, err := measure.Take(plane(t, c.s, grid.Nodes), measure.Options{Reference: ref, Floor: "none"})
		var bad *wake.InputError
		if errors.As(err, &bad) != c.refused {
			t.Errorf("%s: error %v", c.name, err)
		}
		if err != nil {
			if !strings.Contains(err.Error(), `--column p="p [m2/s2]" --column pt="p_t [m2/s2]"`) {
				t.Errorf("%s: no fix in %v", c.name, err)
			}
			continue
		}
		if text := warning(m.Result, "kinematic-unlabelled"); (text != "") != c.warned {
			t.Errorf("%s: warned %q", c.name, text)
		}
	}
}

// No drag is quoted with a mean |Cp| on the edge above 1.5, with a stream there of another speed than U, or below zero by more than its
// uncertainty; what noise makes of a stream without a wake is quoted, below zero too.
func TestImpossibleDragIsNotQuoted(t *testing.T) {
	g := waketest.Gaussian(0.5, 0.2, 0, 1)
	not := func(name, code string, r *measure.Result) {
		t.Helper()
		if r.Drag.Headline != "" || r.Uncertainty.DragArea != nil || warning(r, code) == "" || r.Drag.Momentum == nil {
			t.Errorf("%s: quotes %q, %+v; warns %q", name, r.Drag.Headline, r.Uncertainty.DragArea, warning(r, code))
		}
	}
	not("absolute pressures at --pressure 0", "pressure-unlikely",
		run(t, plane(t, inAir(g, 25, 101325), grid.Nodes), measure.Options{Reference: air(25, 0), Floor: "none"}))
	not("km/h taken as m/s", "speed-unlikely",
		run(t, plane(t, inAir(g, 25, 0), grid.Nodes), measure.Options{Reference: air(90, 0), Floor: "none"}))
	jet := waketest.Gaussian(-0.3, 0.2, 0, 1)
	not("a jet", "negative-drag", run(t, plane(t, inAir(jet, 25, 0), grid.Nodes), measure.Options{Reference: air(25, 0), Floor: "none"}))
	// With tubes alone.
	s := inAir(jet, 25, 0)
	s.Col[wake.Pt] = make([]float64, s.N)
	for i := range s.N {
		s.Col[wake.Pt][i] = 0.6 * s.Col[wake.U][i] * s.Col[wake.U][i]
	}
	r := run(t, plane(t, without(s, wake.U, wake.V, wake.W, wake.P), grid.Nodes), measure.Options{Reference: air(25, 0), Floor: "none"})
	if r.Drag.Headline != "" || warning(r, "negative-drag") == "" {
		t.Errorf("a jet by tubes: quotes %q", r.Drag.Headline)
	}
	below := 0
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(seed, 7))
		s := inAir(waketest.Uniform(waketest.State{U: 1}), 25, 0)
		for i := range s.N {
			s.Col[wake.U][i] += 0.25 * rng.NormFloat64()
		}
		r := run(t, plane(t, s, grid.Nodes), measure.Options{Reference: air(25, 0), Floor: "none"})
		if d := r.Drag.Momentum.DragArea; math.Abs(d) <= r.Uncertainty.DragArea.Expanded && r.Drag.Headline != "" {
			if d < 0 {
				below++
			}
		} else {
			t.Errorf("seed %d: %g ± %g of noise, quoted %q", seed, d, r.Uncertainty.DragArea.Expanded, r.Drag.Headline)
		}
	}
	if below == 0 {
		t.Error("no seed is below zero")
	}
}
