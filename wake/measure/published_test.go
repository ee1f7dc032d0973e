package measure_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	gonumquad "gonum.org/v1/gonum/integrate/quad"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// The fields and values below are closed forms; each test names where the field
// comes from.

var near = gridtest.Near

// velocityDensity is the integrand of the velocity alone.
func velocityDensity(u float64) float64 { return 2 * u * (1 - u) }

func plane(t *testing.T, s *wake.Samples, support grid.Support) *wake.Plane {
	t.Helper()
	ps, err := wake.Planes(s, wake.PlaneOptions{Support: support, SupportBy: "flag"})
	if err != nil {
		t.Fatal(err)
	}
	if len(ps) != 1 {
		t.Fatalf("%d planes, want 1", len(ps))
	}
	return ps[0]
}

func run(t *testing.T, p *wake.Plane, opt measure.Options) *measure.Result {
	t.Helper()
	if opt.Reference.Speed == 0 {
		opt.Reference = waketest.Reference()
	}
	return mustTake(t, p, opt).Result
}

func mustTake(t *testing.T, p *wake.Plane, opt measure.Options) *measure.Measurement {
	t.Helper()
	m, err := measure.Take(p, opt)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func box(y0, y1, z0, z1 float64) grid.Box {
	return grid.Box{Min: grid.Point{X: y0, Y: z0}, Max: grid.Point{X: y1, Y: z1}}
}

// Three forms of the momentum integral agree pointwise, for any state: Onorato,
// Costelli & Garrone, SAE 840302 (1984), and Drela, AIAA J. 47 (2009) 1761; both
// are identities in the incompressible Bernoulli sum.
func TestThreeFormsAgreePointwise(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 10000 {
		u, v, w, cp := 3*r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), 2*r.NormFloat64()
		want := measure.MomentumDensity(cp, 1, u)
		a, b, c := measure.ThreeTerms(1, cp, 1, u, v, w)
		scale := 1 + math.Abs(a) + math.Abs(b) + math.Abs(c)
		near(t, "three terms", (a+b+c)/scale, want/scale, 1e-12)
		d, e, f, g := measure.EnergyTerms(1, cp, u, v, w)
		scale = 1 + math.Abs(d) + math.Abs(e) + math.Abs(f) + math.Abs(g)
		near(t, "energy", (d+e+f+g)/scale, want/scale, 1e-12)
		// Variable density: the split holds for any ratio.
		rho := 0.2 + r.Float64()
		a, b, c = measure.ThreeTerms(1, cp, rho, u, v, w)
		scale = 1 + math.Abs(a) + math.Abs(b) + math.Abs(c)
		near(t, "three terms, density ratio", (a+b+c)/scale, measure.MomentumDensity(cp, rho, u)/scale, 1e-12)
		if t.Failed() {
			t.Fatalf("u=%g v=%g w=%g cp=%g", u, v, w, cp)
		}
	}
}

// topHat is a parallel wake of u over a rectangle of the given sides.
func topHat(u, y, z float64) waketest.Field {
	return func(a, b float64) waketest.State {
		if math.Abs(a) < y/2 && math.Abs(b) < z/2 {
			return waketest.State{U: u}
		}
		return waketest.State{U: 1}
	}
}

// A parallel top-hat wake of u = 0.5 at p∞ (Betz 1925).
func TestTopHatWake(t *testing.T) {
	p := plane(t, waketest.Centres(topHat(0.5, 1, 1), -1, 1, -1, 1, 20, 20), grid.Cells)
	r := run(t, p, measure.Options{})
	near(t, "total-pressure term", r.Drag.Momentum.Terms.TotalPressure, 0.75, 1e-12)
	near(t, "effective area", *r.Wake.Effective, 1, 1e-12)
	near(t, "displacement area", *r.Wake.Displacement, 0.5, 1e-12)
}

// The axisymmetric Gaussian wake of depth 0.5 and width 0.2 (self-similar wake,
// Bastankhah & Porté-Agel 2014), all closed forms in ε and σ.
func TestGaussianWake(t *testing.T) {
	const eps, sigma = 0.5, 0.2
	g := waketest.Gaussian(eps, sigma, 0, 0)
	s2 := math.Pi * sigma * sigma
	p := plane(t, waketest.Lattice(g, -1.2, 1.2, -1.2, 1.2, 193, 193), grid.Nodes)
	for _, weight := range []measure.Weight{measure.WeightDeficit, measure.WeightTotalPressure, measure.WeightMomentum} {
		r := run(t, p, measure.Options{Weight: weight, Thresholds: []float64{0.01, 0.05, 0.1}, Floor: "none"})
		d := r.Drag
		near(t, "drag area", d.Momentum.DragArea, 0.18849556, 1e-5)
		near(t, "drag area, closed form", d.Momentum.DragArea, 2*s2*eps*(2-eps), 1e-5)
		near(t, "total pressure", d.Momentum.Terms.TotalPressure, 0.21991149, 1e-5)
		near(t, "axial", d.Momentum.Terms.Axial, -0.03141593, 1e-5)
		near(t, "cross-flow", d.Momentum.Terms.Crossflow, 0, 1e-12)
		near(t, "dissipation", d.Energy.Dissipation, 0.16755161, 1e-5)
		near(t, "axial energy", d.Energy.Axial, 0.02094395, 1e-5)
		near(t, "cross-flow energy", d.Energy.Crossflow, 0, 1e-12)
		near(t, "pressure work", d.Energy.Pressure, 0, 1e-12)
		near(t, "maturity", *d.Energy.Maturity, 0.16755161/0.18849556, 1e-5)
		near(t, "displacement area", *r.Wake.Displacement, 0.12566371, 1e-4)
		near(t, "momentum area", *r.Wake.MomentumArea, 0.18849556/2, 1e-4)
		if !r.Edge.Closes {
			t.Errorf("the window is wide, but: %s", r.Edge.Why)
		}
		// σ_y²/σ² = 1, 1.0714, 1.1667 for the three weights.
		want := map[measure.Weight]float64{measure.WeightDeficit: 1, measure.WeightTotalPressure: 15.0 / 14, measure.WeightMomentum: 7.0 / 6}[weight]
		// The piecewise-linear field's own variance is h²/6 above the samples'.
		h := 2.4 / 192
		near(t, "variance ratio of "+weight.String(), (r.Wake.Spread[0]*r.Wake.Spread[0]-h*h/6)/(sigma*sigma), want, 1e-4)
		areas := map[measure.Weight][3]float64{
			measure.WeightDeficit:       {0.983199, 0.578703, 0.404496},
			measure.WeightTotalPressure: {1.156775, 0.749707, 0.572170},
		}
		if a, ok := areas[weight]; ok {
			for k, v := range a {
				near(t, "area above "+weight.String(), r.Wake.Areas[k].Area, v, 1e-3)
			}
		}
		if weight == measure.WeightDeficit {
			near(t, "effective area", *r.Wake.Effective, 0.50265482, 1e-4)
		}
	}
}

func hasWarning(r *measure.Result, code string) bool {
	return slices.ContainsFunc(r.Warnings, func(w wake.Warning) bool { return w.Code == code })
}

// The split at y = 0.1: left 0.12601556, right 0.06248000 (normal distribution
// function), and the two add up to the whole.
func TestGaussianWakeSplit(t *testing.T) {
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1.2, 1.2, -1.2, 1.2, 289, 97), grid.Nodes)
	r := run(t, p, measure.Options{Floor: "none", Regions: []measure.Box{
		{Name: "left", Box: box(-1.2, 0.1, -1.2, 1.2)}, {Name: "right", Box: box(0.1, 1.2, -1.2, 1.2)},
	}})
	near(t, "left", *r.Regions[0].DragArea, 0.12601556, 1e-5)
	near(t, "right", *r.Regions[1].DragArea, 0.06248000, 1e-5)
	near(t, "rest", *r.Rest.DragArea, 0, 1e-12)
	r = run(t, p, measure.Options{Floor: "none", Regions: []measure.Box{{Name: "a", Box: box(-0.3, 0.11, -0.2, 0.37)}, {Name: "b", Box: box(0.11, 0.4, -0.3, 0.2)}}})
	near(t, "regions and rest", *r.Regions[0].DragArea+*r.Regions[1].DragArea+*r.Rest.DragArea, r.Drag.Momentum.DragArea, 1e-9)
}

// radial integrates f(r)·2πr from 0 to R.
func radial(f func(r float64) float64, radius float64) float64 {
	sum, parts := 0.0, 64
	for k := range parts {
		lo, hi := radius*float64(k)/float64(parts), radius*float64(k+1)/float64(parts)
		sum += gonumquad.Fixed(func(r float64) float64 { return 2 * math.Pi * r * f(r) }, lo, hi, 20, gonumquad.Legendre{}, 0)
	}
	return sum
}

// sphereRemainder is d'Alembert's paradox with a finite disc of radius R at x: the
// drag area that the momentum integral is short of zero,
// (πa⁶/4)[1/2T² − 5x²/T³ + 9x⁴/2T⁴], T = x²+R² (potential flow).
func sphereRemainder(x, radius float64) float64 {
	t := x*x + radius*radius
	return math.Pi / 4 * (1/(2*t*t) - 5*x*x/(t*t*t) + 9*x*x*x*x/(2*t*t*t*t))
}

// The integrands on the potential flow about a sphere, in high-order quadrature.
func TestDAlembertIntegrands(t *testing.T) {
	cases := []struct{ x, radius, want float64 }{
		{2, 4, -6.28318531e-4}, {2, 8, 3.76144e-5}, {1.5, 3, -1.985797e-3}, {2, 2 * math.Sqrt(8), 0},
	}
	for _, c := range cases {
		f := waketest.Sphere(1, c.x)
		got := radial(func(r float64) float64 {
			s := f(r, 0)
			return measure.MomentumDensity(2*s.P, 1, s.U)
		}, c.radius)
		near(t, "momentum form", got, c.want, 1e-7)
		near(t, "closed form", sphereRemainder(c.x, c.radius), c.want, 1e-7)
		got = radial(func(r float64) float64 {
			s := f(r, 0)
			a, b, d := measure.ThreeTerms(1, 2*s.P, 1, s.U, s.V, s.W)
			if math.Abs(a) > 1e-12 {
				t.Fatalf("total-pressure term is %g in potential flow", a)
			}
			return a + b + d
		}, c.radius)
		near(t, "three-term form", got, c.want, 1e-7)
	}
	f := waketest.Sphere(1, 2)
	velocity := func(r float64) float64 { return velocityDensity(f(r, 0).U) }
	near(t, "velocity only in the circle of 4", radial(velocity, 4), 1.051085, 1e-4)
	for _, c := range []struct{ x, want float64 }{{2, 0.03681554}, {1.5, 0.11635528}} {
		f := waketest.Sphere(1, c.x)
		// Far out the integrands fall like r⁻⁶ and r⁻⁸: nothing is left beyond 400.
		cross := radial(func(r float64) float64 { s := f(r, 0); return s.V*s.V + s.W*s.W }, 40) +
			radial(func(r float64) float64 { s := f(r+40, 0); return (s.V*s.V + s.W*s.W) * (r + 40) / r }, 400)
		axial := radial(func(r float64) float64 { s := f(r, 0); return (s.U - 1) * (s.U - 1) }, 40)
		near(t, "∫(v²+w²)", cross, c.want, 1e-5)
		near(t, "∫(u−1)²", axial, c.want, 1e-5)
		near(t, "3π/16x⁴", 3*math.Pi/(16*math.Pow(c.x, 4)), c.want, 1e-7)
	}
}

// The same through a lattice: the square of half-width 4 reads +0.99366148 from
// the velocity alone where the flow has no drag, and the tool says so.
func TestDAlembertOnALattice(t *testing.T) {
	s := waketest.Lattice(waketest.Sphere(1, 2), -4, 4, -4, 4, 401, 401)
	p := plane(t, s, grid.Nodes)
	r := run(t, p, measure.Options{Floor: "none"})
	near(t, "velocity only", r.Drag.VelocityOnly.DragArea, 0.99366148, 1e-4)
	near(t, "total-pressure term", r.Drag.Momentum.Terms.TotalPressure, 0, 1e-12)
	if got := math.Abs(r.Drag.Momentum.DragArea); got > 2e-3 {
		t.Errorf("momentum integral = %g, want nearly none", got)
	}
	s.Col[wake.P] = nil
	r = run(t, plane(t, s, grid.Nodes), measure.Options{Floor: "none"})
	if r.Drag.Headline != "velocity_only" || !hasWarning(r, "momentum-only") || r.Drag.Momentum != nil {
		t.Errorf("without pressure: headline %q, warnings %v", r.Drag.Headline, r.Warnings)
	}
}

// cosine is the wake u = U[1 − cos²(πr/2R)] with R = 1.
func cosine(y, z float64) waketest.State {
	r := math.Hypot(y, z)
	if r >= 1 {
		return waketest.State{U: 1}
	}
	k := math.Cos(math.Pi * r / 2)
	return waketest.State{U: 1 - k*k}
}

// Integrals of wakes that have a closed form, on lattices.
func TestClosedForms(t *testing.T) {
	momentum := func(r *measure.Result) float64 { return r.Drag.Momentum.DragArea }
	height := func(r *measure.Result) float64 { return r.Wake.Centroid[1] }
	truncated := func(z0 float64) *wake.Samples {
		return waketest.Lattice(waketest.Gaussian(0.5, 0.1, 0, z0), -0.6, 0.6, 0, 1, 31, 401)
	}
	v := func(y, z float64) waketest.State { return waketest.State{U: 0.5 + 0.5*math.Abs(z)} }
	for _, c := range []struct {
		name      string
		samples   *wake.Samples
		of        func(r *measure.Result) float64
		want, tol float64
	}{
		// πρU²R²/8 (Fox & McDonald, problem 4.100; the set-up is theirs, the value is the integral's).
		{"cosine wake", waketest.Lattice(cosine, -1.2, 1.2, -1.2, 1.2, 601, 601), momentum, math.Pi / 4, 1e-8},
		// u from U/2 in the middle linearly to U at ±L, behind a cylinder: ρU²Lb/3, C_F = 1/3
		// (White, Fluid Mechanics, problem 3.44); over q twice that.
		{"V", waketest.Lattice(v, 0, 1, -1, 1, 2, 25001), momentum, 2.0 / 3, 2e-9},
		// 96.736 % of the Gaussian's drag, by error functions.
		{"Gaussian in a window of ±0.5", waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -0.5, 0.5, -0.5, 0.5, 201, 201), momentum, 0.18234282, 1e-5},
		// z₀ + σφ(z₀/σ)/Φ(z₀/σ), the mean of a truncated normal distribution.
		{"Gaussian cut in the middle", truncated(0), height, 0.07978846, 1e-5},
		{"Gaussian cut at σ", truncated(0.1), height, 0.12876000, 1e-5},
		{"Gaussian cut at 2σ", truncated(0.2), height, 0.20552479, 1e-5},
	} {
		r := run(t, plane(t, c.samples, grid.Nodes), measure.Options{Floor: "none", Section: noWakeOnly, Weight: measure.WeightDeficit})
		near(t, c.name, c.of(r), c.want, c.tol)
		if open := strings.HasPrefix(c.name, "Gaussian in"); open && (r.Edge.Closes || !hasWarning(r, "window-open")) {
			t.Errorf("the window cuts the wake, edge residual %g over 1 m2, but no warning says so", r.Edge.Residual)
		}
	}
}

// A wake moved by −0.03 m, not a multiple of the spacing, moves its centroid so.
func TestCentroidFollowsTheWake(t *testing.T) {
	at := func(y0 float64) float64 {
		p := plane(t, waketest.Lattice(waketest.Gaussian(0.4, 0.1, y0, 0), -1, 1, -1, 1, 101, 101), grid.Nodes)
		return run(t, p, measure.Options{Floor: "none"}).Wake.Centroid[0]
	}
	near(t, "move", at(0.1)-at(0.13), -0.03, 1e-9)
}
