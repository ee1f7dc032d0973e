package average

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
)

// snapshot makes one turbulent snapshot on ny × nz points of the plane x = 2.
func snapshot(r *rand.Rand, name string, ny, nz int) *wake.Samples {
	n := ny * nz
	s := &wake.Samples{File: name, N: n, LineOf: func(i int) int { return i + 2 }}
	for _, q := range []wake.Quantity{wake.X, wake.Y, wake.Z, wake.U, wake.V, wake.W, wake.P} {
		s.Col[q] = make([]float64, n)
	}
	gust := r.NormFloat64()
	for i := range n {
		y, z := float64(i%ny)*0.1-float64(ny-1)*0.05, float64(i/ny)*0.1
		s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i] = 2, y, z
		s.Col[wake.U][i] = 25 - 10*math.Exp(-y*y-z*z) + gust + r.NormFloat64()
		s.Col[wake.V][i], s.Col[wake.W][i] = r.NormFloat64(), gust/2+r.NormFloat64()
		s.Col[wake.P][i] = -40 + 5*r.NormFloat64()
	}
	return s
}

// file gives the n-th snapshot of a record, always the same.
func file(k, ny, nz int) *wake.Samples {
	return snapshot(rand.New(rand.NewPCG(42, uint64(k))), fmt.Sprintf("flow_%03d.csv", k), ny, nz)
}

func reference() *wake.Freestream {
	return &wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}
}

func options() Options {
	return Options{
		Reference: reference(), TimeStep: 0.01,
		Regions: []measure.Box{{Name: "right", Box: grid.Box{Min: grid.Point{X: 0.02, Y: 0}, Max: grid.Point{X: 0.17, Y: 0.21}}}},
	}
}

// averageOf adds the snapshots in the order given; numbers count from 1.
func averageOf(t testing.TB, opt Options, ks ...int) *State {
	t.Helper()
	a, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range ks {
		if err := a.Add(k, file(k, 6, 4)); err != nil {
			t.Fatal(err)
		}
	}
	return a.State()
}

func encode(t testing.TB, s *State) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.Encode(&b); err != nil {
		t.Fatal(err)
	}
	if int64(b.Len()) != s.Size() {
		t.Errorf("Size says %d, %d bytes were written", s.Size(), b.Len())
	}
	return b.Bytes()
}

// TestTwoPass holds means and co-moments against sums in two passes with 400 bits:
// with a large mean and small fluctuations, where sums of squares in float64 have
// no digits left.
func TestTwoPass(t *testing.T) {
	const seed, count, ny, nz = 7, 300, 5, 4
	r := rand.New(rand.NewPCG(seed, 0))
	a, err := New(Options{})
	if err != nil {
		t.Fatal(err)
	}
	var all []*wake.Samples
	for k := range count {
		s := file(k+1, ny, nz)
		for i := range s.N {
			s.Col[wake.U][i] = 3000 + 1e-5*r.NormFloat64()*float64(i)
			s.Col[wake.V][i] = -900 + 1e-5*float64(i)*s.Col[wake.V][i] + 0.3*(s.Col[wake.U][i]-3000)
			s.Col[wake.P][i] = 101325 + 0.01*s.Col[wake.P][i]
		}
		all = append(all, s)
		if err := a.Add(k+1, s); err != nil {
			t.Fatal(err)
		}
	}
	res, err := a.State().Result()
	if err != nil {
		t.Fatal(err)
	}
	bigMean := func(q wake.Quantity, i int) *big.Float {
		sum := new(big.Float).SetPrec(400)
		for _, s := range all {
			sum.Add(sum, new(big.Float).SetPrec(400).SetFloat64(s.Col[q][i]))
		}
		return sum.Quo(sum, big.NewFloat(count))
	}
	bigStress := func(p, q wake.Quantity, i int) float64 {
		mp, mq := bigMean(p, i), bigMean(q, i)
		sum := new(big.Float).SetPrec(400)
		for _, s := range all {
			a := new(big.Float).SetPrec(400).Sub(big.NewFloat(s.Col[p][i]), mp)
			b := new(big.Float).SetPrec(400).Sub(big.NewFloat(s.Col[q][i]), mq)
			sum.Add(sum, a.Mul(a, b))
		}
		v, _ := sum.Quo(sum, big.NewFloat(count)).Float64()
		return v
	}
	stress := map[string][2]wake.Quantity{"uu": {wake.U, wake.U}, "vv": {wake.V, wake.V}, "ww": {wake.W, wake.W}, "uv": {wake.U, wake.V}, "uw": {wake.U, wake.W}, "vw": {wake.V, wake.W}}
	for i := range ny * nz {
		for _, q := range []wake.Quantity{wake.U, wake.V, wake.W, wake.P} {
			want, _ := bigMean(q, i).Float64()
			// Half a quantum, and 4 units in the last place.
			tol := math.Ldexp(1, -quantumBits(q)-1) + 4*math.Ldexp(math.Abs(want), -53)
			if got := res.plane.get(q.String())[i]; !(math.Abs(got-want) <= tol) {
				t.Fatalf("seed %d: mean %s at %d is %.17g, exactly %.17g", seed, q, i, got, want)
			}
		}
		for name, p := range stress {
			want := bigStress(p[0], p[1], i)
			rms := math.Sqrt(bigStress(p[0], p[0], i)) + math.Sqrt(bigStress(p[1], p[1], i))
			tol := math.Ldexp(rms, -40) + math.Ldexp(1, -80) + 4*math.Ldexp(math.Abs(want), -53)
			if got := res.plane.get(name)[i]; !(math.Abs(got-want) <= tol) {
				t.Fatalf("seed %d: %s at %d is %.17g, exactly %.17g: off by %.3g, %.3g allowed", seed, name, i, got, want, got-want, tol)
			}
		}
	}
}

// TestWideIntegers holds the arithmetic against math/big.
func TestWideIntegers(t *testing.T) {
	toBig := func(w []uint64) *big.Int {
		v := new(big.Int)
		for k := len(w) - 1; k >= 0; k-- {
			v.Lsh(v, 64).Or(v, new(big.Int).SetUint64(w[k]))
		}
		if int64(w[len(w)-1]) < 0 {
			v.Sub(v, new(big.Int).Lsh(big.NewInt(1), uint(64*len(w))))
		}
		return v
	}
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Int64Range(-1<<valueBits, 1<<valueBits), rapid.SampledFrom([]int64{-1 << valueBits, -1, 0, 1, 1 << valueBits}))
		pairs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]int64 { return [2]int64{value.Draw(t, "n"), value.Draw(t, "m")} }), 1, 30).Draw(t, "values")
		var sn, sm, snm [2]uint64
		bn, bm, bnm := new(big.Int), new(big.Int), new(big.Int)
		for _, p := range pairs {
			add128(sn[:], p[0])
			add128(sm[:], p[1])
			addProduct(snm[:], p[0], p[1])
			x, y := big.NewInt(p[0]), big.NewInt(p[1])
			bn.Add(bn, x)
			bm.Add(bm, y)
			bnm.Add(bnm, new(big.Int).Mul(x, y))
		}
		if toBig(sn[:]).Cmp(bn) != 0 || toBig(sm[:]).Cmp(bm) != 0 || toBig(snm[:]).Cmp(bnm) != 0 {
			t.Fatalf("sums %v %v %v, want %v %v %v", toBig(sn[:]), toBig(sm[:]), toBig(snm[:]), bn, bm, bnm)
		}
		count := uint64(len(pairs))
		got := coMoment(count, snm[:], sn[:], sm[:])
		want := new(big.Int).Mul(new(big.Int).SetUint64(count), bnm)
		want.Sub(want, new(big.Int).Mul(bn, bm))
		if toBig(got[:]).Cmp(want) != 0 {
			t.Fatalf("co-moment %v, want %v", toBig(got[:]), want)
		}
		f, _ := new(big.Float).SetInt(want).Float64()
		if g := got.float(); !(math.Abs(g-f) <= math.Ldexp(math.Abs(f), -52)) {
			t.Fatalf("as float %g, want %g", g, f)
		}
		f, _ = new(big.Float).SetInt(bnm).Float64()
		if g := float128(snm[:]); !(math.Abs(g-f) <= math.Ldexp(math.Abs(f), -52)) {
			t.Fatalf("as float %g, want %g", g, f)
		}
		if !within(snm[:], count, 2*valueBits) || !within(sn[:], count, valueBits) {
			t.Fatal("sums of bounded values are out of bounds")
		}
	})
	// The bounds themselves, and one more than them; the full number of snapshots.
	for _, power := range []uint{valueBits, 2 * valueBits} {
		for _, count := range []uint64{1, 3, maxSnapshots} {
			top := new(big.Int).Lsh(new(big.Int).SetUint64(count), power)
			for _, d := range []int64{0, 1} {
				for _, sign := range []int64{1, -1} {
					v := new(big.Int).Add(top, big.NewInt(d))
					v.Mul(v, big.NewInt(sign))
					if v.Sign() < 0 {
						v.Add(v, new(big.Int).Lsh(big.NewInt(1), 128))
					}
					a := []uint64{new(big.Int).And(v, new(big.Int).SetUint64(math.MaxUint64)).Uint64(), new(big.Int).Rsh(v, 64).Uint64()}
					if got := within(a, count, power); got != (d == 0) {
						t.Errorf("within(±(%d·2^%d + %d)) is %v", count, power, d, got)
					}
				}
			}
		}
	}
}

// TestMergeAnyOrder: any partition of the record into parts, each averaged in any
// order, merged in any order and grouping, gives the bytes of one run, whatever
// the number of processors.
func TestMergeAnyOrder(t *testing.T) {
	const count = 9
	numbers := make([]int, count)
	for k := range numbers {
		numbers[k] = k + 1
	}
	want := encode(t, averageOf(t, options(), numbers...))
	rapid.Check(t, func(rt *rapid.T) {
		old := runtime.GOMAXPROCS(rapid.IntRange(1, 4).Draw(rt, "processors"))
		defer runtime.GOMAXPROCS(old)
		order := rapid.Permutation(numbers).Draw(rt, "order")
		parts := map[int][]int{}
		for _, k := range order {
			p := rapid.IntRange(0, 3).Draw(rt, "part")
			parts[p] = append(parts[p], k)
		}
		var states []*State
		for p := range 4 {
			if ks := parts[p]; len(ks) > 0 {
				states = append(states, averageOf(t, options(), ks...))
			}
		}
		for len(states) > 1 {
			i := rapid.IntRange(0, len(states)-2).Draw(rt, "left")
			a, b := states[i], states[i+1]
			if rapid.Bool().Draw(rt, "through a file") {
				s, err := Decode("b", bytes.NewReader(encode(t, b)), -1)
				if err != nil {
					rt.Fatal(err)
				}
				b = s
			}
			if rapid.Bool().Draw(rt, "swapped") {
				a, b = b, a
			}
			if err := a.Merge("b", b); err != nil {
				rt.Fatal(err)
			}
			states[i] = a
			states = append(states[:i+1], states[i+2:]...)
		}
		if !bytes.Equal(encode(t, states[0]), want) {
			rt.Fatal("the merged state has other bytes than that of one run")
		}
	})
}

// TestOutputs: all outputs of merged states are those of one run, byte for byte.
func TestOutputs(t *testing.T) {
	all := func(s *State) string {
		r, err := s.Result()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		for _, err := range []error{r.WritePlane(&b), r.WriteSeries(&b), r.WriteJSON(&b), r.WriteText(&b)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		return b.String()
	}
	one := all(averageOf(t, options(), 1, 2, 3, 4, 5, 6, 7, 8))
	s := averageOf(t, options(), 8, 3, 4)
	if err := s.Merge("b", averageOf(t, options(), 7, 6, 1, 2, 5)); err != nil {
		t.Fatal(err)
	}
	if got := all(s); got != one {
		t.Error("outputs of merged states differ from those of one run")
	}
	for _, want := range []string{"# time mean of 8 snapshots, numbers 1 to 8: flow_001.csv to flow_008.csv", `"schema": "wakeledger.average/1"`, "drag area right [m2]", "uu [m2/s2]"} {
		if !strings.Contains(one, want) {
			t.Errorf("the outputs lack %q", want)
		}
	}
}

// TestPositionsLowest: where positions differ by rounding, those of the lowest
// number stay, in whatever order parts come.
func TestPositionsLowest(t *testing.T) {
	part := func(k int) *State {
		a, err := New(Options{})
		if err != nil {
			t.Fatal(err)
		}
		s := file(k, 6, 4)
		for i := range s.N {
			s.Col[wake.Y][i] += float64(k) * 1e-9
		}
		if err := a.Add(k, s); err != nil {
			t.Fatal(err)
		}
		return a.State()
	}
	join := func(a, b *State) []byte {
		if err := a.Merge("b", b); err != nil {
			t.Fatal(err)
		}
		return encode(t, a)
	}
	if !bytes.Equal(join(part(1), part(2)), join(part(2), part(1))) {
		t.Error("the order of merging shows in the positions")
	}
	// Adding in the other order too.
	a, _ := New(Options{})
	for _, k := range []int{2, 1} {
		s := file(k, 6, 4)
		for i := range s.N {
			s.Col[wake.Y][i] += float64(k) * 1e-9
		}
		if err := a.Add(k, s); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(encode(t, a.State()), join(part(1), part(2))) {
		t.Error("the order of adding shows in the positions")
	}
}

// TestIdentity: the mean of the instantaneous momentum integrals is the integral of
// the mean plane with −ρ<u'u'>, on a lattice, on scattered samples and with
// repeated positions, over the whole and a region, for a half plane too.
func TestIdentity(t *testing.T) {
	for _, c := range []struct {
		name string
		half bool
		move func(s *wake.Samples)
	}{
		{"lattice", false, func(*wake.Samples) {}},
		{"scattered", true, func(s *wake.Samples) {
			r := rand.New(rand.NewPCG(9, 9))
			for i := range s.N {
				s.Col[wake.Y][i] += 0.03 * r.Float64()
				s.Col[wake.Z][i] += 0.03 * r.Float64()
			}
		}},
		{"repeated", false, func(s *wake.Samples) {
			for q := range s.Col {
				if c := s.Col[q]; c != nil {
					s.Col[q] = append(c, c[3], c[11])
				}
			}
			s.N += 2
		}},
	} {
		opt := options()
		opt.Half = c.half
		a, err := New(opt)
		if err != nil {
			t.Fatal(err)
		}
		var mean, region float64
		const count = 20
		for k := range count {
			s := file(k, 6, 5)
			c.move(s)
			if err := a.Add(k+1, s); err != nil {
				t.Fatal(c.name, err)
			}
			// Independently: the measurement of each snapshot.
			m := measured(t, s, measure.Options{Reference: *reference(), Regions: opt.Regions, Half: c.half})
			mean += m.Drag.Momentum.DragArea / count
			region += *m.Regions[0].DragArea / count
		}
		r, err := a.State().Result()
		if err != nil {
			t.Fatal(err)
		}
		for k, want := range []float64{mean, region} {
			v := r.Series[k]
			if tol := 1e-12 * math.Abs(want); !(math.Abs(v.Mean-want) <= tol && math.Abs(*v.MeanPlane-want) <= tol) {
				t.Errorf("%s, %s: mean of the series %.15g, of the measurements %.15g, mean plane %.15g", c.name, v.Name, v.Mean, want, *v.MeanPlane)
			}
		}
		// And the measurement of the mean plane.
		p := a.State().places("mean")
		for _, q := range []wake.Quantity{wake.U, wake.V, wake.W, wake.P, wake.UU} {
			p.Col[q] = r.plane.get(q.String())
		}
		m := measured(t, p, measure.Options{Reference: *reference(), Half: c.half})
		near(t, c.name+": drag of the mean plane", m.Drag.Momentum.DragArea, mean, 1e-12*math.Abs(mean))
		if d := math.Abs(*m.Drag.Momentum.Terms.Turbulence); !(d > 1e-4) {
			t.Errorf("%s: the turbulence term is %g: the test shows nothing", c.name, d)
		}
	}
}

func measured(t *testing.T, s *wake.Samples, opt measure.Options) *measure.Result {
	t.Helper()
	opt.Reference.TotalPressure = math.NaN()
	ps, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := measure.Measure(ps[0], opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestDerivedPressure: from total pressures, or their coefficients, the static
// pressure is worked out before averaging, and the result is that of p itself.
func TestDerivedPressure(t *testing.T) {
	ref := reference()
	ref.Pressure = 3
	drag := func(change func(s *wake.Samples, i int, q2 float64)) float64 {
		a, err := New(Options{Reference: ref})
		if err != nil {
			t.Fatal(err)
		}
		for k := range 6 {
			s := file(k, 6, 4)
			if change != nil {
				for i := range s.N {
					u, v, w := s.Col[wake.U][i], s.Col[wake.V][i], s.Col[wake.W][i]
					change(s, i, 0.6*(u*u+v*v+w*w))
				}
				s.Col[wake.P] = nil
			}
			if err := a.Add(k+1, s); err != nil {
				t.Fatal(err)
			}
		}
		r, err := a.State().Result()
		if err != nil {
			t.Fatal(err)
		}
		if got := r.plane.get("p"); got == nil {
			t.Fatal("no mean pressure")
		}
		return r.Series[0].Mean
	}
	want := drag(nil)
	set := func(q wake.Quantity, of func(p, q2 float64) float64) func(*wake.Samples, int, float64) {
		return func(s *wake.Samples, i int, q2 float64) {
			if s.Col[q] == nil {
				s.Col[q] = make([]float64, s.N)
			}
			s.Col[q][i] = of(s.Col[wake.P][i], q2)
		}
	}
	near(t, "from cp", drag(set(wake.Cp, func(p, _ float64) float64 { return (p - 3) / 375 })), want, 1e-10)
	near(t, "from pt", drag(set(wake.Pt, func(p, q2 float64) float64 { return p + q2 })), want, 1e-10)
	near(t, "from cpt", drag(set(wake.Cpt, func(p, q2 float64) float64 { return (p + q2 - 3) / 375 })), want, 1e-10)
}

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
		{"short", func(s *wake.Samples) { s.N--; s.Dropped = 1 }, 0, []string{"23 samples", "24", "missing", "(2, 0.25, 0.3)", "1 rows without a value"}},
		{"long", func(s *wake.Samples) {
			for q := range s.Col {
				if s.Col[q] != nil {
					s.Col[q] = append(s.Col[q], 9)
				}
			}
			s.N++
		}, 0, []string{"25 samples", "sample 25, at (9, 9, 9)", "too many"}},
		{"no p", func(s *wake.Samples) { s.Col[wake.P] = nil }, 0, []string{"has no p, which flow_001.csv has"}},
		{"more", func(s *wake.Samples) { s.Col[wake.Pt] = s.Col[wake.P] }, 0, []string{"has pt, which flow_001.csv lacks"}},
		{"NaN", func(s *wake.Samples) { s.Col[wake.V][2] = math.NaN() }, 4, []string{"sample 3, at (2, -0.05, 0) m, has v = NaN"}},
		{"infinite", func(s *wake.Samples) { s.Col[wake.P][2] = math.Inf(-1) }, 4, []string{"p = -Inf Pa"}},
		{"large", func(s *wake.Samples) { s.Col[wake.W][0] = 4096.01 }, 2, []string{"w = 4096.01 m/s", "4096", "unit"}},
		{"cells", func(s *wake.Samples) { s.CellValues = true }, 0, []string{"cells"}},
	} {
		a, err := New(options())
		if err != nil {
			t.Fatal(err)
		}
		if err := a.Add(1, file(1, 6, 4)); err != nil {
			t.Fatal(err)
		}
		before := encode(t, a.State())
		s := file(2, 6, 4)
		c.do(s)
		err = a.Add(2, s)
		t.Run(c.name, func(t *testing.T) { refuses(t, err, "flow_002.csv", c.line, c.words...) })
		if !bytes.Equal(before, encode(t, a.State())) {
			t.Errorf("%s: the state changed", c.name)
		}
	}
	a, _ := New(options())
	if err := a.Add(1, file(1, 6, 4)); err != nil {
		t.Fatal(err)
	}
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
		{"reference", func(o *Options) { o.Reference.Speed = 26 }, []int{3}, []string{"26 m/s", "25 m/s"}},
		{"none", func(o *Options) { o.Reference = nil }, []int{3}, []string{"no reference"}},
		{"time step", func(o *Options) { o.TimeStep = 1 }, []int{3}, []string{"0.01 s", "1 s"}},
		{"region", func(o *Options) { o.Regions[0].Name = "left" }, []int{3}, []string{"left:"}},
		{"half", func(o *Options) { o.Half = true }, []int{3}, []string{"half plane"}},
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
	if err := a.Add(3, s); err != nil {
		t.Fatal(err)
	}
	refuses(t, averageOf(t, options(), 1).Merge("part.state", a.State()), "part.state", 0, "sample 2")
}

// TestDoubts: each doubt comes when it has reason to, and a plain record has none.
func TestDoubts(t *testing.T) {
	codes := func(s *State) map[string]bool {
		r, err := s.Result()
		if err != nil {
			t.Fatal(err)
		}
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
		a, err := New(opt)
		if err != nil {
			t.Fatal(err)
		}
		for k := 1; k <= n; k++ {
			s := file(k, 6, 4)
			if change != nil {
				change(k, s)
			}
			if err := a.Add(k, s); err != nil {
				t.Fatal(err)
			}
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
	expect("short-record", of(options(), 5, nil))
	expect("short-series", of(options(), 5, nil))
	expect("missing-snapshots", averageOf(t, options(), 1, 2, 4))
	expect("repeated-snapshot", of(options(), 60, func(k int, s *wake.Samples) {
		if k == 30 {
			for q := range s.Col {
				s.Col[q] = file(29, 6, 4).Col[q]
			}
		}
	}))
	expect("slow-switching", of(options(), 60, func(k int, s *wake.Samples) {
		if k > 30 {
			for i := range s.N {
				s.Col[wake.P][i] -= 30
			}
		}
	}))
	expect("density-varies", of(options(), 60, func(k int, s *wake.Samples) {
		s.Col[wake.Rho] = make([]float64, s.N)
		for i := range s.N {
			s.Col[wake.Rho][i] = 1.2 + 0.01*float64(k%3)
		}
	}))
	expect("stress-left-out", of(options(), 60, func(k int, s *wake.Samples) { s.Col[wake.K] = s.Col[wake.U] }))
	expect("outlines-left-out", of(options(), 60, func(k int, s *wake.Samples) { s.Elements = &wake.Elements{} }))
	expect("pressure-from-total", of(Options{}, 60, func(k int, s *wake.Samples) { s.Col[wake.Pt], s.Col[wake.P] = s.Col[wake.P], nil }))
}

// TestRun: files are added in their order, at most a few are held, the first error
// in the order of the files is told, and an end of the context ends the work.
func TestRun(t *testing.T) {
	names := make([]string, 40)
	for k := range names {
		names[k] = fmt.Sprint(k + 1)
	}
	var held, most atomic.Int64
	read := func(ctx context.Context, name string) (*wake.Samples, error) {
		var k int
		fmt.Sscan(name, &k)
		if n := held.Add(1); n > most.Load() {
			most.Store(n)
		}
		if k%3 == 0 {
			time.Sleep(time.Millisecond) // so that later files are ready first
		}
		return file(k, 6, 4), nil
	}
	a, _ := New(options())
	var order []string
	err := a.Run(context.Background(), names, 1, read, func(s *wake.Samples) {
		held.Add(-1)
		order = append(order, s.File)
	})
	if err != nil {
		t.Fatal(err)
	}
	all := make([]int, 40)
	for k := range all {
		all[k] = k + 1
		if want := fmt.Sprintf("flow_%03d.csv", k+1); order[k] != want {
			t.Fatalf("snapshot %d was %s, want %s", k+1, order[k], want)
		}
	}
	if !bytes.Equal(encode(t, a.State()), encode(t, averageOf(t, options(), all...))) {
		t.Error("the state is not that of adding one by one")
	}
	if m, limit := most.Load(), int64(runtime.GOMAXPROCS(0)+2); m > limit {
		t.Errorf("%d snapshots were held at once, want at most %d", m, limit)
	}
	for range 20 {
		a, _ = New(options())
		err = a.Run(context.Background(), names, 1, func(ctx context.Context, name string) (*wake.Samples, error) {
			if name == "7" {
				time.Sleep(time.Millisecond)
			}
			if name == "7" || name == "8" {
				return nil, &wake.InputError{File: name, Text: "broken"}
			}
			return read(ctx, name)
		}, nil)
		if err == nil || err.Error() != "7: broken" {
			t.Fatalf("error %v, want that of file 7", err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	a, _ = New(options())
	err = a.Run(ctx, names, 1, func(ctx context.Context, name string) (*wake.Samples, error) {
		if name == "5" {
			cancel()
		}
		return read(ctx, name)
	}, nil)
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that of the context", err)
	}
}

// TestMemory: the memory held does not grow with the number of snapshots, but for
// the time series.
func TestMemory(t *testing.T) {
	const ny, nz = 50, 40
	live := func(count int) (state, heap uint64) {
		a, err := New(Options{Reference: reference()})
		if err != nil {
			t.Fatal(err)
		}
		names := make([]string, count)
		for k := range names {
			names[k] = fmt.Sprint(k)
		}
		base := file(0, ny, nz)
		var ms runtime.MemStats
		added := 0
		err = a.Run(context.Background(), names, 1, func(_ context.Context, name string) (*wake.Samples, error) {
			s := *base
			s.File = name
			for q := range s.Col {
				s.Col[q] = append([]float64(nil), base.Col[q]...)
				if base.Col[q] == nil {
					s.Col[q] = nil
				}
			}
			return &s, nil
		}, func(*wake.Samples) {
			if added++; added == count {
				runtime.GC()
				runtime.ReadMemStats(&ms)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		return uint64(8 * len(a.State().acc)), ms.HeapAlloc
	}
	live(2) // what is made once
	_, few := live(10)
	state, many := live(1000)
	snapshot := uint64(7 * 8 * ny * nz)
	t.Logf("live after 10 snapshots %d kB, after 1000 %d kB; one snapshot has %d kB, the sums %d kB", few/1024, many/1024, snapshot/1024, state/1024)
	// 1000 entries of some 300 bytes.
	if many > few+512*990 {
		t.Errorf("live memory grew from %d to %d bytes", few, many)
	}
}

// TestWelford holds the exact sums against running means and co-moments in
// floating point [welford], merged pairwise [chan]: another way to the same.
func TestWelford(t *testing.T) {
	type moments struct{ n, u, w, uu, uw float64 }
	add := func(m moments, u, w float64) moments {
		m.n++
		du, dw := u-m.u, w-m.w
		m.u += du / m.n
		m.w += dw / m.n
		m.uu += du * (u - m.u)
		m.uw += du * (w - m.w)
		return m
	}
	merge := func(a, b moments) moments {
		n := a.n + b.n
		du, dw := b.u-a.u, b.w-a.w
		return moments{n, a.u + du*b.n/n, a.w + dw*b.n/n, a.uu + b.uu + du*du*a.n*b.n/n, a.uw + b.uw + du*dw*a.n*b.n/n}
	}
	const count, point = 64, 13
	states := make([]*State, 4)
	floats := make([]moments, 4)
	for p := range states {
		for k := p*16 + 1; k <= (p+1)*16; k++ {
			s := file(k, 6, 4)
			floats[p] = add(floats[p], s.Col[wake.U][point], s.Col[wake.W][point])
		}
		var ks []int
		for k := p*16 + 1; k <= (p+1)*16; k++ {
			ks = append(ks, k)
		}
		states[p] = averageOf(t, options(), ks...)
	}
	for _, pair := range [][2]int{{0, 1}, {2, 3}, {0, 2}} {
		if err := states[pair[0]].Merge("b", states[pair[1]]); err != nil {
			t.Fatal(err)
		}
		floats[pair[0]] = merge(floats[pair[0]], floats[pair[1]])
	}
	r, err := states[0].Result()
	if err != nil {
		t.Fatal(err)
	}
	m := floats[0]
	near(t, "mean u", r.plane.get("u")[point], m.u, 1e-12)
	near(t, "uu", r.plane.get("uu")[point], m.uu/count, 1e-11)
	near(t, "uw", r.plane.get("uw")[point], m.uw/count, 1e-11)
}
