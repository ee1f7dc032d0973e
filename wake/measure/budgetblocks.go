package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// respondBlocks measures the mean without each part of its record (wake.Blocks): the
// whole measurement each time, so that what pressure and velocity have in common, and
// what continuity asks of them, is in the scatter without a model. The draws are set
// apart so that their mean square is the variance of a number, (g−1)/g·Σ(R₍ⱼ₎−R̄)².
func (m *measuring) respondBlocks() error {
	g := len(m.plane.Blocks.Field)
	r := Response{Name: "time average", Category: uncertainty.TimeAverage, Kind: uncertainty.Random, DOF: float64(g - 1)}
	if err := m.draws(r, g, m.plane.Without); err != nil {
		return err
	}
	draws := m.Responses[len(m.Responses)-1].Draws
	for i, v := range m.Values {
		var mean float64
		for _, d := range draws {
			mean += d[i] / float64(g)
		}
		for _, d := range draws {
			d[i] = v + (d[i]-mean)*math.Sqrt(float64(g-1))
		}
	}
	return nil
}

// BlockErrors are g−1 independent draws of the error that the time average has left in the
// weight, at the samples, for what is measured from the weight elsewhere: contrasts of the
// weights of the g means without a part of the record, whose mean square is the variance
// of respondBlocks to first order. The reference and the edge level stay as they are. nil
// without blocks.
func (m *Measurement) BlockErrors() [][]float64 {
	b := m.Plane.Blocks
	if b == nil || m.Weight == nil {
		return nil
	}
	g := len(b.Field)
	scale := float64(g-1) / math.Sqrt(float64(g))
	// Helmert's contrasts: each mean against the sum of those before it.
	sum, out := make([]float64, len(m.Weight)), make([][]float64, 0, g-1)
	for j := range g {
		w := m.weightOf(m.Plane.Without(j))
		if j > 0 {
			k := scale / math.Sqrt(float64(j*(j+1)))
			out = append(out, grid.Fill(len(w), func(i int) float64 { return k * (sum[i] - float64(j)*w[i]) }))
		}
		floats.Add(sum, w)
	}
	return out
}

// flowOf is the flow of other values of the plane; the reference stays as it was found.
func (m *Measurement) flowOf(p *wake.Plane) *flow {
	f := newFlow(p, &m.opt)
	f.ref, f.speed, f.dynamic, f.norm, f.cptInf = m.flow.ref, m.flow.speed, m.flow.dynamic, m.flow.norm, m.flow.cptInf
	return f
}

// weightOf is the weight of other values of the plane.
func (m *Measurement) weightOf(p *wake.Plane) []float64 {
	return m.flowOf(p).weight(m.station.opt.Weight)
}
