package poisson_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/poisson"
)

var near = gridtest.Near

// order asserts that errors at spacings h, h/2, h/4 fall with the given order; the
// last must be below tol.
func order(t *testing.T, what string, errs []float64, least, tol float64) {
	t.Helper()
	t.Logf("%s: errors %.3g", what, errs)
	for i := 1; i < len(errs); i++ {
		if p := math.Log2(errs[i-1] / errs[i]); !(p >= least) {
			t.Errorf("%s: order %.3f from step %d to %d, want at least %g (errors %.3g)", what, p, i-1, i, least, errs)
		}
	}
	if last := errs[len(errs)-1]; !(last <= tol) {
		t.Errorf("%s: error %.3g at the finest spacing, want at most %.1g", what, last, tol)
	}
}

// lattice puts nx × ny samples into the box.
func lattice(box grid.Box, nx, ny int, support grid.Support) poisson.Lattice {
	l := poisson.Lattice{Origin: box.Min, NX: nx, NY: ny, Support: support}
	if support == grid.Cells {
		l.HX, l.HY = box.Width()/float64(nx), box.Height()/float64(ny)
		l.Origin.X += l.HX / 2
		l.Origin.Y += l.HY / 2
	} else {
		l.HX, l.HY = box.Width()/float64(nx-1), box.Height()/float64(ny-1)
	}
	return l
}

func box(x0, x1, y0, y1 float64) grid.Box {
	return grid.Box{Min: grid.Point{X: x0, Y: y0}, Max: grid.Point{X: x1, Y: y1}}
}

func sample(l poisson.Lattice, f func(x, y float64) float64) []float64 {
	out := make([]float64, l.Len())
	for k := range out {
		p := l.Point(k)
		out[k] = f(p.X, p.Y)
	}
	return out
}

// worst is the largest difference of a solution to a function.
func worst(l poisson.Lattice, psi []float64, exact func(x, y float64) float64) float64 {
	w := 0.0
	for k, v := range psi {
		p := l.Point(k)
		w = math.Max(w, math.Abs(v-exact(p.X, p.Y)))
	}
	return w
}

func solved(t *testing.T) func(psi []float64, err error) []float64 {
	return func(psi []float64, err error) []float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return psi
	}
}

func boxed(t *testing.T, l poisson.Lattice, f []float64, wall poisson.Wall) ([]float64, float64) {
	t.Helper()
	psi, mean, err := poisson.Box(l, f, wall)
	if err != nil {
		t.Fatal(err)
	}
	return psi, mean
}

// blob is exp(−r²/a²)/πa² about (x0, y0), and blobPotential its solution in free
// air, −(1/4π)[ln r² + E₁(r²/a²)]: the closed form of the Lamb–Oseen vortex.
func blob(a, x0, y0 float64) func(x, y float64) float64 {
	return func(x, y float64) float64 {
		r2 := (x-x0)*(x-x0) + (y-y0)*(y-y0)
		return math.Exp(-r2/(a*a)) / (math.Pi * a * a)
	}
}

// The answer is the same bits for one processor and for several.
func TestDeterministic(t *testing.T) {
	l := lattice(box(0, 3, 0, 2), 37, 41, grid.Cells)
	r := rand.New(rand.NewPCG(3, 3))
	f := make([]float64, l.Len())
	for k := range f {
		f[k] = r.NormFloat64()
	}
	run := func(procs int) (all []float64) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
		all = append(all, solved(t)(poisson.FreeAir(l, f))...)
		all = append(all, solved(t)(poisson.OverFloor(l, f, -0.1, poisson.Neumann))...)
		for _, w := range []poisson.Wall{poisson.Dirichlet, poisson.Neumann} {
			psi, _ := boxed(t, l, f, w)
			all = append(all, psi...)
		}
		return all
	}
	one := run(1)
	for _, procs := range []int{2, 3, 8} {
		if !slices.Equal(one, run(procs)) {
			t.Errorf("%d processors give another result than one", procs)
		}
	}
}

func TestFastSize(t *testing.T) {
	for n, want := range map[int]int{-3: 1, 1: 1, 7: 8, 11: 12, 13: 15, 17: 18, 97: 100, 541: 576, 1001: 1024, 2161: 2187} {
		if got := poisson.FastSize(n); got != want {
			t.Errorf("FastSize(%d) = %d, want %d", n, got, want)
		}
	}
}

func TestCovering(t *testing.T) {
	b := box(-5.4, 5.4, 0, 6.9)
	l, err := poisson.Covering(b, 0.0145)
	if err != nil {
		t.Fatal(err)
	}
	if l.HX > 0.0145 || l.HY > 0.0145 || l.HX < 0.013 || l.HY < 0.013 {
		t.Errorf("spacings %g × %g for at most 0.0145", l.HX, l.HY)
	}
	got := l.Box()
	near(t, "left", got.Min.X, -5.4, 1e-12)
	near(t, "top", got.Max.Y, 6.9, 1e-12)
	if l, err = poisson.Covering(box(0, 1, 0, 0.8), 0.1); err != nil || l.NX != 10 || l.NY != 8 {
		t.Errorf("%d × %d cells of 0.1 in 1 × 0.8, error %v", l.NX, l.NY, err)
	}
	for _, h := range []float64{0, -1, math.NaN(), 1e-9, math.Inf(1)} {
		if l, err := poisson.Covering(b, h); !errors.Is(err, poisson.ErrUnusable) {
			t.Errorf("spacing %g gives %+v, %v", h, l, err)
		}
	}
	if _, err := poisson.Covering(grid.EmptyBox(), 0.1); !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("the empty box gives %v", err)
	}
}

// What cannot be computed with is refused, not a panic.
func TestUnusable(t *testing.T) {
	good := lattice(box(0, 1, 0, 1), 6, 6, grid.Nodes)
	f := make([]float64, 36)
	with := func(change func(l *poisson.Lattice)) poisson.Lattice {
		l := good
		change(&l)
		return l
	}
	nan := slices.Clone(f)
	nan[7] = math.NaN()
	inf := slices.Clone(f)
	inf[35] = math.Inf(-1)
	cases := map[string]struct {
		l poisson.Lattice
		f []float64
	}{
		"too few columns":  {with(func(l *poisson.Lattice) { l.NX = 3 }), f[:18]},
		"too few rows":     {with(func(l *poisson.Lattice) { l.NY = 1 }), f[:6]},
		"negative":         {with(func(l *poisson.Lattice) { l.NY = -6 }), f},
		"too many":         {with(func(l *poisson.Lattice) { l.NX, l.NY = 1<<20, 1<<20 }), f},
		"no spacing":       {with(func(l *poisson.Lattice) { l.HX = 0 }), f},
		"NaN spacing":      {with(func(l *poisson.Lattice) { l.HY = math.NaN() }), f},
		"infinite spacing": {with(func(l *poisson.Lattice) { l.HY = math.Inf(1) }), f},
		"NaN origin":       {with(func(l *poisson.Lattice) { l.Origin.X = math.NaN() }), f},
		"short":            {good, f[:35]},
		"NaN":              {good, nan},
		"infinite":         {good, inf},
		"zero lattice":     {poisson.Lattice{}, nil},
	}
	for name, c := range cases {
		// Check knows the lattice alone; the rest is about the field.
		if onField := len(c.f) == 35 || len(c.f) == 36 && c.l == good; onField != (c.l.Check() == nil) {
			t.Errorf("%s: Check says %v", name, c.l.Check())
		}
		_, e1 := poisson.FreeAir(c.l, c.f)
		_, e2 := poisson.OverFloor(c.l, c.f, -1, poisson.Neumann)
		_, _, e3 := poisson.Box(c.l, c.f, poisson.Dirichlet)
		for i, err := range []error{e1, e2, e3} {
			if !errors.Is(err, poisson.ErrUnusable) {
				t.Errorf("%s, solver %d: error %v", name, i, err)
			}
		}
	}
	for _, floor := range []float64{0.1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := poisson.OverFloor(good, f, floor, poisson.Dirichlet); !errors.Is(err, poisson.ErrUnusable) {
			t.Errorf("floor at %g: error %v", floor, err)
		}
	}
	if _, _, err := poisson.Slopes(with(func(l *poisson.Lattice) { l.NX = 4 }), f[:24]); !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("order 4 on 4 columns: error %v", err)
	}
	even := []float64{0, 1, 2, 3}
	for name, x := range map[string][]float64{
		"uneven": {0, 1, 2.05, 3}, "few": {0, 1, 2}, "none": nil, "falling": {3, 2, 1, 0}, "one place": {1, 1, 1, 1},
		"NaN": {0, 1, math.NaN(), 3}, "NaN end": {0, 1, 2, math.NaN()}, "infinite": {0, 1, 2, math.Inf(1)},
	} {
		_, e1 := poisson.FromLines(x, even, grid.Nodes)
		_, e2 := poisson.FromLines(even, x, grid.Cells)
		if !errors.Is(e1, poisson.ErrUnusable) || !errors.Is(e2, poisson.ErrUnusable) {
			t.Errorf("%s lines: errors %v, %v", name, e1, e2)
		}
	}
	if l, err := poisson.FromLines([]float64{0, 1.005, 2, 3}, even, grid.Nodes); err != nil || l.HX != 1 {
		t.Errorf("lines within 1 %% of their places give %+v, %v", l, err)
	}
}
