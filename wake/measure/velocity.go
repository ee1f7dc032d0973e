package measure

import "math"

// VelocityOnly is 2∫(u/U)(1−u/U)dS: a momentum deficit, not a drag. Without the pressure
// term a plane behind a body in ideal flow, which has none, reads about 1 m² for a sphere
// of 1 m radius (see the tests).
type VelocityOnly struct {
	DragArea float64 `json:"drag_area_m2"`
	// EdgeReferred is the same with the median speed U_e of the open edge for U, as a
	// momentum deficit over ½ρU_e²; EdgeReferredQ is that deficit over the reference's
	// dynamic pressure, as all other drag areas are. EdgeStandard is the standard
	// uncertainty of EdgeReferred by what the speed scatters along the edge, and
	// EdgeSpeed U_e, m/s. Where the forms differ much, none is a drag.
	EdgeReferred  float64 `json:"edge_referred_m2,omitempty"`
	EdgeReferredQ float64 `json:"edge_referred_reference_q_m2,omitempty"`
	EdgeStandard  float64 `json:"edge_referred_standard_m2,omitempty"`
	EdgeSpeed     float64 `json:"edge_speed_m_s,omitempty"`
}

func (d *VelocityOnly) drag() (float64, *float64) { return d.DragArea, nil }

var velocityOnlyMethod = &Method{
	Key: ByVelocityOnly, Short: "velocity only (a deficit)", Long: "velocity alone", Deficit: true,
	Formula: "2∫(u/U)(1 − u/U) dS",
	Of:      func(d *Drag) (float64, *float64, bool) { return had(d.VelocityOnly) },
	needs:   func(f *flow) bool { return f.u != nil },
	measure: func(s *station, _ *numbers, d *Drag) { d.VelocityOnly = s.velocityOnly() },
}

// velocityOnly is the deficit of the velocity alone, referred to U and to the speed of the
// open edge, a median since a wake that the border cuts would pull a mean: it does not count
// until it fills half of the border. What the speed scatters by along the border counts
// whole, since it varies smoothly and any part of it may be the stream to refer to.
func (s *station) velocityOnly() *VelocityOnly {
	f := s.flow
	sum := s.whole.IntegrateAll(2, func(i int, w float64, v []float64) {
		u := f.u[i] / f.speed
		v[0] += w * u
		v[1] += w * u * u
	})
	deficit := func(speed float64) float64 {
		k := f.speed / speed
		return 2 * s.scale * k * (sum[0] - k*sum[1])
	}
	v := &VelocityOnly{DragArea: f.norm * deficit(f.speed)}
	if edge, sd := s.edge.robust(s.edge.values(func(i int) float64 { return f.u[i] })); edge > 0 {
		v.EdgeSpeed = edge
		v.EdgeReferred = deficit(edge)
		k := edge / f.ref.Speed
		v.EdgeReferredQ = k * k * v.EdgeReferred
		if sd < edge {
			v.EdgeStandard = math.Abs(deficit(edge+sd)-deficit(edge-sd)) / 2
		}
	}
	return v
}
