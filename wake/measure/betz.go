package measure

// Betz is the integral of [betz] (see momentum.go) over the wake's region: ArtificialDensity with
// b = 0. Interference of the wake with the outer flow is left out, so it reads low close to a body.
type Betz struct {
	DragArea float64  `json:"drag_area_m2"`
	Cd       *float64 `json:"cd,omitempty"`
	// Turbulence is the turbulence term, part of DragArea; nil where it is not known.
	Turbulence *float64 `json:"turbulence_m2,omitempty"`
}

func (d *Betz) drag() (float64, *float64) { return d.DragArea, d.Cd }

var betzMethod = &Method{
	Key: ByBetz, Short: "Betz", Long: "Betz's wake integral",
	Formula: "∫_W [(1 − Cpt) + (u* − u)(u* + u − 2U)/U²] dS − 2∫_W <u'u'>/U² dS",
	Source:  "A. Betz (1925), as above; NACA TM 337.",
	Of:      func(d *Drag) (float64, *float64, bool) { return had(d.Betz) },
	// Of a pitot survey the static pressure has to be known.
	needs: func(f *flow) bool { return f.momentum() || f.pt != nil && f.p != nil },
	measure: func(s *station, n *numbers, d *Drag) {
		b := n.sums[sumBetz] + n.sums[sumStress]
		d.Betz = &Betz{DragArea: b, Cd: s.coefficient(b), Turbulence: s.flow.known(n.sums[sumStress])}
	},
}
