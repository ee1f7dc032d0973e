package poisson_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/poisson"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %.1g (off by %.3g)", what, got, want, tol, got-want)
	}
}

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

// expInt is E₁(x) = ∫ₓ^∞ e^(−t)/t dt, x > 0 (M. Abramowitz, I. A. Stegun, Handbook of
// Mathematical Functions, 5.1.11 and 5.1.22, from memory).
func expInt(x float64) float64 {
	if x <= 1 {
		sum, term := -0.57721566490153286-math.Log(x), 1.0
		for n := 1.0; n < 30; n++ {
			term *= -x / n
			sum -= term / n
		}
		return sum
	}
	f := 0.0
	for n := 100.0; n > 0; n-- {
		f = n / (1 + n/(x+f))
	}
	return math.Exp(-x) / (x + f)
}

func blobPotential(a, x0, y0 float64) func(x, y float64) float64 {
	return func(x, y float64) float64 {
		s := ((x-x0)*(x-x0) + (y-y0)*(y-y0)) / (a * a)
		if s < 1e-12 {
			return -(2*math.Log(a) - 0.57721566490153286) / (4 * math.Pi)
		}
		return -(math.Log(s*a*a) + expInt(s)) / (4 * math.Pi)
	}
}

// Aguilar & Chen 2002 give 1.3105329259 for a square lattice (from memory). The
// rest are laws: lengths scale, axes may be exchanged.
func TestSelfLog(t *testing.T) {
	near(t, "square", poisson.SelfLog(1, 1), -1.3105329259, 5e-11)
	// The same from η(i) = Γ(1/4)/2π^(3/4), a closed form.
	eta := math.Gamma(0.25) / (2 * math.Pow(math.Pi, 0.75))
	near(t, "square by the gamma function", poisson.SelfLog(1, 1), -math.Log(2*math.Pi*eta*eta), 1e-14)
	near(t, "scaled", poisson.SelfLog(3e-3, 1e-2), math.Log(1e-3)+poisson.SelfLog(3, 10), 1e-13)
	near(t, "exchanged", poisson.SelfLog(0.2, 0.7), poisson.SelfLog(0.7, 0.2), 0)
	// For long thin cells the other lines contribute nothing but Stirling's constant
	// and the mean field: ln h − ln 2π + πτ/6.
	near(t, "thin", poisson.SelfLog(1, 30), -math.Log(2*math.Pi)+5*math.Pi, 1e-12)
}

// ∫ e^(−r²) ln r dS = −πγ/2, by Γ'(1) = −γ. The rule with SelfLog is of order 4,
// whatever the aspect of the lattice.
func TestSelfLogMakesOrderFour(t *testing.T) {
	want := -math.Pi * 0.57721566490153286 / 2
	for _, ratio := range []float64{1, 0.5, 2.5} {
		var errs []float64
		for _, hx := range []float64{0.2, 0.1, 0.05} {
			hy := hx * ratio
			sum := poisson.SelfLog(hx, hy)
			for j := -int(6 / hy); j <= int(6/hy); j++ {
				for i := -int(6 / hx); i <= int(6/hx); i++ {
					if r2 := float64(i*i)*hx*hx + float64(j*j)*hy*hy; r2 > 0 {
						sum += math.Exp(-r2) * math.Log(r2) / 2
					}
				}
			}
			errs = append(errs, math.Abs(hx*hy*sum-want))
		}
		order(t, "log rule", errs, 3.9, 1e-4)
	}
}

// A Gaussian in free air, on lattices whose spacings differ.
func TestFreeAirGaussian(t *testing.T) {
	const a = 0.1
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		var errs []float64
		for _, n := range []int{48, 96, 192} {
			l := lattice(box(-0.7, 0.6, -0.5, 0.6), n, 2*n/3, support)
			psi := solved(t)(poisson.FreeAir(l, sample(l, blob(a, 0.01, 0.02))))
			errs = append(errs, worst(l, psi, blobPotential(a, 0.01, 0.02)))
		}
		order(t, "free air, "+support.String(), errs, 3.8, 5e-6)
	}
}

// The transforms against the double sum that they stand for, with odd sizes, both
// supports, and a floor at any height.
func TestFreeAirIsTheLatticeSum(t *testing.T) {
	for _, n := range [][2]int{{4, 4}, {5, 4}, {7, 12}, {13, 9}} {
		for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
			l := poisson.Lattice{Origin: grid.Point{X: -1, Y: 0.37}, HX: 0.3, HY: 0.11, NX: n[0], NY: n[1], Support: support}
			r := rand.New(rand.NewPCG(5, uint64(n[0])))
			f := make([]float64, l.Len())
			for k := range f {
				f[k] = r.NormFloat64()
			}
			log := func(dx, dy float64) float64 {
				if dx == 0 && dy == 0 {
					return poisson.SelfLog(l.HX, l.HY)
				}
				return math.Log(math.Hypot(dx, dy))
			}
			for _, sign := range []float64{0, -1, 1} {
				want := make([]float64, l.Len())
				for k := range want {
					p := l.Point(k)
					for m, v := range f {
						q := l.Point(m)
						want[k] -= l.Weight(m) * v * log(p.X-q.X, float64(k/l.NX-m/l.NX)*l.HY) / (2 * math.Pi)
						if sign != 0 {
							want[k] -= sign * l.Weight(m) * v * log(p.X-q.X, p.Y+q.Y-2*0.25) / (2 * math.Pi)
						}
					}
				}
				var psi []float64
				switch sign {
				case 0:
					psi = solved(t)(poisson.FreeAir(l, f))
				case -1:
					psi = solved(t)(poisson.OverFloor(l, f, 0.25, poisson.Dirichlet))
				case 1:
					psi = solved(t)(poisson.OverFloor(l, f, 0.25, poisson.Neumann))
				}
				for k := range psi {
					near(t, "ψ", psi[k], want[k], 1e-13)
				}
			}
		}
	}
}

// A floor is the same as a mirrored field in free air, when the mirrored lattice
// continues the lattice: cells on the floor, and nodes with the lowest row on it.
func TestFloorIsMirror(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 1))
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		for _, wall := range []poisson.Wall{poisson.Dirichlet, poisson.Neumann} {
			l := lattice(box(0, 1.2, 0.5, 1.3), 9, 8, support)
			both := lattice(box(0, 1.2, -0.3, 1.3), 9, 16, support)
			skip := 8
			if support == grid.Nodes {
				both.NY, skip = 15, 7 // the row on the floor is shared
				both.HY = l.HY
			}
			f, g := make([]float64, l.Len()), make([]float64, both.Len())
			for k := range f {
				f[k] = r.NormFloat64()
			}
			sign := 1.0
			if wall == poisson.Dirichlet {
				sign = -1
			}
			for j := range l.NY {
				for i := range l.NX {
					v := f[j*l.NX+i]
					up, down := (j+skip)*l.NX+i, (both.NY-1-j-skip)*l.NX+i
					g[up] = v
					g[down] = sign * v
					if up == down && sign < 0 {
						g[up] = 0 // odd across the floor
					}
				}
			}
			psi := solved(t)(poisson.OverFloor(l, f, 0.5, wall))
			want := solved(t)(poisson.FreeAir(both, g))[skip*l.NX:]
			for k := range psi {
				near(t, wall.String(), psi[k], want[k], 1e-13)
			}
			if wall == poisson.Dirichlet && support == grid.Nodes {
				for i := range l.NX {
					near(t, "ψ on the floor", psi[i], 0, 1e-14)
				}
			}
		}
	}
}

// A floor a hair off a row of nodes is on it, above or below: ψ = 0 there.
func TestFloorOnRow(t *testing.T) {
	l := lattice(box(0, 1, 0.3, 1), 8, 8, grid.Nodes)
	f := sample(l, blob(0.3, 0.5, 0.4))
	want := solved(t)(poisson.OverFloor(l, f, 0.3, poisson.Dirichlet))
	for _, off := range []float64{0.009, -0.009} {
		psi := solved(t)(poisson.OverFloor(l, f, 0.3+off*l.HY, poisson.Dirichlet))
		if !slices.Equal(psi, want) {
			t.Errorf("floor %g of the spacing off changes the result", off)
		}
	}
	if _, err := poisson.OverFloor(l, f, 0.3+0.011*l.HY, poisson.Dirichlet); !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("floor 1.1 %% of the spacing above the lowest row: error %v", err)
	}
}

// A Gaussian above a floor that lies on no line of the lattice: order 4 is kept,
// since the field fades before the floor.
func TestOverFloorGaussian(t *testing.T) {
	const a, y0, floor = 0.1, 0.45, 0.013
	for wall, sign := range map[poisson.Wall]float64{poisson.Dirichlet: -1, poisson.Neumann: 1} {
		exact := func(x, y float64) float64 {
			return blobPotential(a, 0, y0)(x, y) + sign*blobPotential(a, 0, 2*floor-y0)(x, y)
		}
		var errs []float64
		for _, n := range []int{40, 80, 160} {
			l := lattice(box(-0.6, 0.5, 0.02, 1), n, n, grid.Nodes)
			psi := solved(t)(poisson.OverFloor(l, sample(l, blob(a, 0, y0)), floor, wall))
			errs = append(errs, worst(l, psi, exact))
		}
		order(t, "floor, "+wall.String(), errs, 3.8, 1e-5)
	}
}

// Every mode that a lattice can hold is solved exactly: this pins which samples each
// transform of the library stands for, for all small sizes and for odd and prime ones.
func TestBoxModes(t *testing.T) {
	for n := 4; n <= 13; n++ {
		for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
			for _, wall := range []poisson.Wall{poisson.Dirichlet, poisson.Neumann} {
				ny := 17 - n
				l := lattice(box(-1, 1.5, 2, 3), n, ny, support)
				lo, hx, hy := 0, n-1, ny-1
				if wall == poisson.Dirichlet {
					lo = 1
					if support == grid.Nodes {
						hx, hy = n-2, ny-2
					} else {
						hx, hy = n, ny
					}
				}
				for a := lo; a <= hx; a++ {
					for b := lo; b <= hy; b++ {
						if a == 0 && b == 0 {
							continue
						}
						kx, ky := math.Pi*float64(a)/2.5, math.Pi*float64(b)
						mode := func(x, y float64) float64 {
							if wall == poisson.Dirichlet {
								return math.Sin(kx*(x+1)) * math.Sin(ky*(y-2))
							}
							return math.Cos(kx*(x+1)) * math.Cos(ky*(y-2))
						}
						f := sample(l, mode)
						psi, mean := boxed(t, l, f, wall)
						near(t, "mean", mean, 0, 1e-14)
						for k := range psi {
							near(t, "mode", psi[k], f[k]/(kx*kx+ky*ky), 1e-14)
						}
						if t.Failed() {
							t.Fatalf("n %d × %d, %v, %v, mode %d, %d", n, ny, support, wall, a, b)
						}
					}
				}
			}
		}
	}
}

// ∇²ψ = −1 in the unit square is Saint-Venant's torsion of a square bar: ∫ψ =
// 0.1405770/4 and ψ in the middle 0.0736713 (S. Timoshenko, J. N. Goodier, Theory
// of Elasticity §109, from memory; both are sums of its series). f does not fade on
// the walls: order 2.
func TestBoxTorsion(t *testing.T) {
	// Series in odd n: middle 1/8 − (4/π³) Σ (−1)^((n−1)/2) / (n³ cosh nπ/2), integral
	// (1/12)(1 − (192/π⁵) Σ tanh(nπ/2)/n⁵).
	middle, whole, sign := 0.125, 1.0/12, 1.0
	for n := 1.0; n < 200; n += 2 {
		middle -= 4 / math.Pow(math.Pi, 3) * sign / (n * n * n * math.Cosh(n*math.Pi/2))
		whole -= 16 / math.Pow(math.Pi, 5) * math.Tanh(n*math.Pi/2) / math.Pow(n, 5)
		sign = -sign
	}
	near(t, "published middle", middle, 0.0736713, 1e-7)
	near(t, "published integral", whole, 0.1405770/4, 1e-7)
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		var eMiddle, eWhole []float64
		for _, n := range []int{16, 32, 64} {
			odd := n + 1 // a sample in the middle
			l := lattice(box(0, 1, 0, 1), odd, odd, support)
			f := make([]float64, l.Len())
			for k := range f {
				f[k] = 1
			}
			psi, _ := boxed(t, l, f, poisson.Dirichlet)
			eMiddle = append(eMiddle, math.Abs(psi[l.Len()/2]-middle))
			eWhole = append(eWhole, math.Abs(l.Integrate(func(k int) float64 { return psi[k] })-whole))
		}
		order(t, "torsion, middle, "+support.String(), eMiddle, 1.8, 1e-4)
		order(t, "torsion, integral, "+support.String(), eWhole, 1.8, 1e-4)
	}
}

// Manufactured solutions with the boundary condition built in and a source that
// meets it, no finite series: errors fall faster than any power of the spacing.
func TestBoxManufactured(t *testing.T) {
	cases := []struct {
		wall   poisson.Wall
		psi, f func(x, y float64) float64
	}{
		{poisson.Dirichlet, func(x, y float64) float64 {
			return math.Sin(x) * math.Exp(math.Cos(x)) * math.Sin(2*y)
		}, func(x, y float64) float64 {
			// d²/dx² sin x e^(cos x) = −e^(cos x) sin x (1 + 3 cos x − sin² x)
			s, c := math.Sincos(x)
			return math.Exp(c) * s * math.Sin(2*y) * (1 + 3*c - s*s + 4)
		}},
		{poisson.Neumann, func(x, y float64) float64 {
			return math.Exp(math.Cos(x)) * math.Cos(y)
		}, func(x, y float64) float64 {
			// d²/dx² e^(cos x) = e^(cos x) (sin² x − cos x)
			s, c := math.Sincos(x)
			return math.Exp(c) * math.Cos(y) * (1 + c - s*s)
		}},
	}
	for _, c := range cases {
		for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
			var last float64
			for _, n := range []int{8, 16, 32} {
				l := lattice(box(0, math.Pi, 0, math.Pi), n, n+3, support)
				psi, _ := boxed(t, l, sample(l, c.f), c.wall)
				e := worst(l, psi, c.psi)
				if n > 8 && !(e < last/100 || e < 1e-13) {
					t.Errorf("%v, %v: error %.3g at n = %d after %.3g", c.wall, support, e, n, last)
				}
				last = e
			}
			near(t, "finest", last, 0, 1e-13)
		}
	}
}

// A mean that Neumann walls have no room for is taken off and returned.
func TestBoxMean(t *testing.T) {
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		l := lattice(box(0, 2, 0, 1), 11, 8, support)
		f := sample(l, func(x, y float64) float64 { return 3 + math.Cos(math.Pi*x/2) })
		psi, mean := boxed(t, l, f, poisson.Neumann)
		near(t, "mean", mean, 3, 1e-13)
		near(t, "mean of ψ", l.Integrate(func(k int) float64 { return psi[k] }), 0, 1e-13)
		near(t, "ψ", worst(l, psi, func(x, y float64) float64 { return math.Cos(math.Pi*x/2) * 4 / (math.Pi * math.Pi) }), 0, 1e-13)
	}
}

// A Gaussian in a section against its images, which all but fill the plane: the sum
// over images in y of rows of images in x, −(1/4π) ln[2 cosh(2πy/L) − 2 cos(2πx/L)],
// L = 2 widths, converges like e^(−πn·height/width).
func TestBoxImages(t *testing.T) {
	const w, h, a, x0, y0 = 1.5, 1.0, 0.06, 0.5, 0.62
	row := func(x, y float64) float64 {
		k := math.Pi / w
		return -math.Log(2*math.Cosh(k*y)-2*math.Cos(k*x)) / (4 * math.Pi)
	}
	exact := func(x, y float64) float64 {
		s := 0.0
		for n := -12; n <= 12; n++ {
			up, down := y-(y0+2*float64(n)*h), y-(-y0+2*float64(n)*h)
			s += row(x-x0, up) - row(x+x0, up) - row(x-x0, down) + row(x+x0, down)
		}
		// Put the core of the vortex itself in the place of its point.
		if r := math.Hypot(x-x0, y-y0); r > 0 {
			s += math.Log(r)/(2*math.Pi) + blobPotential(a, x0, y0)(x, y)
		}
		return s
	}
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		var last float64
		for _, n := range []int{16, 32, 64} {
			l := lattice(box(0, w, 0, h), n+n/2, n, support)
			psi, _ := boxed(t, l, sample(l, blob(a, x0, y0)), poisson.Dirichlet)
			last = worst(l, psi, exact)
			t.Logf("%v n %d: %.3g", support, n, last)
		}
		near(t, "images", last, 0, 1e-9)
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

// Differences of order p are exact for polynomials of degree p, at the border too,
// and converge with that order.
func TestSlopes(t *testing.T) {
	for _, p := range []int{2, 4} {
		l := lattice(box(-1, 1, 0, 1), 9, 7, grid.Nodes)
		q := float64(p)
		dx, dy, err := poisson.Slopes(l, sample(l, func(x, y float64) float64 { return math.Pow(x+2, q) + 3*math.Pow(y, q)*x }), p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "∂/∂x", worst(l, dx, func(x, y float64) float64 { return q*math.Pow(x+2, q-1) + 3*math.Pow(y, q) }), 0, 1e-12)
		near(t, "∂/∂y", worst(l, dy, func(x, y float64) float64 { return 3 * q * math.Pow(y, q-1) * x }), 0, 1e-12)
		var errs []float64
		for _, n := range []int{32, 64, 128} {
			l := lattice(box(0, 3, 0, 1), n, n, grid.Cells)
			dx, _, err := poisson.Slopes(l, sample(l, func(x, y float64) float64 { return math.Sin(x) * math.Exp(y) }), p)
			if err != nil {
				t.Fatal(err)
			}
			errs = append(errs, worst(l, dx, func(x, y float64) float64 { return math.Cos(x) * math.Exp(y) }))
		}
		order(t, "slopes", errs, q-0.15, 1e-3)
	}
	l := lattice(box(0, 1, 0, 1), 13, 13, grid.Nodes)
	f := make([]float64, 169)
	f[6*13+6] = math.NaN()
	dx, dy, err := poisson.Slopes(l, f, 4)
	if err != nil {
		t.Fatal(err)
	}
	lost := func(a []float64) (n int) {
		for _, v := range a {
			if math.IsNaN(v) {
				n++
			}
		}
		return n
	}
	// The four differences of its own line that weigh it; its own place does not.
	if lost(dx) != 4 || lost(dy) != 4 {
		t.Errorf("one NaN spoils %d and %d slopes, want 4 and 4", lost(dx), lost(dy))
	}
}

// triangulated is a lattice whose inner points are moved at random and whose
// quadrilaterals are cut in two, but for those in the hole.
func triangulated(n int, in grid.Box, hole grid.Box, seed uint64) *grid.Mesh {
	r := rand.New(rand.NewPCG(seed, 2))
	m := &grid.Mesh{Kind: grid.KindTriangles}
	hx, hy := in.Width()/float64(n-1), in.Height()/float64(n-1)
	for j := range n {
		for i := range n {
			p := grid.Point{X: in.Min.X + hx*float64(i), Y: in.Min.Y + hy*float64(j)}
			if i > 0 && i < n-1 && j > 0 && j < n-1 {
				p.X += hx * 0.3 * (r.Float64() - 0.5)
				p.Y += hy * 0.3 * (r.Float64() - 0.5)
			}
			m.Points = append(m.Points, p)
		}
	}
	for j := range n - 1 {
		for i := range n - 1 {
			a := int32(j*n + i)
			if hole.Contains(m.Points[a]) {
				continue
			}
			m.Triangles = append(m.Triangles, a, a+1, a+int32(n)+1, a, a+int32(n)+1, a+int32(n))
		}
	}
	return m
}

// Resampling gives linear fields back exactly, and a lattice its own values.
func TestResample(t *testing.T) {
	linear := func(x, y float64) float64 { return 2 - 3*x + 0.5*y }
	m := triangulated(12, box(-1, 1, 0, 2), grid.EmptyBox(), 4)
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	f := make([]float64, len(m.Points))
	for i, p := range m.Points {
		f[i] = linear(p.X, p.Y)
	}
	l := lattice(box(-1, 1, 0, 2), 23, 31, grid.Nodes)
	out, missing, err := poisson.Resample(m, l, poisson.RefuseHoles, f, f)
	if err != nil || missing != 0 {
		t.Fatal(missing, err)
	}
	near(t, "linear on triangles", worst(l, out[0], linear), 0, 1e-13)
	if !slices.Equal(out[0], out[1]) {
		t.Error("the same field twice gives two results")
	}

	own := lattice(box(0, 1, 0, 1), 6, 5, grid.Nodes)
	mesh := &grid.Mesh{Lattice: &grid.Lattice{}}
	for i := range own.NX {
		mesh.Lattice.X = append(mesh.Lattice.X, own.Point(i).X)
	}
	for j := range own.NY {
		mesh.Lattice.Y = append(mesh.Lattice.Y, own.Point(j*own.NX).Y)
	}
	r := rand.New(rand.NewPCG(9, 9))
	g := make([]float64, own.Len())
	for k := range g {
		mesh.Points = append(mesh.Points, own.Point(k))
		// Sample k stands in place perm(k): 7 and 30 have no common factor.
		mesh.Lattice.Index = append(mesh.Lattice.Index, int32(k*7%30))
		g[k] = r.NormFloat64()
	}
	for k, s := range mesh.Lattice.Index {
		mesh.Points[s] = own.Point(k)
	}
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		mesh := &grid.Mesh{Lattice: mesh.Lattice, Points: mesh.Points, Support: support}
		got, order, ok := poisson.FromMesh(mesh)
		if !ok || got.NX != own.NX || got.NY != own.NY || got.Support != support {
			t.Fatalf("lattice %+v, %v", got, ok)
		}
		out, _, err = poisson.Resample(mesh, got, poisson.RefuseHoles, g)
		if err != nil {
			t.Fatal(err)
		}
		for k := range out[0] {
			near(t, "own value", out[0][k], g[order[k]], 1e-14)
		}
	}
}

// Samples of cells reach half a cell beyond the outermost centres, where the value is
// that of the border cell.
func TestResampleCells(t *testing.T) {
	from := lattice(box(0, 1, 0, 1), 5, 4, grid.Cells)
	m := &grid.Mesh{Support: grid.Cells, Lattice: &grid.Lattice{X: []float64{0.1, 0.3, 0.5, 0.7, 0.9}, Y: []float64{0.125, 0.375, 0.625, 0.875}}}
	for k := range from.Len() {
		m.Points = append(m.Points, from.Point(k))
		m.Lattice.Index = append(m.Lattice.Index, int32(k))
	}
	f := sample(from, func(x, y float64) float64 { return x })
	to := lattice(box(0, 1, 0, 1), 40, 40, grid.Cells)
	out, missing, err := poisson.Resample(m, to, poisson.RefuseHoles, f)
	if err != nil || missing != 0 {
		t.Fatal(missing, err)
	}
	near(t, "between centres", worst(to, out[0], func(x, y float64) float64 { return math.Min(math.Max(x, 0.1), 0.9) }), 0, 1e-14)
	_, _, err = poisson.Resample(m, to, poisson.RefuseHoles)
	if !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("no field gives the error %v", err)
	}
	_, _, err = poisson.Resample(m, to, poisson.RefuseHoles, f[:3])
	if !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("three values for twenty samples give the error %v", err)
	}
}

// Openings are refused, or filled and counted, as asked.
func TestResampleHoles(t *testing.T) {
	m := triangulated(21, box(0, 1, 0, 1), box(0.39, 0.56, 0.39, 0.56), 8)
	f := make([]float64, len(m.Points))
	for i := range f {
		f[i] = 1
	}
	l := lattice(box(0, 1, 0, 1), 40, 40, grid.Cells)
	_, missing, err := poisson.Resample(m, l, poisson.RefuseHoles, f)
	if !errors.Is(err, poisson.ErrUnusable) || missing == 0 {
		t.Errorf("a mesh with a hole gives %d missing and the error %v", missing, err)
	}
	zero, n, err := poisson.Resample(m, l, poisson.ZeroHoles, f)
	if err != nil || n != missing {
		t.Errorf("%d missing after %d, error %v", n, missing, err)
	}
	mark, _, err := poisson.Resample(m, l, poisson.MarkHoles, f)
	if err != nil {
		t.Fatal(err)
	}
	holes := 0
	for k, v := range zero[0] {
		if v == 0 != math.IsNaN(mark[0][k]) || v != 0 && math.Abs(v-1) > 1e-12 {
			t.Fatalf("sample %d is %g filled and %g marked", k, v, mark[0][k])
		}
		if v == 0 {
			holes++
		}
	}
	// 16 quadrilaterals of 400 are open: 64 of 1600 samples, less or more what the
	// moved points change.
	if holes != missing || holes < 50 || holes > 80 {
		t.Errorf("%d samples in the hole, %d counted, about 64 expected", holes, missing)
	}
	// A lattice that reaches beyond the mesh has its outside among the missing.
	_, n, err = poisson.Resample(m, lattice(box(0, 2, 0, 1), 80, 40, grid.Cells), poisson.ZeroHoles, f)
	if err != nil || n != missing+1600 {
		t.Errorf("%d missing with as much again outside, want %d; error %v", n, missing+1600, err)
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
	if _, _, err := poisson.Box(good, f, poisson.Wall(7)); !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("wall 7: error %v", err)
	}
	if _, _, err := poisson.Slopes(good, f, 3); !errors.Is(err, poisson.ErrUnusable) {
		t.Errorf("order 3: error %v", err)
	}
	if _, _, err := poisson.Slopes(with(func(l *poisson.Lattice) { l.NX = 4 }), f[:24], 4); !errors.Is(err, poisson.ErrUnusable) {
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

func BenchmarkFreeAir(b *testing.B) {
	for _, n := range []int{100, 1000} {
		b.Run(fmt.Sprintf("n=1e%d", int(math.Log10(float64(n*n)))), func(b *testing.B) {
			l := lattice(box(-1, 1, -1, 1), n, n, grid.Cells)
			f := sample(l, blob(0.1, 0, 0))
			for b.Loop() {
				if _, err := poisson.FreeAir(l, f); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkBox(b *testing.B) {
	for _, n := range []int{100, 1000} {
		b.Run(fmt.Sprintf("n=1e%d", int(math.Log10(float64(n*n)))), func(b *testing.B) {
			l := lattice(box(-1, 1, -1, 1), n, n, grid.Cells)
			f := sample(l, blob(0.1, 0, 0))
			for b.Loop() {
				if _, _, err := poisson.Box(l, f, poisson.Dirichlet); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
