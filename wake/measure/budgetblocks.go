package measure

import (
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"

	"wakeledger/wake/uncertainty"
)

// respondBlocks measures the mean without each part of its record (wake.Blocks): the
// whole measurement each time, so that what pressure and velocity have in common, and
// what continuity asks of them, is in the scatter without a model. The draws are set
// apart so that their mean square is the variance of a number, (g−1)/g·Σ(R₍ⱼ₎−R̄)².
func (m *measuring) respondBlocks() error {
	g := len(m.plane.Blocks.Field)
	r := Response{Name: "time average", Category: uncertainty.TimeAverage, Kind: uncertainty.Random, DOF: float64(g - 1), Draws: make([]Vector, g)}
	var all errgroup.Group
	all.SetLimit(runtime.GOMAXPROCS(0))
	for j := range g {
		all.Go(func() (err error) {
			r.Draws[j], err = m.again(m.plane.Without(j), m.given)
			return err
		})
	}
	if err := all.Wait(); err != nil {
		return err
	}
	for i, v := range m.values {
		var mean float64
		for _, d := range r.Draws {
			mean += d[i] / float64(g)
		}
		for _, d := range r.Draws {
			d[i] = v + (d[i]-mean)*math.Sqrt(float64(g-1))
		}
	}
	m.responses = append(m.responses, r)
	return nil
}
