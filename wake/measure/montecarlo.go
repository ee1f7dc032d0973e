package measure

import (
	"math/rand/v2"

	"wakeledger/wake/uncertainty"
)

// The number of Monte Carlo trials that may be asked for.
const leastTrials, mostTrials = 200, 1_000_000

// Simulate measures the survey again Trials times, each time with every stated
// input of reference and position drawn from a normal distribution, and returns
// the change of the headline numbers. What is common to several surveys is drawn
// alike in trial n of each; what is independent depends on the survey's number in
// the comparison. The draws depend on these numbers alone. nil without trials or
// inputs.
func (m *Measurement) Simulate(survey int) ([]Vector, error) {
	u := m.given.Uncertainty
	in := u.inputs()
	if u.Trials == 0 || len(in) == 0 {
		return nil, nil
	}
	return vectors(u.Trials, func(t int) (Vector, error) {
		common := rand.New(rand.NewPCG(uncertainty.Seed+1, uint64(t)))
		own := rand.New(rand.NewPCG(uncertainty.Seed+2+uint64(survey), uint64(t)))
		opt, p := m.given, m.Plane
		for _, x := range in {
			z, zi := common.NormFloat64(), own.NormFloat64()
			if x.kind == uncertainty.Independent {
				z = zi
			}
			p = x.apply(p, &opt, z*x.standard)
		}
		v, err := m.Layout.again(p, opt, shared{geometry: m.geometry, wake: m.flow.wake})
		for i := range v {
			v[i] -= m.Values[i]
		}
		return v, err
	})
}
