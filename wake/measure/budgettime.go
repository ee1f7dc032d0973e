package measure

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

const (
	// timeDraws is the number of random error fields, and so the degrees of freedom
	// of what they tell.
	timeDraws = 24
	// waves is the number of plane waves that a correlated field is made of.
	waves = 40
)

// seedOf starts the few draws of a budget. It depends on the plane's values: few draws
// leave a standard uncertainty some 15 % off, and were they the same for every survey,
// every interval of a campaign would be too short or too long alike, instead of some
// being the one and some the other, which is what the degrees of freedom allow for.
func (m *station) seedOf() uint64 {
	h := uint64(uncertainty.Seed)
	for _, q := range []wake.Quantity{wake.U, wake.Pt, wake.Cpt, wake.P} {
		for _, v := range m.plane.Field[q] {
			// One round of a 64-bit mixing function, so that the order of the values counts.
			h = (h ^ math.Float64bits(v)) * 0x9e3779b97f4a7c15
			h ^= h >> 29
		}
	}
	return h
}

// randomField fills out with a field of unit variance at the points, with the
// correlation exp(−r²/2L²): plane waves of random direction and phase, with wave
// numbers of the Gaussian spectrum that belongs to it, one from each of as many
// equal shares of it, so that no field lacks the long waves that integrals feel. L = 0 gives
// one number for all points, L < 0 independent numbers.
func randomField(r *rand.Rand, points []grid.Point, L float64, out []float64) {
	switch {
	case L == 0:
		v := r.NormFloat64()
		for i := range out {
			out[i] = v
		}
		return
	case L < 0:
		for i := range out {
			out[i] = r.NormFloat64()
		}
		return
	}
	clear(out)
	for k := range waves {
		// |k|L is distributed as the root of −2 ln(1−x) for x even between 0 and 1.
		size := math.Sqrt(-2*math.Log1p(-(float64(k)+r.Float64())/waves)) / L
		sin, cos := math.Sincos(2 * math.Pi * r.Float64())
		kx, ky, phase := size*cos, size*sin, 2*math.Pi*r.Float64()
		for i, p := range points {
			out[i] += math.Cos(kx*p.X + ky*p.Y + phase)
		}
	}
	for i := range out {
		out[i] *= math.Sqrt(2.0 / waves)
	}
}

// respondTime measures again with the mean velocities off by random fields of
// their own uncertainty, √(normal stress/effective samples).
func (m *measuring) respondTime() error {
	u := m.given.Uncertainty
	if u.EffectiveSamples == 0 {
		return nil
	}
	pairs := [3][2]wake.Quantity{{wake.U, wake.UU}, {wake.V, wake.VV}, {wake.W, wake.WW}}
	if m.plane.Field[wake.U] == nil || m.plane.Field[wake.UU] == nil {
		m.warn("no-stress", "export <u'u'>, or leave out the number of effective samples",
			"a number of effective samples is stated, but the plane has no normal stress: the budget holds no time average")
		return nil
	}
	r := Response{Name: "time average", Category: uncertainty.TimeAverage, PointByPoint: true, Kind: uncertainty.Random, DOF: timeDraws, Draws: make([]Vector, timeDraws)}
	errs := make([]error, timeDraws)
	slot := make(chan struct{}, runtime.GOMAXPROCS(0))
	first := m.seedOf()
	var wg sync.WaitGroup
	for d := range timeDraws {
		slot <- struct{}{}
		wg.Go(func() {
			defer func() { <-slot }()
			rng := rand.New(rand.NewPCG(first, uint64(d)))
			noise := make([]float64, len(m.plane.Mesh.Points))
			p := *m.plane
			for _, q := range pairs {
				mean, stress := p.Field[q[0]], p.Field[q[1]]
				if mean == nil || stress == nil {
					continue
				}
				randomOn(rng, p.Mesh, everywhere, u.CorrelationLength, noise)
				off := make([]float64, len(mean))
				for i, v := range mean {
					off[i] = v + noise[i]*math.Sqrt(math.Max(0, stress[i])/u.EffectiveSamples)
				}
				p.Field[q[0]] = off
			}
			r.Draws[d], errs[d] = m.again(&p, m.given)
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	m.responses = append(m.responses, r)
	return nil
}
