package measure

// VelocityOnly is 2∫(u/U)(1−u/U)dS: a momentum deficit, not a drag. Without the pressure
// term a plane behind a body in ideal flow, which has none, reads about 1 m² for a sphere
// of 1 m radius (see the tests).
type VelocityOnly struct {
	DragArea float64 `json:"drag_area_m2"`
}

func (d *VelocityOnly) drag() (float64, *float64) { return d.DragArea, nil }

var velocityOnlyMethod = &Method{
	Key: ByVelocityOnly, Short: "velocity only (a deficit)", Long: "velocity alone", Deficit: true,
	Formula: "2∫(u/U)(1 − u/U) dS",
	Of:      func(d *Drag) (float64, *float64, bool) { return had(d.VelocityOnly) },
	needs:   func(f *flow) bool { return f.u != nil },
	measure: func(s *station, _ *numbers, d *Drag) {
		f := s.flow
		sum := s.whole.IntegrateAll(2, func(i int, w float64, v []float64) {
			u := f.u[i] / f.speed
			v[0] += w * u
			v[1] += w * u * u
		})
		d.VelocityOnly = &VelocityOnly{f.norm * 2 * s.scale * (sum[0] - sum[1])}
	},
}
