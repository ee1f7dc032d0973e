package measure_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

const gaussianDrag = 0.18849556 // 2πσ²ε(2−ε), ε = ½, σ = 0.2

// The integrals over the wake's region are not moved by noise of the pressure: their
// mean over surveys of one wake lies within the scatter of a single one, and by less
// than that where the scatter is small. The sum of the positive losses alone is off by
// 0.4 σ for each m² of the window (METHOD 1g), ten times the scatter.
func TestNoiseDoesNotMoveTheWake(t *testing.T) {
	const seeds = 16
	for _, noise := range []float64{0.002, 0.02, 0.1} {
		for _, kind := range []string{"lattice", "scatter"} {
			var sum, sq, region float64
			for seed := range uint64(seeds) {
				r := rand.New(rand.NewPCG(7, seed))
				f := waketest.Gaussian(0.5, 0.2, 0, 0)
				noisy := func(y, z float64) waketest.State {
					s := f(y, z)
					s.P += noise / 2 * r.NormFloat64()
					return s
				}
				s := waketest.Lattice(noisy, -1, 1, -1, 1, 41, 41)
				if kind == "scatter" {
					s = waketest.Scatter(noisy, -1, 1, -1, 1, 41, 41, seed)
				}
				d := run(t, plane(t, s, grid.Nodes), measure.Options{Floor: "none", Section: noWakeOnly}).Drag
				sum += d.Betz.DragArea / seeds
				sq += d.Betz.DragArea * d.Betz.DragArea / seeds
				region += d.Region.Area / seeds
			}
			sd := math.Sqrt(math.Max(0, sq-sum*sum))
			t.Logf("%s, noise %g: %.5f, off %+.5f, scatter %.5f; region %.2f m²", kind, noise, sum, sum-gaussianDrag, sd, region)
			if bias := math.Abs(sum - gaussianDrag); !(bias <= math.Max(sd, 0.002*gaussianDrag)) {
				t.Errorf("%s, noise %g: the mean over %d surveys is %.5f m², %.5f off; one scatters by %.5f", kind, noise, seeds, sum, bias, sd)
			}
		}
	}
}

// Noise alone is no wake, islands of it are left out of one, and a second wake is not.
func TestWakeRegionParts(t *testing.T) {
	two := func(y, z float64) waketest.State {
		a, b := waketest.Gaussian(0.5, 0.1, -0.5, 0)(y, z), waketest.Gaussian(0.3, 0.08, 0.5, 0.2)(y, z)
		return waketest.State{U: a.U + b.U - 1}
	}
	for _, c := range []struct {
		name  string
		f     waketest.Field
		noise float64
		parts int
	}{
		{"no wake", waketest.Uniform(waketest.State{U: 1}), 0.02, 0},
		{"one wake", waketest.Gaussian(0.5, 0.2, 0, 0), 0.02, 1},
		{"two wakes", two, 0.01, 2},
		{"all wake", waketest.Uniform(disc(0.2)), 0, 0},
	} {
		r := rand.New(rand.NewPCG(3, 1))
		noisy := func(y, z float64) waketest.State {
			s := c.f(y, z)
			s.P += c.noise / 2 * r.NormFloat64()
			return s
		}
		p := plane(t, waketest.Lattice(noisy, -1, 1, -1, 1, 61, 61), grid.Nodes)
		res := run(t, p, measure.Options{Floor: "none"})
		g := res.Drag.Region
		if g.Parts != c.parts || setting(res, "wake region") != g.Rule {
			t.Errorf("%s: %d parts, want %d; %q", c.name, g.Parts, c.parts, g.Rule)
		}
		if c.parts == 0 && math.Abs(g.Area-res.Mesh.Area) > 1e-12 {
			t.Errorf("%s: the region is %g of %g m²", c.name, g.Area, res.Mesh.Area)
		}
	}
}

// isotropic gives a wake the stress <u'u'> = <v'v'> = <w'w'> = stress·U² times the
// deficit's shape, and lowers its pressure by ρ<v'v'>, as the mean flow of a turbulent
// wake has it.
func isotropic(stress float64, n int) *wake.Samples {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1.2, 1.2, -1.2, 1.2, n, n)
	for _, q := range []wake.Quantity{wake.UU, wake.VV, wake.WW, wake.K} {
		s.Col[q] = make([]float64, s.N)
	}
	for i := range s.N {
		e := stress * (1 - s.Col[wake.U][i]) / 0.5
		s.Col[wake.UU][i], s.Col[wake.VV][i], s.Col[wake.WW][i], s.Col[wake.K][i] = e, e, e, 1.5*e
		s.Col[wake.P][i] -= e
	}
	return s
}

// With isotropic stress of 0.03 U² in it, the Gaussian wake has the drag that it has
// without, by every method and by either rule; without the term all read 8 % more, which
// the warning's estimate tells.
func TestIsotropicStress(t *testing.T) {
	s := isotropic(0.03, 97)
	methods := func(d *measure.Drag) map[string]float64 {
		all := methods(d)
		for _, m := range measure.Methods {
			if m.Deficit { // knows no pressure
				delete(all, m.Key)
			}
		}
		return all
	}
	p := plane(t, s, grid.Nodes)
	for _, rule := range []string{"", "stress", "isotropic"} {
		r := run(t, p, measure.Options{Floor: "none", Turbulence: rule})
		for name, v := range methods(r.Drag) {
			near(t, rule+" "+name, v/gaussianDrag, 1, 0.01)
		}
		d := r.Drag
		for name, tu := range map[string]*float64{"wake only": d.WakeOnly.Turbulence, "Betz": d.Betz.Turbulence, "Jones": d.Jones.Turbulence, "energy": d.Energy.Turbulence} {
			near(t, rule+" term of "+name, *tu, -0.06*2*math.Pi*0.04, 1e-4)
		}
		if hasWarning(r, "no-turbulence") {
			t.Error("the stress is there, but said to be missing")
		}
	}
	for name, c := range map[string]struct {
		s    *wake.Samples
		rule string
	}{"none": {s, "none"}, "no column": {without(s, wake.UU, wake.K), ""}} {
		r := run(t, plane(t, c.s, grid.Nodes), measure.Options{Floor: "none", Turbulence: c.rule})
		for method, v := range methods(r.Drag) {
			near(t, name+" "+method, v/gaussianDrag, 1.08, 0.01)
		}
		if d := r.Drag; d.WakeOnly.Turbulence != nil || d.Jones.Turbulence != nil || d.Betz.Turbulence != nil {
			t.Errorf("%s: a turbulence term is stated", name)
		}
	}
	says(t, "no column", run(t, plane(t, without(s, wake.UU, wake.K), grid.Nodes), measure.Options{Floor: "none"}), "no-turbulence", "would be -0.0151 m2")
}

// What Jones omits by definition is no doubt about the method: a wake with a pair of
// vortices, whose pressure Bernoulli gives.
func TestJonesWithTheVortexPart(t *testing.T) {
	g := waketest.Gaussian(0.2, 0.3, 0, 0)
	pair := waketest.VortexPair(0.3, 1, 0.2, 0)
	f := func(y, z float64) waketest.State {
		s, c := g(y, z), pair(y, z)
		s.V, s.W = c.V, c.W
		s.P = -(c.V*c.V + c.W*c.W) / 2
		return s
	}
	r := run(t, plane(t, waketest.Lattice(f, -3, 3, -3, 3, 121, 121), grid.Nodes), measure.Options{Floor: "none"})
	d := r.Drag
	if v := d.WakeOnly.Vortex; !(v > 0.01) {
		t.Fatalf("the vortex part is %g m²", v)
	}
	near(t, "Jones with the vortex part", *d.Jones.WithVortex, d.Jones.DragArea+d.WakeOnly.Vortex, 1e-15)
	if it := item(t, *r.Uncertainty.DragArea, "method, momentum or Jones with the vortex part"); it.Standard > d.WakeOnly.Vortex/20 {
		t.Errorf("the methods differ by u = %g m², of a vortex part of %g m²", it.Standard, d.WakeOnly.Vortex)
	}
}

// The second computation of the shuttle, in 6 m × 3 m windows and whole sections of
// 10.8 m × 6.9 m at two stations, against the forces on the body: wake-only within 2.5 %
// of the windows and 3 % of the sections, anchored; the momentum integral of the sections
// within 3 %, by the onset that was imposed.
func TestSecondShuttle(t *testing.T) {
	for _, c := range []struct {
		name  string
		force float64
	}{{"bare", 2.1436}, {"fairing", 2.0794}, {"lip", 2.1547}, {"flare", 2.2475}} {
		for _, station := range []string{"+2.91", "+5.98", "+2.91_whole", "+5.98_whole"} {
			name := c.name + "_x" + station
			if !gridtest.Large() && !slices.Contains([]string{"bare_x+5.98", "fairing_x+2.91_whole", "flare_x+2.91", "flare_x+5.98_whole"}, name) {
				continue
			}
			s := table(t, waketest.Shared(t, "shuttle2", name+".csv.gz"), nil)
			opt := shuttleOptions()
			limit, whole := 0.025, len(station) > 5
			if whole {
				limit = 0.03
				p, free := plane(t, s, grid.Cells), opt
				free.Anchor = "none"
				near(t, name+": momentum over the force", run(t, p, free).Drag.Momentum.DragArea/c.force, 1, 0.03)
				near(t, name+": wake only over the force", run(t, p, opt).Drag.WakeOnly.DragArea/c.force, 1, limit)
			}
			// Samples are centres of squares; the default takes them as nodes and leaves a
			// strip of half a spacing on the floor out.
			r := run(t, waketest.Plane(t, s, wake.PlaneOptions{}), opt)
			d, u := r.Drag.WakeOnly.DragArea, r.Uncertainty.DragArea.Expanded
			near(t, name+": wake only over the force, nodes", d/c.force, 1, limit)
			if r.Drag.Headline != "wake_only" || math.Abs(d-c.force) > u+0.005*c.force {
				t.Errorf("%s: %s, wake only %.3f ± %.3f m², force %.3f m²", name, r.Drag.Headline, d, u, c.force)
			}
		}
	}
}
