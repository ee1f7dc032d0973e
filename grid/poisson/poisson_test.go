package poisson_test

import (
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
		all = append(all, poisson.FreeAir(l, f)...)
		all = append(all, poisson.OverFloor(l, f, poisson.Neumann)...)
		for _, w := range []poisson.Wall{poisson.Dirichlet, poisson.Neumann} {
			all = append(all, poisson.Box(l, f, w)...)
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
		if l, err := poisson.Covering(b, h); err == nil {
			t.Errorf("spacing %g gives %+v, %v", h, l, err)
		}
	}
	if _, err := poisson.Covering(grid.EmptyBox(), 0.1); err == nil {
		t.Errorf("the empty box gives %v", err)
	}
}

// What cannot be computed with is refused.
func TestCheck(t *testing.T) {
	for name, change := range map[string]func(l *poisson.Lattice){
		"too few columns":  func(l *poisson.Lattice) { l.NX = 4 },
		"too few rows":     func(l *poisson.Lattice) { l.NY = 1 },
		"negative":         func(l *poisson.Lattice) { l.NY = -6 },
		"too many":         func(l *poisson.Lattice) { l.NX, l.NY = 1<<20, 1<<20 },
		"no spacing":       func(l *poisson.Lattice) { l.HX = 0 },
		"NaN spacing":      func(l *poisson.Lattice) { l.HY = math.NaN() },
		"infinite spacing": func(l *poisson.Lattice) { l.HY = math.Inf(1) },
		"NaN origin":       func(l *poisson.Lattice) { l.Origin.X = math.NaN() },
	} {
		l := lattice(box(0, 1, 0, 1), 6, 6, grid.Nodes)
		if change(&l); l.Check() == nil {
			t.Errorf("%s: not refused", name)
		}
	}
	even := []float64{0, 1, 2, 3, 4}
	for name, c := range map[string]struct {
		x  []float64
		ok bool
	}{
		"even": {even, true}, "within 1 %": {[]float64{0, 1.005, 2, 3, 4}, true}, "uneven": {[]float64{0, 1, 2.05, 3, 4}, false},
	} {
		for _, turned := range []bool{false, true} {
			l := &grid.Lattice{X: c.x, Y: even, Index: make([]int32, len(c.x)*len(even))}
			if turned {
				l.X, l.Y = l.Y, l.X
			}
			if got, _, ok := poisson.FromMesh(&grid.Mesh{Lattice: l}); ok != c.ok || ok && got.HX != 1 {
				t.Errorf("%s lines give %+v, %v", name, got, ok)
			}
		}
	}
}
