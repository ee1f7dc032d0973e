package measure

import (
	"math"

	"wakeledger/grid/quad"
)

// centroidFloor: a centroid is given only when the weight's integral is at least
// this part of the integral of its absolute value; below, parts of opposite sign
// cancel and the quotient has no meaning.
const centroidFloor = 0.1

// shape gives area, place and spread of the weight over a part of the plane with the moments
// mo and the areas above the thresholds. The centroid, spread and tilt are those of the part as
// it is; a half plane counts twice in areas.
//
//	centroid      ∫w(y,z)dS / ∫w dS
//	spread        roots of the variances about it, along y and z
//	tilt          angle of the major principal axis, from y toward z, degrees
//	effective     (∫w dS)² / ∫w² dS: the area of a top-hat, 4πσ² of a Gaussian
//	displacement  ∫(1−u)dS
//	momentum      ∫u(1−u)dS
func (m *station) shape(part quad.Weights, mo quad.Moments, areas []float64) *Wake {
	scale := m.scale
	out := &Wake{Weight: m.opt.Weight.String(), Integral: scale * mo.M0}
	for k, a := range areas {
		out.Areas = append(out.Areas, ThresholdArea{Threshold: m.opt.Thresholds[k], Area: scale * a})
	}
	if f := m.flow; f.u != nil {
		sum := part.IntegrateAll(2, func(i int, w float64, v []float64) {
			u := f.u[i] / f.speed
			d := 1 - u
			v[0] += w * d
			v[1] += w * u * d
		})
		out.Displacement, out.MomentumArea = new(scale*sum[0]), new(scale*sum[1])
	}
	if out.Centroid, out.Spread = middleOf(mo); out.Centroid == nil {
		return out
	}
	if mo.Square > 0 {
		out.Effective = new(scale * mo.M0 * mo.M0 / mo.Square)
	}
	if xx, xy, yy := mo.Central(); out.Spread != nil {
		out.Tilt = new(math.Atan2(2*xy, xx-yy) / 2 * 180 / math.Pi)
		if mid, half := (xx+yy)/2, math.Hypot((xx-yy)/2, xy); mid > half {
			out.Axes = &[2]float64{math.Sqrt(mid + half), math.Sqrt(mid - half)}
		}
	}
	return out
}

// levelled is the shape of the weight counted from a level; nil without an open edge.
func (s *station) levelled(level float64) *Levelled {
	if len(s.edge.samples) == 0 {
		return nil
	}
	mo := quad.NewMoments(s.mesh, nil, s.each(func(i int) float64 { return s.weight[i] - level }))
	l := &Levelled{Level: level, Integral: s.scale * mo.M0}
	l.Centroid, l.Spread = middleOf(mo)
	return l
}

// place is the centroid and the spread of the weight, counted from the level of the edge where there
// is one; nil where they have no meaning.
func (w *Wake) place() (centroid, spread *[2]float64) {
	switch {
	case w == nil:
		return nil, nil
	case w.Levelled != nil && w.Levelled.Spread != nil:
		return w.Levelled.Centroid, w.Levelled.Spread
	}
	return w.Centroid, w.Spread
}

// middleOf is the centroid and the spread of a weight with these moments; nil where it is not
// positive enough to divide by.
func middleOf(mo quad.Moments) (centroid, spread *[2]float64) {
	if !(mo.M0 > 0 && mo.M0 > centroidFloor*mo.Absolute) {
		return nil, nil
	}
	c := mo.Centroid()
	if xx, _, yy := mo.Central(); xx > 0 && yy > 0 {
		spread = &[2]float64{math.Sqrt(xx), math.Sqrt(yy)}
	}
	return &[2]float64{c.X, c.Y}, spread
}
