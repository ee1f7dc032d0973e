package render

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestBetweenLimits(t *testing.T) {
	s := must(Policy{Map: Loss()}.Between(0, 1, []float64{-1, 0, 0.25, 0.5, 1, 2}))
	if d := cmp.Diff([]float64{0, 0.25, 0.5, 1}, s.Levels); d != "" {
		t.Error(d)
	}
	for name, c := range map[string]struct {
		lo, hi float64
		levels []float64
	}{
		"equal": {1, 1, nil}, "reversed": {2, 1, nil}, "NaN": {math.NaN(), 1, nil}, "infinite": {0, math.Inf(1), nil},
		"levels fall": {0, 1, []float64{0.5, 0.4}}, "level NaN": {0, 1, []float64{math.NaN()}}, "level twice": {0, 1, []float64{0.5, 0.5}},
	} {
		if _, err := (Policy{Map: Loss()}).Between(c.lo, c.hi, c.levels); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestLevelTexts(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		levels []float64
		want   []string
	}{
		{-0.2, 0.2, []float64{-0.15, 0, 0.05}, []string{"−0.20", "−0.15", "0.00", "0.05", "0.20"}},
		{0, 3, []float64{1, 2}, []string{"0", "1", "2", "3"}},
		{0, 1, []float64{1.0 / 3}, []string{"0.0000", "0.3333", "1.0000"}},
		{0, 2e-9, []float64{1e-9}, []string{"0", "1e−9", "2e−9"}},
	} {
		s := must(Policy{Map: Loss()}.Between(c.lo, c.hi, c.levels))
		var got []string
		for k := range s.Levels {
			got = append(got, s.text(k))
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Error(d)
		}
	}
}

// A value at a level is in the band above, as level lines have it; the limits
// themselves are on the scale.
func TestBand(t *testing.T) {
	s := must(Policy{Map: Change()}.Between(-1, 1, []float64{0, 0.5}))
	at := func(v float64) any { return s.Map.At((v + 1) / 2) }
	for _, c := range []struct{ v, like float64 }{
		{-1, -0.5}, {math.Nextafter(0, -1), -0.5}, {0, 0.25}, {0.4999, 0.25}, {0.5, 0.75}, {1, 0.75},
	} {
		if got := s.Band(c.v); got != at(c.like) {
			t.Errorf("Band(%g) = %v, want the colour of %g", c.v, got, c.like)
		}
		if got := s.Color(c.v); got != at(c.v) {
			t.Errorf("Color(%g) = %v, want that of the map", c.v, got)
		}
	}
	for v, want := range map[float64]any{-1.01: s.Map.Under, 1.01: s.Map.Over, math.Inf(1): s.Map.Over, math.Inf(-1): s.Map.Under} {
		if s.Band(v) != want || s.Color(v) != want {
			t.Errorf("%g: %v and %v, want %v", v, s.Band(v), s.Color(v), want)
		}
	}
	if s.Band(math.NaN()) != s.Map.NoData {
		t.Error("NaN has a band")
	}
}

func limitsOf(t *testing.T, name string, fields ...Weighted) Scale {
	t.Helper()
	p, ok := Limits(name)
	if !ok {
		t.Fatalf("no quantity %q", name)
	}
	s := must(AutoScale(p, fields...))
	if n := len(s.Levels); s.Map == nil || n < 2 || s.Levels[0] != s.Lo || s.Levels[n-1] != s.Hi || !slices.IsSorted(s.Levels) {
		t.Fatalf("scale %g…%g with levels %g", s.Lo, s.Hi, s.Levels)
	}
	return s
}

func TestAutoScale(t *testing.T) {
	ramp := func(lo, hi float64) Weighted {
		v := make([]float64, 10001)
		for i := range v {
			v[i] = lo + (hi-lo)*float64(i)/10000
		}
		return Weighted{Values: v}
	}
	for _, c := range []struct {
		name   string
		f      Weighted
		lo, hi float64
		levels []float64
	}{
		// 1.6 in sixteenths is 0.1.
		{"u/U", ramp(-0.31, 1.12), -0.4, 1.2, []float64{-0.4, -0.3, -0.2, -0.1, 0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.05, 1.1, 1.2}},
		// No level is at what the undisturbed stream has, 1. The policy holds 0 … 1 even if the data do not reach them.
		{"Cpt", ramp(0.4, 0.6), 0, 1.05, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.05}},
		// One-signed: one band from −step to step, 0 no level.
		{"1-Cpt", ramp(0, 1.55), -0.1, 1.6, []float64{-0.1, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6}},
		{"1-cpt", ramp(-0.5, 1.55), -0.2, 1.6, []float64{-0.2, 0.2, 0.4, 0.6, 0.8, 1, 1.2, 1.4, 1.6}},
		// Signed: symmetric, though the data are not.
		{"Vorticity", ramp(-10, 38), -40, 40, []float64{-40, -35, -30, -25, -20, -15, -10, -5, 5, 10, 15, 20, 25, 30, 35, 40}},
	} {
		s := limitsOf(t, c.name, c.f)
		if s.Lo != c.lo || s.Hi != c.hi {
			t.Errorf("%s: limits %g … %g, want %g … %g", c.name, s.Lo, s.Hi, c.lo, c.hi)
		}
		if d := cmp.Diff(c.levels, s.Levels); d != "" {
			t.Errorf("%s: levels %s", c.name, d)
		}
	}
}

// Both signs of nothing have the page's colour on a loss scale; a gain beyond a
// step is shown as outside.
func TestLossScaleIsFlatRoundZero(t *testing.T) {
	s := limitsOf(t, "1-Cpt", Weighted{Values: []float64{0, 0.5, 1}})
	for _, v := range []float64{s.Lo, s.Lo / 2, 0} {
		if got := s.Color(v); got != s.Map.Table[0] {
			t.Errorf("Color(%g) = %v", v, got)
		}
	}
	if s.Color(s.Hi) != s.Map.Table[tableSize-1] || s.Color(1.001*s.Lo) != s.Map.Under || s.Band(0) != s.Map.Table[0] {
		t.Error("the limits' colours are not those of the table")
	}
}

// The scale is that of all fields together, in any order, whatever is missing.
func TestAutoScaleIsCommon(t *testing.T) {
	a, b := Weighted{Values: []float64{0, 0.3, math.NaN()}}, Weighted{Values: []float64{0.1, 1.9, math.Inf(1)}}
	s, r := limitsOf(t, "1-Cpt", a, b), limitsOf(t, "1-Cpt", b, a)
	if s.Hi != 2 || !slices.Equal(s.Levels, r.Levels) {
		t.Errorf("limits to %g and %g, want 2", s.Hi, r.Hi)
	}
	// A weight of zero takes a value out.
	if s := limitsOf(t, "1-Cpt", a, Weighted{Values: b.Values, Weights: []float64{1, 0, 1}}); s.Hi > 0.35 {
		t.Errorf("limit %g holds a value without weight", s.Hi)
	}
	p, _ := Limits("1-Cpt")
	for name, f := range map[string][]float64{"empty": nil, "NaN": {math.NaN()}, "infinite": {math.Inf(1)}} {
		if _, err := AutoScale(p, Weighted{Values: f}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	for _, v := range []float64{0, 1, -3, 1e-300, 1e300} {
		for _, name := range []string{"u/U", "1-Cpt", "Cp"} {
			s := limitsOf(t, name, Weighted{Values: []float64{v, v, v}})
			if !(s.Lo <= v && v <= s.Hi) && name != "1-Cpt" {
				t.Errorf("%s: a constant field of %g has the scale %g … %g", name, v, s.Lo, s.Hi)
			}
		}
	}
}

// The histogram's quantiles are those of sorting.
func TestQuantiles(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	v, w := make([]float64, 5000), make([]float64, 5000)
	for i := range v {
		v[i], w[i] = r.NormFloat64()*math.Exp(3*r.NormFloat64()), r.Float64()
	}
	order := make([]int, len(v))
	total := 0.0
	for i := range order {
		order[i] = i
		total += w[i]
	}
	slices.SortFunc(order, func(a, b int) int {
		if v[a] < v[b] {
			return -1
		}
		return 1
	})
	for _, q := range []float64{0, 0.0005, 0.01, 0.3, 0.5, 0.9, 0.999, 1} {
		want, sum := v[order[len(order)-1]], 0.0
		for _, i := range order {
			if sum += w[i]; sum >= q*total {
				want = v[i]
				break
			}
		}
		got, ok := Quantiles([]Weighted{{Values: v, Weights: w}}, false, q)
		span := v[order[len(order)-1]] - v[order[0]]
		if !ok || math.Abs(got[0]-want) > 1e-8*span {
			t.Errorf("quantile %g is %g, sorting gives %g", q, got[0], want)
		}
	}
}

func TestEveryPolicyIsComplete(t *testing.T) {
	for _, name := range []string{"u/U", "Cpt", "1-Cpt", "Cp", "local drag", "vorticity", "k"} {
		p, ok := Limits(name)
		if !ok || p.Map == nil || p.Label == "" || p.Signed != (p.Map == Change()) || !(p.Tail > 0) {
			t.Errorf("%s: %+v, %v", name, p, ok)
		}
		if d := p.Difference(); !d.Signed || d.Map != Change() {
			t.Errorf("%s: difference %+v", name, d)
		}
	}
	if _, ok := Limits("colour"); ok {
		t.Error("unknown quantity has a policy")
	}
}

// On a ladder a level is 2 to 3.5 times the one before it, none is more than a twentieth from 0,
// and every band is as wide on the bar and as far along the colours as any other.
func TestLadder(t *testing.T) {
	for hi, least := range map[float64]float64{0.7: 0.05, 1: 0.05, 0.3: 0.02, 4: 0.2, 0.05: 0.002} {
		s := must(Policy{Map: Change()}.Between(-hi, hi, nil)).Ladder()
		n := len(s.Levels)
		if n != 10 || s.Levels[5] != least || s.Levels[0] != -hi || s.Levels[n-1] != hi {
			t.Fatalf("to %g: levels %g", hi, s.Levels)
		}
		for k, v := range s.Levels {
			if v != -s.Levels[n-1-k] || k > 5 && !(v/s.Levels[k-1] > 1.39 && v/s.Levels[k-1] < 3.51) {
				t.Errorf("to %g: levels %g", hi, s.Levels)
			}
			if got := s.at(v); math.Abs(got-float64(k)/9) > 1e-12 {
				t.Errorf("level %g lies at %g of the bar", v, got)
			}
		}
		if got, want := s.Band(1.01*least), s.Map.At(5.5/9); got != want {
			t.Errorf("the least change is %v, want %v", got, want)
		}
	}
}
