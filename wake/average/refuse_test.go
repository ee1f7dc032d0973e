package average

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// refuses checks that err is an InputError of the file with all the words.
func refuses(t *testing.T, err error, file string, line int, words ...string) {
	t.Helper()
	var in *wake.InputError
	if !errors.As(err, &in) {
		t.Errorf("error %v, want an InputError with %q", err, words)
		return
	}
	if in.File != file || in.Line != line || in.Cure == "" {
		t.Errorf("%v: file %q line %d cure %q, want file %q line %d and a cure", err, in.File, in.Line, in.Cure, file, line)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("error %q lacks %q", err, w)
		}
	}
}

func TestRefused(t *testing.T) {
	type change = func(s *wake.Samples)
	for _, c := range []struct {
		name  string
		do    change
		line  int
		words []string
	}{
		{"moved", func(s *wake.Samples) { s.Col[wake.Z][5] += 0.05 }, 7, []string{"sample 6", "(2, 0.25, 0.05)", "flow_001.csv", "0.05 m off", "same order"}},
		{"not a place", func(s *wake.Samples) { s.Col[wake.Y][5] = math.NaN() }, 7, []string{"sample 6"}},
		{"short", func(s *wake.Samples) { s.N--; s.Dropped = 1 }, 0, []string{"23 samples", "24", "1 rows without a value"}},
		{"long", func(s *wake.Samples) {
			for q := range s.Col {
				if s.Col[q] != nil {
					s.Col[q] = append(s.Col[q], 9)
				}
			}
			s.N++
		}, 0, []string{"25 samples"}},
		{"no p", func(s *wake.Samples) { s.Col[wake.P] = nil }, 0, []string{"has no p, which flow_001.csv has"}},
		{"more", func(s *wake.Samples) { s.Col[wake.Pt] = s.Col[wake.P] }, 0, []string{"has pt, which flow_001.csv lacks"}},
		{"NaN", func(s *wake.Samples) { s.Col[wake.V][2] = math.NaN() }, 4, []string{"sample 3, at (2, -0.05, 0) m, has v = NaN"}},
		{"infinite", func(s *wake.Samples) { s.Col[wake.P][2] = math.Inf(-1) }, 4, []string{"p = -Inf Pa"}},
		{"large", func(s *wake.Samples) { s.Col[wake.W][0] = 4096.01 }, 2, []string{"w = 4096.01 m/s", "4096", "unit"}},
		{"cells", func(s *wake.Samples) { s.CellValues = true }, 0, []string{"cells"}},
	} {
		a := mustNew(t, options())
		mustAdd(t, a, 1, file(1, 6, 4))
		before := encode(t, a.State())
		s := file(2, 6, 4)
		c.do(s)
		err := a.Add(2, s)
		t.Run(c.name, func(t *testing.T) { refuses(t, err, "flow_002.csv", c.line, c.words...) })
		if !bytes.Equal(before, encode(t, a.State())) {
			t.Errorf("%s: the state changed", c.name)
		}
	}
	a, _ := New(options())
	mustAdd(t, a, 1, file(1, 6, 4))
	refuses(t, a.Add(1, file(2, 6, 4)), "flow_002.csv", 0, "number 1 is taken by flow_001.csv")
	refuses(t, a.Add(0, file(2, 6, 4)), "flow_002.csv", 0, "start at 1")
	a, _ = New(options())
	s := file(1, 6, 4)
	s.Col[wake.U][0] = math.NaN()
	refuses(t, a.Add(1, s), "flow_001.csv", 2, "u = NaN")
	if a.State() != nil {
		t.Error("a state of no snapshot")
	}
	s = file(1, 6, 4)
	s.Col[wake.P] = nil
	refuses(t, a.Add(1, s), "flow_001.csv", 0, "no pressure")
	opt := options()
	opt.Regions[0].Box = grid.Box{Min: grid.Point{X: 50, Y: 50}, Max: grid.Point{X: 51, Y: 51}}
	a, _ = New(opt)
	refuses(t, a.Add(1, file(1, 6, 4)), "flow_001.csv", 0, `region "right"`, "window")
	for _, bad := range []Options{
		{Reference: &wake.Freestream{Speed: math.NaN(), Density: 1}}, {Reference: &wake.Freestream{Speed: 1, Density: -1}},
		{Reference: &wake.Freestream{Speed: 1, Density: 1, Pressure: math.Inf(1)}}, {TimeStep: -1}, {TimeStep: math.NaN()},
		{Regions: []measure.Box{{Name: "a"}}},
	} {
		_, err := New(bad)
		refuses(t, err, "", 0)
	}
}

func TestMergeRefused(t *testing.T) {
	for _, c := range []struct {
		name  string
		do    func(o *Options)
		ks    []int
		words []string
	}{
		{"same number", func(*Options) {}, []int{2, 3}, []string{"number 2, flow_002.csv, is there already as flow_002.csv", "--first"}},
		{"reference", func(o *Options) { o.Reference.Speed = 26 }, []int{3}, []string{"other options", "--speed"}},
		{"none", func(o *Options) { o.Reference = nil }, []int{3}, []string{"other options"}},
		{"time step", func(o *Options) { o.TimeStep = 1 }, []int{3}, []string{"--time-step"}},
		{"region", func(o *Options) { o.Regions[0].Name = "left" }, []int{3}, []string{"--region"}},
		{"half", func(o *Options) { o.Half = true }, []int{3}, []string{"--symmetry"}},
	} {
		s := averageOf(t, options(), 1, 2)
		before := encode(t, s)
		opt := options()
		c.do(&opt)
		err := s.Merge("part.state", averageOf(t, opt, c.ks...))
		t.Run(c.name, func(t *testing.T) { refuses(t, err, "part.state", 0, c.words...) })
		if !bytes.Equal(before, encode(t, s)) {
			t.Errorf("%s: the state changed", c.name)
		}
	}
	a, _ := New(options())
	s := file(3, 6, 4)
	s.Col[wake.Y][1] += 0.01
	mustAdd(t, a, 3, s)
	refuses(t, averageOf(t, options(), 1).Merge("part.state", a.State()), "part.state", 0, "sample 2")
}

// TestDoubts: each doubt comes when it has reason to, and a plain record has none.
func TestDoubts(t *testing.T) {
	codes := func(s *State) map[string]bool {
		r := mustResult(t, s)
		out := map[string]bool{}
		for _, w := range r.Warnings {
			out[w.Code] = true
			if w.Text == "" || w.Cure == "" {
				t.Errorf("%+v has no text or cure", w)
			}
		}
		return out
	}
	of := func(opt Options, n int, change func(k int, s *wake.Samples)) *State {
		a := mustNew(t, opt)
		for k := 1; k <= n; k++ {
			s := file(k, 6, 4)
			if change != nil {
				change(k, s)
			}
			mustAdd(t, a, k, s)
		}
		return a.State()
	}
	if got := codes(of(options(), 60, nil)); len(got) != 0 {
		t.Errorf("a plain record has the doubts %v", got)
	}
	expect := func(code string, s *State) {
		t.Helper()
		if got := codes(s); !got[code] {
			t.Errorf("no %s among %v", code, got)
		}
	}
	expect("one-snapshot", of(options(), 1, nil))
	expect("no-reference", of(Options{}, 60, nil))
	expect("repeated-snapshot", of(options(), 60, func(k int, s *wake.Samples) { s.Col = file(max(k, 2), 6, 4).Col }))
	expect("record-short", of(options(), 5, nil))
	expect("density-varies", of(options(), 60, func(k int, s *wake.Samples) {
		s.Col[wake.Rho] = make([]float64, s.N)
		for i := range s.N {
			s.Col[wake.Rho][i] = 1.2 + 0.01*float64(k%3)
		}
	}))
	expect("stress-left-out", of(options(), 60, func(k int, s *wake.Samples) { s.Col[wake.K] = s.Col[wake.U] }))
	expect("pressure-from-total", of(Options{}, 60, func(k int, s *wake.Samples) { s.Col[wake.Pt], s.Col[wake.P] = s.Col[wake.P], nil }))
}
