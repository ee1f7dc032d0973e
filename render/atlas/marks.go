package atlas

import (
	"fmt"
	"math"

	"wakeledger/render"
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

// ellipses show the spreads of the wake, where the plane does not cut the body, or
// of its regions.
func ellipses(r *measure.Result) (out []render.Outline) {
	of := []*measure.Wake{r.Wake}
	if len(r.Regions) > 0 || r.Mesh.CutsBody {
		of = nil
	}
	for _, g := range r.Regions {
		of = append(of, g.Wake)
	}
	for _, w := range of {
		if s := spreadOf(w); s != nil && w.Centroid != nil {
			out = append(out, render.Ellipse(point(*w.Centroid), [2]float64{s[0], s[1]}, s[2], "spread, one standard deviation"))
		}
	}
	return out
}

// principal gives the standard deviations along the principal axes, of which the
// first is turned by tilt, from those along the coordinates: with the variances
// a and b,
//
//	λ₁,₂ = (a+b)/2 ± (a−b)/(2 cos 2θ).
//
// ok is false where the axes stand so near to 45° that the variances do not tell.
func principal(spread [2]float64, tilt float64) (semi [2]float64, ok bool) {
	a, b := spread[0]*spread[0], spread[1]*spread[1]
	c := math.Cos(2 * tilt * math.Pi / 180)
	if !(math.Abs(c) > 1e-3) {
		return semi, false
	}
	half := (a - b) / (2 * c)
	l1, l2 := (a+b)/2+half, (a+b)/2-half
	if !(l1 > 0 && l2 > 0) {
		return semi, false
	}
	return [2]float64{math.Sqrt(l1), math.Sqrt(l2)}, true
}

// inPlane gives the velocities within the plane over U, nil where the plane lacks
// them.
func inPlane(m *measure.Measurement) (a, b []float64) {
	p, q := m.Plane.Normal.InPlane()
	along, across := m.Plane.Velocity(p), m.Plane.Velocity(q)
	if along == nil || across == nil {
		return nil, nil
	}
	over := func(v []float64) []float64 {
		out := make([]float64, len(v))
		for i, x := range v {
			out[i] = x / m.Result.Reference.Speed
		}
		return out
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
	out := make([]float64, len(u))
	for i := range out {
		out[i] = math.Hypot(u[i], v[i])
	}
	return out
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
