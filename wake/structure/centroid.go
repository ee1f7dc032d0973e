package structure

// byCentroid is the move of the centroid of (f − t)₊ over the mask,
//
//	ȳ = Σ w y / Σ w,  ∂ȳ/∂w = (y − ȳ)/Σ w
func (w *window) byCentroid() *measured {
	m := w.newMeasured(true)
	var at [2][2]float64
	for c := range w.f {
		var s, sy, sz float64
		for k := range w.mask {
			if e := w.excess(c, k); e > 0 {
				p := w.r.at(k)
				s += e
				sy += e * p.X
				sz += e * p.Y
			}
		}
		if !(s > 0) {
			return &measured{why: "nothing above the threshold in the common part"}
		}
		at[c] = [2]float64{sy / s, sz / s}
		sign := float64(2*c - 1)
		for k := range w.mask {
			if w.excess(c, k) > 0 {
				p := w.r.at(k)
				m.gain[c][k] = sign * (p.X - at[c][0]) / s
				m.gainZ[c][k] = sign * (p.Y - at[c][1]) / s
			}
		}
	}
	m.y, m.z = at[1][0]-at[0][0], at[1][1]-at[0][1]
	return m
}
