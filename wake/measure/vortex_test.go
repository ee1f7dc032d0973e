package measure_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	gonumquad "gonum.org/v1/gonum/integrate/quad"

	"wakeledger/grid"
	"wakeledger/grid/poisson"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// The published pair: Γ = ±1 at y = ±0.5, cores of 0.1, density 1.2.
const (
	pairSpan   = 1.0
	pairCore   = 0.1
	pairRho    = 1.2
	pairEnergy = 0.42869072 // (ρΓ²/4π)[ln(b²/2a²) + γ + E₁(b²/2a²)]
)

var pair = waketest.VortexPair(1, pairSpan, pairCore, 0)

// half times a drag area is ½ρ∫ψξ at U = 1.
const half = pairRho / 2

// vortex measures a plane, at 1 m/s unless another speed is given.
func vortex(t *testing.T, p *wake.Plane, opt measure.VortexOptions) *measure.Vortex {
	t.Helper()
	if opt.Speed == 0 {
		opt.Speed = 1
	}
	if opt.Boundary == "" {
		opt.Boundary = measure.FreeAir
	}
	v, err := measure.VortexDrag(p, opt)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func codes(v *measure.Vortex) (out []string) {
	for _, w := range v.Warnings {
		out = append(out, w.Code)
	}
	return out
}

// falls asserts the order of convergence for spacings halved each time, and the
// last error.
func falls(t *testing.T, what string, errs []float64, least, tol float64) {
	t.Helper()
	t.Logf("%s: errors %.3g", what, errs)
	for i := 1; i < len(errs); i++ {
		if p := math.Log2(math.Abs(errs[i-1] / errs[i])); !(p >= least) {
			t.Errorf("%s: order %.2f from step %d to %d, want at least %g (errors %.3g)", what, p, i-1, i, least, errs)
		}
	}
	if last := errs[len(errs)-1]; !(math.Abs(last) <= tol) {
		t.Errorf("%s: error %.3g at the finest spacing, want at most %.1g", what, last, tol)
	}
}

// The closed form of the pair's energy (H. Lamb, Hydrodynamics), against the value
// that is quoted for it and against the field itself: energy inside a circle of
// radius 2 by quadrature, plus the rest as the series sums it.
func TestPairEnergyClosedForms(t *testing.T) {
	near(t, "closed form", pairRho*energyOfPair(1, pairSpan, pairCore), pairEnergy, 1e-8)
	const r = 2.0
	missing := pairRho / (2 * math.Pi) * math.Atanh(math.Pow(pairSpan/(2*r), 2))
	near(t, "outside the circle", missing, 0.01195220, 1e-8)
	inside := 0.0
	panels := []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1, 1.3, 1.6, 2}
	for i := 1; i < len(panels); i++ {
		inside += gonumquad.Fixed(func(rr float64) float64 {
			const n = 400 // trapezoid in the angle: periodic
			s := 0.0
			for k := range n {
				sin, cos := math.Sincos(2 * math.Pi * float64(k) / n)
				f := pair(rr*cos, rr*sin)
				s += f.V*f.V + f.W*f.W
			}
			return s * 2 * math.Pi / n * rr
		}, panels[i-1], panels[i], 12, gonumquad.Legendre{}, 0)
	}
	near(t, "inside the circle", half*inside, 0.41673852, 1e-7)
	near(t, "inside and outside", half*inside+missing, pairEnergy, 1e-7)
}

// The free-air vortex drag of the pair is its energy over the whole plane, from a
// window that holds 97 % of it; order 4 as the differences are.
func TestVortexPairFreeAir(t *testing.T) {
	for _, support := range []grid.Support{grid.Nodes, grid.Cells} {
		var errs []float64
		for _, n := range []int{60, 120, 240} {
			p := plane(t, waketest.Lattice(pair, -2, 2, -2, 2, n+1, n+1), support)
			v := vortex(t, p, measure.VortexOptions{})
			errs = append(errs, half*v.DragArea-pairEnergy)
			near(t, "source part", half*v.Source, 0, 2e-3)
			if len(v.Warnings) > 0 || v.Resampled || v.Missing > 0 {
				t.Errorf("%+v", v)
			}
			if n == 240 {
				near(t, "window over whole", v.Window*half/pairEnergy, 0.975, 0.01)
				near(t, "net circulation", v.Circulation, 0, 1e-12)
			}
		}
		falls(t, "pair, "+support.String(), errs, 3.65, 1e-4)
	}
}

// The dual: a Gaussian source and sink. The vortex part is zero.
func TestSourcePairFreeAir(t *testing.T) {
	f := sourcePair(1, pairSpan, pairCore, 0)
	var errs []float64
	for _, n := range []int{80, 160, 320} {
		v := vortex(t, plane(t, waketest.Lattice(f, -2, 2, -2, 2, n+1, n+1), grid.Nodes), measure.VortexOptions{})
		errs = append(errs, half*v.Source-pairEnergy)
		near(t, "vortex part", half*v.DragArea, 0, 1e-3)
	}
	falls(t, "source pair", errs, 3.65, 1e-4)
	// Together, each part is as alone: the cross term is zero in free air.
	both := both(pair, sourcePair(0.7, 0.8, pairCore, 0.1))
	v := vortex(t, plane(t, waketest.Lattice(both, -2, 2, -2, 2, 321, 321), grid.Nodes), measure.VortexOptions{})
	near(t, "vortex part of both", half*v.DragArea, pairEnergy, 1e-4)
	near(t, "source part of both", v.Source/2, energyOfPair(0.7, 0.8, pairCore), 1e-4)
}

// A pair inside a circle of radius 2 on which ψ = 0: the wall acts as vortices of
// opposite sign at R²/y, outside it, so the energy is that of the pair in the field
// of all four; E − (ρΓ²/π) atanh((b/2R)²) = 0.40478632.
func TestVortexPairInCircle(t *testing.T) {
	const r = 2.0
	near(t, "identity", pairEnergy-pairRho/math.Pi*math.Atanh(math.Pow(pairSpan/(2*r), 2)), 0.40478632, 1e-8)
	var errs []float64
	for _, nz := range []int{40, 80, 160} {
		h := 2.0 / float64(nz)
		l := poisson.Lattice{Origin: grid.Point{X: -9 + h/2, Y: -1 + h/2}, HX: h, HY: h, NX: 9 * nz, NY: nz, Support: grid.Cells}
		inner := pairVorticity(1, pairSpan, pairCore, 0)
		outer := pairVorticity(-1, 2*r*r/(pairSpan/2), pairCore, 0)
		xi, all := make([]float64, l.Len()), make([]float64, l.Len())
		for k := range xi {
			p := l.Point(k)
			xi[k] = inner(p.X, p.Y)
			all[k] = xi[k] + outer(p.X, p.Y)
		}
		psi := poisson.FreeAir(l, all)
		errs = append(errs, half*l.Integrate(func(k int) float64 { return psi[k] * xi[k] })-0.40478632)
	}
	falls(t, "circle", errs, 3.5, 1e-5)
}

// Elliptic loading (L. Prandtl): ρ = 1.2, Γ₀ = 2, span 1.5; D = πρΓ₀²/8. The sheet's
// ends are singular, so 2 % is asked for at 400 samples across, and that the error
// shrinks; the energy inside the window alone falls short.
func TestEllipticSheet(t *testing.T) {
	const gamma, span, s = 2.0, 1.5, 0.75
	want := pairRho * sheetEnergy(gamma)
	near(t, "closed form", want, 1.88495559, 1e-8)
	f := ellipticSheet(gamma, span)
	for _, c := range []struct {
		reach float64
		// odd is 0 for a sheet half way between two rows and 1 for one on a row; 2 half
		// spans then put a sample on each end, where the field is infinite and is lost.
		odd int
		tol float64
	}{{1.2, 0, 0.02}, {2, 0, 0.02}, {2, 1, 0.025}} {
		reach, odd := c.reach, c.odd
		w := reach * s
		var errs []float64
		for _, n := range []int{100, 200, 400} {
			p := plane(t, waketest.Lattice(f, -w, w, -w, w, n+odd, n+odd), grid.Nodes)
			v := vortex(t, p, measure.VortexOptions{Speed: 10})
			errs = append(errs, half*100*v.DragArea/want-1)
			// Circles in and round the window bound what it lacks.
			lack := 1 - half*100*v.Window/want
			if lo, hi := sheetOutside(span, w*math.Sqrt2), sheetOutside(span, w); n == 400 && !(lo-0.02 < lack && lack < hi+0.02 && lack > 0.02) {
				t.Errorf("window %g s: %.4f of the energy is outside, between %.4f and %.4f expected", reach, lack, lo, hi)
			}
			if n == 400 {
				near(t, "C_Di on 1.1 m2", v.DragArea/1.1, 0.02855993, c.tol*0.02855993)
			}
		}
		t.Logf("window %g half spans, odd %d: relative errors %.4f", reach, odd, errs)
		for i := 1; i < len(errs); i++ {
			if !(math.Abs(errs[i]) < 0.75*math.Abs(errs[i-1])) {
				t.Errorf("window %g s: the error does not shrink: %.4f", reach, errs)
			}
		}
		near(t, "elliptic loading", errs[2], 0, c.tol)
	}
}

// The energy of the sheet's flow outside a circle: the Laurent series against
// quoted values and against quadrature of the field.
func TestEllipticSheetOutside(t *testing.T) {
	near(t, "R = 1.5", sheetOutside(1.5, 1.5), 0.0632522, 5e-8)
	near(t, "R = 3", sheetOutside(1.5, 3), 0.01563646, 5e-9)
	near(t, "three terms", sheetOutside(1.5, 3), 1.0/64+3*math.Pow(1.0/16, 3)/64, 1e-6)
	f := ellipticSheet(2, 1.5)
	// With t = 1/r the outside is a finite range.
	ring := func(tt float64) float64 {
		const n = 200
		r, s := 1/tt, 0.0
		for k := range n {
			sin, cos := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / n)
			g := f(r*cos, r*sin)
			s += g.V*g.V + g.W*g.W
		}
		return s * 2 * math.Pi / n * r * r * r
	}
	outside := gonumquad.Fixed(ring, 0, 1/1.5, 40, gonumquad.Legendre{}, 0) / 2
	near(t, "by quadrature", outside/sheetEnergy(2), 0.0632522, 1e-6)
	// Downwash w₀ = Γ₀/b all along the sheet.
	near(t, "downwash", f(0.3, 0).W, -2/1.5, 1e-12)
	near(t, "downwash just below", f(0.3, -1e-9).W, -2/1.5, 1e-6)
	if v := f(0.3, 1e-9).V; !(v < 0) {
		t.Errorf("above the sheet at y > 0 the flow goes outwards, v = %g", v)
	}
}

// A net circulation leaves a free-air drag without a fixed value: lengths scaled by
// e with the circulation kept move the drag area by Γ²/2π, as the warning says.
func TestNetCirculation(t *testing.T) {
	one := func(scale float64) *measure.Vortex {
		// A Lamb–Oseen vortex of circulation 1 at y = 0.5.
		f := func(y, z float64) waketest.State {
			y, z = y/scale-0.5, z/scale
			k := 1 / (2 * math.Pi * pairCore * pairCore)
			if r2 := y*y + z*z; r2 > 0 {
				k = -math.Expm1(-r2/(pairCore*pairCore)) / (2 * math.Pi * r2)
			}
			return waketest.State{U: 1, V: -z * k / scale, W: y * k / scale}
		}
		return vortex(t, plane(t, waketest.Lattice(f, -1*scale, 2*scale, -1.5*scale, 1.5*scale, 121, 121), grid.Nodes), measure.VortexOptions{})
	}
	a, b := one(1), one(math.E)
	near(t, "circulation", a.Circulation, 1, 1e-3)
	near(t, "shift", a.DragArea-b.DragArea, a.Circulation*a.Circulation/(2*math.Pi), 1e-9)
	if !slices.Equal(codes(a), []string{"net-circulation"}) {
		t.Fatalf("warnings %v", a.Warnings)
	}
	if text := a.Warnings[0].Text; !strings.Contains(text, "circulation is 1 m2/s") || !strings.Contains(text, "by 0.159 m2") {
		t.Errorf("warning %q", text)
	}
	walls := vortex(t, plane(t, waketest.Lattice(pair, 0, 2, -1, 1, 41, 41), grid.Nodes), measure.VortexOptions{Boundary: measure.SectionWalls, Section: box(0, 2, -1, 1)})
	if slices.Contains(codes(walls), "net-circulation") {
		t.Error("walls fix the constant, yet there is a warning")
	}
}

// A net source is told under every boundary.
func TestNetOutflow(t *testing.T) {
	f := sourcePair(1, pairSpan, pairCore, 1)
	for _, b := range []string{measure.FreeAir, measure.SectionWalls, measure.GroundImage} {
		p := plane(t, waketest.Lattice(f, 0, 2, 0, 2, 81, 81), grid.Nodes) // the source without its sink
		v := vortex(t, p, measure.VortexOptions{Boundary: b, Section: box(0, 2, 0, 2)})
		near(t, "outflow", v.Outflow, 1, 1e-3)
		if !slices.Contains(codes(v), "net-outflow") {
			t.Errorf("%s: warnings %v", b, v.Warnings)
		}
	}
}

// Lost samples: vorticity next to them is zero, and it is said.
func TestVortexWithHole(t *testing.T) {
	s := waketest.Lattice(pair, -2, 2, -2, 2, 161, 161)
	s.Col[wake.V][80*161+20] = math.NaN() // at y = −1.5, z = 0, away from the cores
	v := vortex(t, plane(t, s, grid.Nodes), measure.VortexOptions{})
	near(t, "drag with a lost sample", half*v.DragArea, pairEnergy, 1e-3)
	// Four above and below for ∂v/∂z, four beside for ∂v/∂y.
	if v.Missing != 8 || !slices.Equal(codes(v), []string{"vorticity-missing"}) {
		t.Errorf("%d missing, warnings %v", v.Missing, v.Warnings)
	}
	// A gap without samples: the plane is resampled and the gap is counted.
	gap := waketest.Lattice(pair, -2, 2, -2, 2, 161, 161)
	cut := only(gap, func(y, z float64) bool { return math.Hypot(y+1.5, z) > 0.08 })
	v = vortex(t, plane(t, cut, grid.Nodes), measure.VortexOptions{})
	near(t, "drag with a gap", half*v.DragArea/pairEnergy, 1, 0.02)
	if v.Missing == 0 || !v.Resampled || !slices.Contains(codes(v), "vorticity-missing") {
		t.Errorf("%+v", v)
	}
}

// What nothing can be computed with is refused with an input error.
func TestVortexRefuses(t *testing.T) {
	good := func() *wake.Plane { return plane(t, waketest.Lattice(pair, -2, 2, 0, 2, 21, 11), grid.Nodes) }
	low := plane(t, waketest.Lattice(pair, -2, 2, -0.1, 2, 21, 11), grid.Nodes)
	small := plane(t, waketest.Lattice(pair, -2, 2, 0, 2, 4, 4), grid.Nodes)
	infinite := good()
	infinite.Field[wake.V][3] = math.Inf(1)
	for name, c := range map[string]struct {
		p    *wake.Plane
		opt  measure.VortexOptions
		want string
	}{
		"narrow section":  {good(), measure.VortexOptions{Speed: 1, Boundary: measure.SectionWalls, Section: box(-1.9, 3, 0, 3)}, "reach out of the section"},
		"under ground":    {low, measure.VortexOptions{Speed: 1, Boundary: measure.GroundImage}, "below the ground"},
		"too small":       {small, measure.VortexOptions{Speed: 1}, "at least 5 × 5"},
		"infinite v":      {infinite, measure.VortexOptions{Speed: 1}, "finite"},
		"vast section":    {good(), measure.VortexOptions{Speed: 1, Boundary: measure.SectionWalls, Section: box(-1e6, 1e6, 0, 1e6)}, "wider spacing"},
		"endless section": {good(), measure.VortexOptions{Speed: 1, Boundary: measure.SectionWalls, Section: box(-1e200, 1e200, 0, 1e200)}, "wider spacing"},
		"far half": {plane(t, waketest.Lattice(pair, 2e8, 2e8+4, 0, 2, 21, 11), grid.Nodes), measure.VortexOptions{Speed: 1, Half: true},
			"wider spacing"},
		"too fine": {plane(t, waketest.Scatter(pair, -2, 2, 0, 2, 21, 11, 3), grid.Nodes), measure.VortexOptions{Speed: 1, Spacing: 1e-7},
			"wider spacing"},
	} {
		v, err := measure.VortexDrag(c.p, c.opt)
		var in *wake.InputError
		if !errors.As(err, &in) || !strings.Contains(err.Error(), c.want) || in.Cure == "" {
			t.Errorf("%s: %+v, error %v, want one with %q", name, v, err, c.want)
		}
	}
}

// Solid rotation has the vorticity 2 everywhere, so its circulation is twice the
// area of the window, wherever the window ends: inside the section or on a wall, for
// nodes and for cells.
func TestCirculationIsArea(t *testing.T) {
	turn := func(y, z float64) waketest.State { return waketest.State{U: 1, V: -z, W: y} }
	section := box(-2, 2, 0, 2)
	for _, w := range []grid.Box{box(-1, 1, 0.4, 1.2), box(-2, 1, 0, 1.2), box(-2, 2, 0, 2)} {
		for name, p := range map[string]*wake.Plane{
			"nodes": plane(t, waketest.Lattice(turn, w.Min.X, w.Max.X, w.Min.Y, w.Max.Y, int(10*w.Width()+1.5), int(10*w.Height()+1.5)), grid.Nodes),
			"cells": plane(t, waketest.Centres(turn, w.Min.X, w.Max.X, w.Min.Y, w.Max.Y, int(10*w.Width()+0.5), int(10*w.Height()+0.5)), grid.Cells),
		} {
			for _, b := range []string{measure.FreeAir, measure.SectionWalls, measure.GroundImage} {
				v := vortex(t, p, measure.VortexOptions{Boundary: b, Section: section})
				near(t, b+", "+name+", circulation", v.Circulation, 2*w.Area(), 1e-9)
				if v.Resampled {
					t.Errorf("%s, %s, %v: resampled", b, name, w)
				}
			}
		}
	}
}

// Positions written with four decimals still fit the walls and the ground: nothing
// is resampled, and the result is that of the full digits.
func TestVortexRoundedPositions(t *testing.T) {
	f := waketest.VortexPair(1, pairSpan, pairCore, 1.1)
	round := func(s *wake.Samples) *wake.Samples {
		for _, q := range []wake.Quantity{wake.Y, wake.Z} {
			for i, v := range s.Col[q] {
				s.Col[q][i] = math.Round(v*1e4) / 1e4
			}
		}
		return s
	}
	for _, b := range []string{measure.SectionWalls, measure.GroundImage} {
		opt := measure.VortexOptions{Boundary: b, Section: box(-1.8, 1.8, 0, 2.4)}
		sample := func() *wake.Samples { return waketest.Centres(f, -1.2, 1.2, 0, 2.1, 64, 56) } // 37.5 mm
		want := vortex(t, plane(t, sample(), grid.Cells), opt)
		got := vortex(t, plane(t, round(sample()), grid.Cells), opt)
		near(t, b, got.DragArea/want.DragArea, 1, 1e-4)
		if got.Resampled || want.Resampled {
			t.Errorf("%s: resampled %v with all digits, %v with four decimals", b, want.Resampled, got.Resampled)
		}
	}
}

// Cells that reach below the ground, and lattices whose lines miss the walls though
// their spacing divides the section, are resampled to fit.
func TestVortexMisfits(t *testing.T) {
	const z0 = 0.7
	f := waketest.VortexPair(1, pairSpan, pairCore, z0)
	move := pairRho / (2 * math.Pi) * math.Log(2*z0/math.Sqrt(pairSpan*pairSpan+4*z0*z0))
	const w, h = 3.6, 2.0
	half2 := waketest.Lattice(f, -1.5, -0.006, 0, 2, 101, 101)
	for _, c := range []struct {
		name    string
		samples *wake.Samples
		support grid.Support
		opt     measure.VortexOptions
		want    float64
	}{
		// Rows 0.02 apart from z = 0.005: the lowest cell would begin at −0.005.
		{"cells below the ground", waketest.Lattice(f, -1.5, 1.5, 0.005, 2.005, 151, 101), grid.Cells, measure.VortexOptions{Boundary: measure.GroundImage}, pairEnergy + move},
		// Columns 0.02 apart, 0.006 from their places in a section of 180 columns.
		{"lines that miss the walls", waketest.Lattice(f, -1.2+0.006, 1.2+0.006, 0.006, 1.806, 121, 91), grid.Nodes, measure.VortexOptions{Boundary: measure.SectionWalls, Section: box(-w/2, w/2, 0, h)}, wallEnergy(w, h, -1, z0)},
		// A half plane on the left.
		{"columns that do not mirror", half2, grid.Nodes, measure.VortexOptions{Boundary: measure.GroundImage, Half: true}, pairEnergy + move},
	} {
		v := vortex(t, plane(t, c.samples, c.support), c.opt)
		near(t, c.name, half*v.DragArea/c.want, 1, 0.03)
		if !v.Resampled {
			t.Errorf("%s are not resampled", c.name)
		}
	}
}

// A lattice of more places than grid.MostPlaces is made coarser, and said to be.
func TestCoarseLattice(t *testing.T) {
	p := plane(t, waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1, 1, -1, 1, 41, 41), grid.Nodes)
	v := vortex(t, p, measure.VortexOptions{Spacing: 0.0005, Boundary: measure.SectionWalls, Section: box(-1.523, 1.5, -1.5, 1.5)})
	if !slices.Contains(codes(v), "coarse-lattice") {
		t.Errorf("%v", v.Warnings)
	}
}
