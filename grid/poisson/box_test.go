package poisson_test

import (
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/poisson"
)

// Every mode that a lattice can hold is solved exactly: this pins which samples each
// transform of the library represents, for all small sizes and for odd and prime ones.
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
						psi := poisson.Box(l, f, wall)
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
			psi := poisson.Box(l, f, poisson.Dirichlet)
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
				psi := poisson.Box(l, sample(l, c.f), c.wall)
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

// A mean that Neumann walls have no room for is taken off.
func TestBoxMean(t *testing.T) {
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		l := lattice(box(0, 2, 0, 1), 11, 8, support)
		f := sample(l, func(x, y float64) float64 { return 3 + math.Cos(math.Pi*x/2) })
		psi := poisson.Box(l, f, poisson.Neumann)
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
			psi := poisson.Box(l, sample(l, blob(a, x0, y0)), poisson.Dirichlet)
			last = worst(l, psi, exact)
			t.Logf("%v n %d: %.3g", support, n, last)
		}
		near(t, "images", last, 0, 1e-9)
	}
}
