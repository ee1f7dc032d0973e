package poisson_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/poisson"
)

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
			psi := poisson.FreeAir(l, sample(l, blob(a, 0.01, 0.02)))
			errs = append(errs, worst(l, psi, blobPotential(a, 0.01, 0.02)))
		}
		order(t, "free air, "+support.String(), errs, 3.8, 5e-6)
	}
}

// The transforms against the double sum that they represent, with odd sizes, both
// supports, and a floor at any height: also on the lowest row, whose mirror is itself, and on
// the lower border of cells.
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
			onRow := l.Origin.Y
			if support == grid.Cells {
				onRow -= l.HY / 2
			}
			for _, c := range []struct{ sign, floor float64 }{{}, {-1, 0.25}, {1, 0.25}, {-1, onRow}, {1, onRow}} {
				want := make([]float64, l.Len())
				for k := range want {
					p := l.Point(k)
					for m, v := range f {
						q := l.Point(m)
						want[k] -= l.Weight(m) * v * log(p.X-q.X, float64(k/l.NX-m/l.NX)*l.HY) / (2 * math.Pi)
						if c.sign != 0 {
							want[k] -= c.sign * l.Weight(m) * v * log(p.X-q.X, p.Y+q.Y-2*c.floor) / (2 * math.Pi)
						}
					}
				}
				over := l
				over.Origin.Y -= c.floor
				var psi []float64
				switch c.sign {
				case 0:
					psi = poisson.FreeAir(l, f)
				case -1:
					psi = poisson.OverFloor(over, f, poisson.Dirichlet)
				case 1:
					psi = poisson.OverFloor(over, f, poisson.Neumann)
				}
				for k := range psi {
					near(t, "ψ", psi[k], want[k], 1e-13)
				}
			}
		}
	}
}

// A floor a hair off a row of nodes is on it, above or below: ψ = 0 there.
func TestFloorOnRow(t *testing.T) {
	l := lattice(box(0, 1, 0, 0.7), 8, 8, grid.Nodes)
	f := sample(l, blob(0.3, 0.5, 0.1))
	want := poisson.OverFloor(l, f, poisson.Dirichlet)
	for _, off := range []float64{0.009, -0.009} {
		l.Origin.Y = off * l.HY
		if !slices.Equal(poisson.OverFloor(l, f, poisson.Dirichlet), want) {
			t.Errorf("floor %g of the spacing off changes the result", off)
		}
	}
}

// A Gaussian above a floor that lies on no line of the lattice: order 4 is kept,
// since the field fades before the floor.
func TestOverFloorGaussian(t *testing.T) {
	const a, y0 = 0.1, 0.437
	for wall, sign := range map[poisson.Wall]float64{poisson.Dirichlet: -1, poisson.Neumann: 1} {
		exact := func(x, y float64) float64 {
			return blobPotential(a, 0, y0)(x, y) + sign*blobPotential(a, 0, -y0)(x, y)
		}
		var errs []float64
		for _, n := range []int{40, 80, 160} {
			l := lattice(box(-0.6, 0.5, 0.007, 0.987), n, n, grid.Nodes)
			psi := poisson.OverFloor(l, sample(l, blob(a, 0, y0)), wall)
			errs = append(errs, worst(l, psi, exact))
		}
		order(t, fmt.Sprint("floor, wall ", wall), errs, 3.8, 1e-5)
	}
}
