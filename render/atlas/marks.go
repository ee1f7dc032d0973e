package atlas

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
)

func (o Options) crossflow(p *render.Panel, m *measure.Measurement) {
	full := o.shared.full
	if !(full > 0) {
		return
	}
	if a, b := inPlane(m); a != nil {
		p.Vectors = &render.Vectors{X: a, Y: b, Full: full, Name: fmt.Sprintf("cross-flow, %g U", full)}
	}
}

// inPlane gives the velocities within the plane over U, nil where the plane lacks
// them.
func inPlane(m *measure.Measurement) (a, b []float64) {
	p, q := m.Plane.Normal.InPlane()
	along, across := m.Plane.Field[wake.U+wake.Quantity(p)], m.Plane.Field[wake.U+wake.Quantity(q)]
	if along == nil || across == nil {
		return nil, nil
	}
	over := func(v []float64) []float64 {
		return floats.ScaleTo(make([]float64, len(v)), 1/m.Result.Reference.Speed, v)
	}
	return over(along), over(across)
}

// fullVector is the cross-flow, as a part of U, that is drawn at full length in all
// pictures of the measurements: what all but a fiftieth of the samples stay below,
// rounded up. 0 means that nothing is to be drawn.
func (o Options) fullVector(ms []*measure.Measurement) float64 {
	if !o.Vectors {
		return 0
	}
	var all []float64
	for _, m := range ms {
		a, b := inPlane(m)
		for i := range a {
			all = append(all, math.Hypot(a[i], b[i]))
		}
	}
	if q, ok := render.Quantiles([]render.Weighted{{Values: all}}, false, 0.98); ok && q[0] > 0 {
		return render.NiceAbove(q[0])
	}
	return 0
}

// doubt is the expanded uncertainty of the change of a quantity from a to b at each sample,
// as far as the time averages make it; nil where it is not known.
func doubt(a, b *measure.Measurement, quantity string) []float64 {
	u, v := expanded(a, quantity), expanded(b, quantity)
	if u == nil || len(u) != len(v) {
		return nil
	}
	return grid.Fill(len(u), func(i int) float64 { return math.Hypot(u[i], v[i]) })
}

// expanded is the expanded uncertainty of a quantity at each sample, as far as the time
// average makes it; nil where it is not known. That of a difference is taken as the root of
// the squares: its own coverage factor would be no larger than the larger of the two.
func expanded(m *measure.Measurement, quantity string) []float64 {
	u, dof, ok := m.FieldStandard(quantity)
	if !ok {
		return nil
	}
	for i := range u {
		u[i] *= uncertainty.Coverage(dof)
	}
	return u
}
