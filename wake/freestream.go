package wake

// What Jones's method rests on, wherever it is used: a sample counts to the wake where
// it lacks more than WakeLoss of q in total pressure, and the method is not quoted where
// its integrand has no meaning (cpt ≤ 0 or u ≤ 0) in more than SoundJones of the wake.
const (
	WakeLoss   = 0.01
	SoundJones = 0.01
)

// Freestream is the upstream reference state that the integrals depend on.
type Freestream struct {
	// Speed U, m/s; Density ρ∞, kg/m³; Pressure p∞, Pa, on the scale of the
	// survey's pressures; TotalPressure pt∞ on the same scale.
	Speed, Density, Pressure, TotalPressure float64
	// Anchor says how pt∞ was tied to the survey: "none" or "edge".
	Anchor Anchor
}

// Anchor records a shift of the reference total pressure.
type Anchor struct {
	// Kind is "none" or "edge".
	Kind string `json:"kind"`
	// ShiftPa is what was added to pt∞, Pa.
	ShiftPa float64 `json:"shift_pa"`
	// Points is the number of samples that the shift rests on.
	Points int `json:"points"`
	// Speed is the U that the integrands depend on after anchoring, m/s: that of pt∞
	// at p∞. Areas are still formed with the nominal q.
	Speed float64 `json:"speed_m_s,omitempty"`
}

// Dynamic returns q = ½ρ∞U², Pa.
func (f Freestream) Dynamic() float64 { return f.Density * f.Speed * f.Speed / 2 }
