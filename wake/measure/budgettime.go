package measure

import (
	"math"
	"math/rand/v2"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// timeDraws is the number of random error fields, and so the degrees of freedom of what
// they tell.
const timeDraws = 24

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

// respondTime measures again with each mean velocity off by a random part of its own
// uncertainty, √(normal stress/effective samples), alike all over the plane: errors that
// change from place to place cancel in part, so that a drag's is no more.
func (m *measuring) respondTime() error {
	n := m.given.Uncertainty.EffectiveSamples
	if n == 0 {
		return nil
	}
	if !m.plane.Has(wake.U, wake.UU) {
		m.warn("no-stress", "export <u'u'>, or leave out the number of effective samples",
			"a number of effective samples is stated, but the plane has no normal stress: the budget holds no time average")
		return nil
	}
	first := m.seedOf()
	r := Response{Name: "time average", Category: uncertainty.TimeAverage, PointByPoint: true, Kind: uncertainty.Random, DOF: timeDraws}
	return m.draws(r, timeDraws, func(d int) *wake.Plane {
		rng := rand.New(rand.NewPCG(first, uint64(d)))
		p := *m.plane
		for k, q := range [3]wake.Quantity{wake.U, wake.V, wake.W} {
			if f, stress := p.Field[q], p.Field[[3]wake.Quantity{wake.UU, wake.VV, wake.WW}[k]]; f != nil && stress != nil {
				z := rng.NormFloat64()
				p.Field[q] = grid.Fill(len(f), func(i int) float64 { return f[i] + z*math.Sqrt(math.Max(0, stress[i])/n) })
			}
		}
		return &p
	})
}
