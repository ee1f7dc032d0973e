package measure

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// alongEdge is the mean loss of total pressure on each stretch of the open edge, NaN where less
// than half of its length lies in the outer flow.
func (m *station) alongEdge() (mean [stretches]float64) {
	b := m.edge
	_, _, outer := b.level(m.flow.loss)
	var all, in [stretches]float64
	for k, s := range b.samples {
		j := m.stretch(s)
		all[j] += b.length[k]
		if outer[k] {
			in[j] += b.length[k]
			mean[j] += b.length[k] * m.flow.loss(int(s))
		}
	}
	for j := range mean {
		if mean[j] /= in[j]; !(in[j] >= all[j]/2) {
			mean[j] = math.NaN()
		}
	}
	return mean
}

// Apart is how the losses of total pressure beside the wakes of two planes differ, the second's less
// the first's: Level is the mean, Scatter what it is sure to, and Beyond what counts as an error of
// the reference: √(Level² − 4 Scatter²), and the tilts along both axes, per half of the window about its middle;
// each 0 where it is within twice what it is sure to.
type Apart struct {
	Level, Scatter float64
	Beyond         [3]float64
}

// EdgesApart sets the losses of two planes against each other, stretch by stretch of their open
// edges. A reference that is off moves all stretches alike; noise and what another body does to
// the stream do not, so that with s the standard deviation of the n differences and e the standard error
// that noise leaves in their mean,
//
//	scatter = √(max(s² − n e², 0) + e²)
//
// where the first is counted from s² > 2 n e² on, beyond what chance makes of twelve stretches. The slope
// along an axis, from the correlation r with it, is β = r s/s_x, with the variance
// (1 − r²) s²/(n − 2)/s_x². All is 0 where fewer than four can be compared.
func EdgesApart(a, b *Measurement) (out Apart) {
	if !a.flow.hasLoss() || !b.flow.hasLoss() {
		return out
	}
	var off []float64
	var at [2][]float64
	x, y := a.along(), b.along()
	for j := range x {
		if v := y[j] - x[j]; !math.IsNaN(v) {
			sin, cos := math.Sincos(2 * math.Pi * ((float64(j)+0.5)/stretches - 0.5))
			k := math.Max(math.Abs(sin), math.Abs(cos))
			off, at[0], at[1] = append(off, v), append(at[0], cos/k), append(at[1], sin/k)
		}
	}
	n := float64(len(off))
	if n < 4 {
		return out
	}
	d, s := spread(off, nil)
	var noise float64
	if a.Result.Edge != nil && b.Result.Edge != nil {
		noise = math.Hypot(a.Result.Edge.Standard, b.Result.Edge.Standard)
	}
	out.Level, out.Scatter = d, noise
	if s*s > 2*n*noise*noise {
		out.Scatter = math.Sqrt(s*s - (n-1)*noise*noise)
	}
	out.Beyond[0] = math.Copysign(math.Sqrt(math.Max(0, d*d-4*out.Scatter*out.Scatter)), d)
	for k := range at {
		_, sx := spread(at[k], nil)
		if r := stat.Correlation(at[k], off, nil); r*r > 4*(1-r*r)/(n-2) {
			out.Beyond[1+k] = r * s / sx
		}
	}
	return out
}

// OffReference is what an error of the pressures alone does that lies anywhere up to what edges are
// apart by.
func (m *Measurement) OffReference(name string, d [3]float64) Response {
	w, q := m.window, m.opt.Reference.Dynamic()
	off := func(by float64) Vector {
		p := *m.Plane
		for _, k := range []wake.Quantity{wake.P, wake.Cp, wake.Pt, wake.Cpt} {
			if f := p.Field[k]; f != nil {
				unit := by
				if k == wake.P || k == wake.Pt {
					unit *= q
				}
				p.Field[k] = grid.Fill(len(f), func(i int) float64 {
					at := m.mesh.Points[i]
					return f[i] + unit*(d[0]+d[1]*(2*(at.X-w.Min.X)/w.Width()-1)+d[2]*(2*(at.Y-w.Min.Y)/w.Height()-1))
				})
			}
		}
		return m.Layout.orNone(m.off(&p))
	}
	// It is small, so that what it does to one side it does to the other.
	r := Response{Name: name, Category: uncertainty.Reference, Kind: uncertainty.Independent, Standard: 1, Plus: off(1 / math.Sqrt(3))}
	for i, v := range r.Plus {
		r.Minus = append(r.Minus, 2*m.Values[i]-v)
	}
	return r
}
