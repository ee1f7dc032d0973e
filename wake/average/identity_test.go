package average

import (
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

// TestIdentity: the mean of the instantaneous momentum integrals is the integral of
// the mean plane with −ρ<u'u'>, on a lattice, on scattered samples and with
// repeated positions, over the whole and a region, for a half plane too.
func TestIdentity(t *testing.T) {
	for _, c := range []struct {
		name string
		half bool
		move func(s *wake.Samples)
	}{
		{"lattice", false, func(*wake.Samples) {}},
		{"scattered", true, func(s *wake.Samples) {
			r := rand.New(rand.NewPCG(9, 9))
			for i := range s.N {
				s.Col[wake.Y][i] += 0.26 + 0.03*r.Float64()
				s.Col[wake.Z][i] += 0.03 * r.Float64()
			}
		}},
		{"repeated", false, func(s *wake.Samples) {
			for q := range s.Col {
				if c := s.Col[q]; c != nil {
					s.Col[q] = append(c, c[3], c[11])
				}
			}
			s.N += 2
		}},
	} {
		opt := options()
		if opt.Half = c.half; c.half {
			b := &opt.Regions[0].Box // moved with the samples
			b.Min.X, b.Max.X = b.Min.X+0.26, b.Max.X+0.26
		}
		a := mustNew(t, opt)
		var mean, region float64
		const count = 20
		for k := range count {
			s := file(k, 6, 5)
			c.move(s)
			mustAdd(t, a, k+1, s)
			// Independently: the measurement of each snapshot.
			m := measured(t, s, measure.Options{Reference: *reference(), Regions: opt.Regions, Half: c.half})
			mean += m.Drag.Momentum.DragArea / count
			region += *m.Regions[0].DragArea / count
		}
		r := mustResult(t, a.State())
		for k, want := range []float64{mean, region} {
			v := r.Series[k]
			if tol := 1e-12 * math.Abs(want); !(math.Abs(v.Mean-want) <= tol && math.Abs(*v.MeanPlane-want) <= tol) {
				t.Errorf("%s, %s: mean of the series %.15g, of the measurements %.15g, mean plane %.15g", c.name, v.Name, v.Mean, want, *v.MeanPlane)
			}
		}
		// And the measurement of the mean plane.
		p := a.State().places("mean")
		for _, q := range []wake.Quantity{wake.U, wake.V, wake.W, wake.P, wake.UU} {
			p.Col[q] = r.mean.Col[q]
		}
		m := measured(t, p, measure.Options{Reference: *reference(), Half: c.half})
		near(t, c.name+": drag of the mean plane", m.Drag.Momentum.DragArea, mean, 1e-12*math.Abs(mean))
		if d := math.Abs(*m.Drag.Momentum.Terms.Turbulence); !(d > 1e-4) {
			t.Errorf("%s: the turbulence term is %g: the test shows nothing", c.name, d)
		}
	}
}

func measured(t *testing.T, s *wake.Samples, opt measure.Options) *measure.Result {
	t.Helper()
	opt.Reference.TotalPressure = math.NaN()
	r, err := measure.Take(waketest.Plane(t, s, wake.PlaneOptions{}), opt)
	if err != nil {
		t.Fatal(err)
	}
	return r.Result
}

// TestPressureOfCp: snapshots of cp give what those of p do.
func TestPressureOfCp(t *testing.T) {
	ref := reference()
	ref.Pressure = 3
	var mean [2]float64
	for n := range mean {
		a := mustNew(t, Options{Reference: ref})
		for k := range 6 {
			s := file(k, 6, 4)
			if n == 1 {
				s.Col[wake.Cp] = make([]float64, s.N)
				for i, p := range s.Col[wake.P] {
					s.Col[wake.Cp][i] = (p - 3) / 375
				}
				s.Col[wake.P] = nil
			}
			mustAdd(t, a, k+1, s)
		}
		r := mustResult(t, a.State())
		mean[n] = r.Series[0].Mean
	}
	near(t, "from cp", mean[1], mean[0], 1e-10)
}

var near = gridtest.Near
