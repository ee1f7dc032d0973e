package measure_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/grid/quad"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// TestBlockErrors: of an integral of the weight, which is linear in u, the contrasts of the
// blocks say what leaving each block out says, (g−1)/g·Σ(R₍ⱼ₎−R̄)², to rounding; and so does
// the budget's item, of the momentum integral.
func TestBlockErrors(t *testing.T) {
	const seed, g = 5, 9
	r := rand.New(rand.NewPCG(seed, 0))
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1, 1, 0, 2, 21, 21)
	s.Blocks = &wake.Blocks{Field: make([][wake.NumQuantities][]float64, g)}
	for j := range g {
		gust := 0.05 * r.NormFloat64()
		u := slices.Clone(s.Col[wake.U])
		for i := range u {
			u[i] += gust*math.Exp(-s.Col[wake.Y][i]*s.Col[wake.Y][i]) + 0.01*r.NormFloat64()
		}
		s.Blocks.Field[j][wake.U] = u
	}
	planes := waketest.Plane(t, s, wake.PlaneOptions{})
	opt := measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit}
	m := mustTake(t, planes, opt)
	jackknife := func(of func(p *wake.Plane) float64) float64 {
		var v [g]float64
		mean := 0.0
		for j := range g {
			v[j] = of(m.Plane.Without(j))
			mean += v[j] / g
		}
		sq := 0.0
		for _, x := range v {
			sq += (x - mean) * (x - mean)
		}
		return math.Sqrt((g - 1.0) / g * sq)
	}
	whole := quad.NewWeights(m.Plane.Mesh, nil)
	want := jackknife(func(p *wake.Plane) float64 {
		return whole.IntegrateFunc(func(i int) float64 { return 1 - p.Field[wake.U][i]/opt.Reference.Speed })
	})
	if _, _, ok := m.FieldStandard("k"); ok {
		t.Error("an uncertainty of a quantity that the plane lacks")
	}
	standard, dof, ok := m.FieldStandard("u/U")
	if !ok || dof != g-1 {
		t.Fatalf("u/U has an uncertainty: %v, with %g degrees of freedom", ok, dof)
	}
	for i := 0; i < len(standard); i += 50 {
		if want := jackknife(func(p *wake.Plane) float64 { return p.Field[wake.U][i] / opt.Reference.Speed }); !(math.Abs(standard[i]-want) <= 1e-12) {
			t.Errorf("standard uncertainty of u/U at sample %d: %g, %g by leaving out each block", i, standard[i], want)
		}
	}
	// The edges of the wake as another measurement of each mean without a block has them.
	var least float64
	for side := range 2 {
		want := uncertainty.Coverage(g-1) * jackknife(func(p *wake.Plane) float64 {
			m := mustTake(t, p, opt)
			return m.Extent().Y[side]
		})
		if e := m.Extent().Expanded; e == nil || !(math.Abs(e[0][side]-want) <= 1e-9) {
			t.Errorf("± of edge %d: %v, %g by leaving out each block", side, e, want)
		}
		least = max(least, want)
	}
	if !(least > 1e-4) {
		t.Errorf("the edges move by %g alone, so that this test sees nothing", least)
	}
	errs := m.BlockErrors()
	if len(errs) != g-1 {
		t.Fatalf("%d contrasts of %d blocks", len(errs), g)
	}
	sq := 0.0
	for _, e := range errs {
		x := whole.IntegrateFunc(func(i int) float64 { return e[i] })
		sq += x * x / float64(len(errs))
	}
	if got := math.Sqrt(sq); math.Abs(got-want) > 1e-9*want {
		t.Errorf("seed %d: the contrasts say u = %.9g m², leaving out blocks %.9g m²", seed, got, want)
	}
	want = jackknife(func(p *wake.Plane) float64 {
		without := mustTake(t, p, opt)
		return without.Result.Drag.Momentum.DragArea
	})
	items := m.Result.Uncertainty.DragArea.Items
	k := slices.IndexFunc(items, func(it uncertainty.Item) bool { return it.Category == uncertainty.TimeAverage })
	if k < 0 || math.Abs(items[k].Standard-want) > 1e-9*want || items[k].DOF == nil || *items[k].DOF != g-1 {
		t.Errorf("seed %d: the budget holds %+v for the time average, leaving out blocks says %.9g m²", seed, items, want)
	}
}

// TestTimeAverageOfBoth: a time average that is known of one of two means says nothing of the other,
// whichever is the first, unless that one is steady; and what stresses do not tell of a place in the one, the
// blocks of the other do not tell either.
func TestTimeAverageOfBoth(t *testing.T) {
	take := func(what string) *measure.Measurement {
		s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 1), -1, 1, 0, 2, 21, 21)
		opt := measure.Options{Reference: waketest.Reference()}
		opt.Uncertainty.Steady = what == "steady"
		switch what {
		case "blocks":
			s.Blocks = &wake.Blocks{}
			for j := range 9 {
				eps := 0.5 + 0.02*math.Sin(float64(j))
				of := waketest.Lattice(waketest.Gaussian(eps, 0.2, 0, 1), -1, 1, 0, 2, 21, 21)
				s.Blocks.Field = append(s.Blocks.Field, [wake.NumQuantities][]float64{wake.U: of.Col[wake.U]})
			}
		case "stresses":
			s.Col[wake.UU] = make([]float64, s.N)
			for i, u := range s.Col[wake.U] {
				s.Col[wake.UU][i] = 0.02 * (1 - u)
			}
			opt.Uncertainty.EffectiveSamples = 50
		}
		m := mustTake(t, waketest.Plane(t, s, wake.PlaneOptions{}), opt)
		return m
	}
	const known, unknown = uncertainty.Estimated, uncertainty.Unknown
	for _, c := range []struct{ a, b, drag, place string }{
		{"blocks", "blocks", known, known}, {"blocks", "nothing", unknown, unknown}, {"blocks", "steady", known, known},
		{"stresses", "stresses", known, unknown}, {"stresses", "nothing", unknown, unknown}, {"stresses", "blocks", known, unknown},
	} {
		a, b := take(c.a), take(c.b)
		for range 2 {
			drag := uncertainty.StateOf(uncertainty.TimeAverage, measure.InputItems(a.Layout.Drag(measure.Whole), a, b))
			place := uncertainty.StateOf(uncertainty.TimeAverage, measure.InputItems(a.Layout.Centroid(measure.Whole, 0), a, b))
			if drag.How != c.drag || place.How != c.place {
				t.Errorf("%s and %s: drag %+v, place %+v", c.a, c.b, drag, place)
			}
			a, b = b, a
		}
	}
}
