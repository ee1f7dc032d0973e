package measure

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// respondSamples measures again with the samples off by what is known of their errors: to
// either side where all err together, else by random numbers of unit variance, one for
// each group of samples that errs by itself.
func (m *measuring) respondSamples() (err error) {
	first := m.seedOf()
	for k := range m.plane.Errors {
		e := &m.plane.Errors[k]
		r := Response{Name: e.Name, Category: uncertainty.Reference, Kind: e.Kind, Standard: 1}
		if e.Group != nil && e.Groups == 1 {
			err = m.sides(r, func(d float64) (Vector, error) {
				return m.off(plusErrors(m.plane, e, func(int) float64 { return d }))
			})
		} else {
			r.DOF = timeDraws
			err = m.draws(r, timeDraws, func(d int) *wake.Plane {
				rng := rand.New(rand.NewPCG(first+uint64(k)+1, uint64(d)))
				groups := len(m.plane.Mesh.Points)
				if e.Group != nil {
					groups = e.Groups
				}
				z := grid.Fill(groups, func(int) float64 { return rng.NormFloat64() })
				return plusErrors(m.plane, e, func(i int) float64 {
					if e.Group != nil {
						i = int(e.Group[i])
					}
					return z[i]
				})
			})
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// plusErrors is a plane with each sample off by z(i) of its error.
func plusErrors(plane *wake.Plane, e *wake.SampleError, z func(i int) float64) *wake.Plane {
	p := *plane
	for q, of := range e.Of {
		if f := p.Field[q]; of != nil && f != nil {
			p.Field[q] = grid.Fill(len(f), func(i int) float64 { return f[i] + z(i)*of[i] })
		}
	}
	return &p
}

// WithoutKnownScatter takes from the item "sampling distance", which the samples' scatter
// tells, the part that an item from the log represents already: the errors that are
// random from sample to sample, which scatter shows too. What is left, down to zero, is
// what the distance of the samples makes beyond them.
func WithoutKnownScatter(items []uncertainty.Item) []uncertainty.Item {
	var known float64
	for _, it := range items {
		if it.Kind == uncertainty.Random && strings.HasSuffix(it.Name, wake.FromLog) {
			known += it.Standard * it.Standard
		}
	}
	if known == 0 {
		return items
	}
	out := slices.Clone(items)
	for k := range out {
		if it := &out[k]; it.Name == "sampling distance" {
			it.Whole = it.Standard
			it.Standard = math.Sqrt(math.Max(0, it.Standard*it.Standard-known))
		}
	}
	return out
}
