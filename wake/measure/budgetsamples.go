package measure

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// respondSamples measures again with the samples off by what is known of their errors: to
// either side where all err together, else by random numbers of unit variance, one for
// each group of samples that errs by itself.
func (m *measuring) respondSamples() error {
	first := m.seedOf()
	for k := range m.plane.Errors {
		e := &m.plane.Errors[k]
		r := Response{Name: e.Name, Category: uncertainty.Reference, Kind: e.Kind, Standard: 1}
		var err error
		if e.Group != nil && e.Groups == 1 {
			if r.Plus, err = m.off(e, func(int) float64 { return 1 }); err != nil {
				return err
			}
			if r.Minus, err = m.off(e, func(int) float64 { return -1 }); err != nil {
				return err
			}
			m.responses = append(m.responses, r)
			continue
		}
		r.DOF, r.Draws = timeDraws, make([]Vector, timeDraws)
		errs := make([]error, timeDraws)
		slot := make(chan struct{}, runtime.GOMAXPROCS(0))
		var wg sync.WaitGroup
		for d := range timeDraws {
			slot <- struct{}{}
			wg.Go(func() {
				defer func() { <-slot }()
				rng := rand.New(rand.NewPCG(first+uint64(k)+1, uint64(d)))
				groups := len(m.plane.Mesh.Points)
				if e.Group != nil {
					groups = e.Groups
				}
				z := make([]float64, groups)
				for i := range z {
					z[i] = rng.NormFloat64()
				}
				r.Draws[d], errs[d] = m.off(e, func(i int) float64 {
					if e.Group != nil {
						i = int(e.Group[i])
					}
					return z[i]
				})
			})
		}
		wg.Wait()
		for _, err := range errs {
			if err != nil {
				return err
			}
		}
		m.responses = append(m.responses, r)
	}
	return nil
}

// off measures with each sample off by z(i) of its error.
func (m *measuring) off(e *wake.SampleError, z func(i int) float64) (Vector, error) {
	p := *m.plane
	for q, of := range e.Of {
		if of == nil || p.Field[q] == nil {
			continue
		}
		f := slices.Clone(p.Field[q])
		for i := range f {
			f[i] += z(i) * of[i]
		}
		p.Field[q] = f
	}
	return m.again(&p, m.given)
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
