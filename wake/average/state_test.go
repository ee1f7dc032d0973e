package average

import (
	"bytes"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"runtime"
	"testing"

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

func mustNew(t testing.TB, opt Options) *Averager {
	t.Helper()
	a, err := New(opt)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func mustAdd(t testing.TB, a *Averager, k int, s *wake.Samples) {
	t.Helper()
	if err := a.Add(k, s); err != nil {
		t.Fatal(err)
	}
}

func mustResult(t testing.TB, s *State) *Result {
	t.Helper()
	r, err := s.Result()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// averageOf adds the snapshots in the order given; numbers count from 1.
func averageOf(t testing.TB, opt Options, ks ...int) *State {
	t.Helper()
	a := mustNew(t, opt)
	for _, k := range ks {
		mustAdd(t, a, k, file(k, 6, 4))
	}
	return a.State()
}

func encode(t testing.TB, s *State) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.Encode(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func decode(name string, b []byte) (*State, error) {
	return Decode(name, bytes.NewReader(b), int64(len(b)))
}

// TestTwoPass holds means and co-moments against sums in two passes with 400 bits:
// with a large mean and small fluctuations, where sums of squares in float64 have
// no digits left.
func TestTwoPass(t *testing.T) {
	const seed, count, ny, nz = 7, 300, 5, 4
	r := rand.New(rand.NewPCG(seed, 0))
	a := mustNew(t, Options{})
	var all []*wake.Samples
	for k := range count {
		s := file(k+1, ny, nz)
		for i := range s.N {
			s.Col[wake.U][i] = 3000 + 1e-5*r.NormFloat64()*float64(i)
			s.Col[wake.V][i] = -900 + 1e-5*float64(i)*s.Col[wake.V][i] + 0.3*(s.Col[wake.U][i]-3000)
			s.Col[wake.P][i] = 101325 + 0.01*s.Col[wake.P][i]
		}
		all = append(all, s)
		mustAdd(t, a, k+1, s)
	}
	res := mustResult(t, a.State())
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
			tol := math.Ldexp(1, -quantum[q]-1) + 4*math.Ldexp(math.Abs(want), -53)
			if got := res.mean.Col[q][i]; !(math.Abs(got-want) <= tol) {
				t.Fatalf("seed %d: mean %s at %d is %.17g, exactly %.17g", seed, q, i, got, want)
			}
		}
		values := map[string][]float64{"uu": res.mean.Col[wake.UU], "vv": res.mean.Col[wake.VV], "ww": res.mean.Col[wake.WW]}
		for _, c := range res.beside {
			values[c.Name] = c.Values
		}
		for name, p := range stress {
			want := bigStress(p[0], p[1], i)
			rms := math.Sqrt(bigStress(p[0], p[0], i)) + math.Sqrt(bigStress(p[1], p[1], i))
			tol := math.Ldexp(rms, -40) + math.Ldexp(1, -80) + 4*math.Ldexp(math.Abs(want), -53)
			if got := values[name][i]; !(math.Abs(got-want) <= tol) {
				t.Fatalf("seed %d: %s at %d is %.17g, exactly %.17g: off by %.3g, %.3g allowed", seed, name, i, got, want, got-want, tol)
			}
		}
	}
}

// TestWideIntegers holds the sums against math/big.
func TestWideIntegers(t *testing.T) {
	var e exact
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Int64Range(-1<<valueBits, 1<<valueBits), rapid.SampledFrom([]int64{-1 << valueBits, -1, 0, 1, 1 << valueBits}))
		pairs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]int64 { return [2]int64{value.Draw(t, "n"), value.Draw(t, "m")} }), 1, 30).Draw(t, "values")
		var sums [3][2]uint64
		var want [3]big.Int
		for _, p := range pairs {
			add128(sums[0][:], uint64(p[0]), uint64(p[0]>>63))
			add128(sums[1][:], uint64(p[1]), uint64(p[1]>>63))
			addProduct(sums[2][:], p[0], p[1])
			x, y := big.NewInt(p[0]), big.NewInt(p[1])
			want[0].Add(&want[0], x)
			want[1].Add(&want[1], y)
			want[2].Add(&want[2], new(big.Int).Mul(x, y))
		}
		count := uint64(len(pairs))
		for k := range sums {
			if got := e.set(&e.sum, sums[k][:]); got.Cmp(&want[k]) != 0 {
				t.Fatalf("sum %d is %v, want %v", k, got, &want[k])
			}
		}
		co := new(big.Int).Mul(new(big.Int).SetUint64(count), &want[2])
		co.Sub(co, want[0].Mul(&want[0], &want[1]))
		if got := e.coMoment(count, sums[2][:], sums[0][:], sums[1][:]); got.Cmp(co) != 0 {
			t.Fatalf("co-moment %v, want %v", got, co)
		}
	})
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
				s, err := decode("b", encode(t, b))
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

// TestPositionsLowest: where positions differ by rounding, those of the lowest
// number stay, in whatever order parts come.
func TestPositionsLowest(t *testing.T) {
	part := func(k int) *State {
		a := mustNew(t, Options{})
		s := file(k, 6, 4)
		for i := range s.N {
			s.Col[wake.Y][i] += float64(k) * 1e-9
		}
		mustAdd(t, a, k, s)
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
}
