package rake

import "wakeledger/wake"

// Result is what a log and a layout come to. Its JSON form is part of the command's
// contract. No number is NaN or infinite; what is not computable is absent.
type Result struct {
	Log    string   `json:"log"` // the Logs with plus signs between
	Logs   []string `json:"-"`
	Layout string   `json:"layout"`
	Title  string   `json:"title,omitempty"`
	// Kind is plane or line.
	Kind      string        `json:"kind"`
	Rows      RowCounts     `json:"rows"`
	Reference ReferenceUsed `json:"reference"`
	// Velocity says what the velocity is: "speed" (|V| by total and static pressure)
	// or "components".
	Velocity string       `json:"velocity"`
	Counts   SampleCounts `json:"samples"`
	Tubes    []TubeReport `json:"tubes"`
	Steps    []Step       `json:"corrections"`
	Lines    []LineResult `json:"lines,omitempty"`
	Worth    []Worth      `json:"worth,omitempty"`

	Samples  []Sample       `json:"-"`
	Warnings []wake.Warning `json:"-"`

	// WindOff are the rows without wind.
	WindOff []bool `json:"-"`

	// sigmaQ is the standard uncertainty of the dynamic pressure, relative.
	sigmaQ float64
}

type RowCounts struct {
	WindOn   int `json:"wind_on"`
	WindOff  int `json:"wind_off"`
	Places   int `json:"positions"`
	Repeated int `json:"repeated"`
	// Repeatability is the standard deviation of a single total-pressure reading at
	// repeated positions, over q, with its degrees of freedom.
	Repeatability *float64 `json:"repeatability,omitempty"`
	RepeatDOF     int      `json:"repeatability_dof,omitempty"`
}

// ReferenceUsed is the nominal stream that velocities and pressures are given for,
// and the range of the rows' dynamic pressures.
type ReferenceUsed struct {
	Speed   float64  `json:"speed_m_s"`
	Density *float64 `json:"density_kg_m3,omitempty"`
	Dynamic *float64 `json:"dynamic_pressure_pa,omitempty"`
	QLow    *float64 `json:"q_lowest_pa,omitempty"`
	QHigh   *float64 `json:"q_highest_pa,omitempty"`
	QMean   *float64 `json:"q_mean_pa,omitempty"`
}

type SampleCounts struct {
	Kept     int `json:"kept"`
	Filled   int `json:"filled"`
	Reversed int `json:"reversed"`
	// Outside counts readings beyond a probe's acceptance, Missing those without a
	// value or of a tube that was left out; neither gave a sample.
	Outside int `json:"outside_acceptance"`
	Missing int `json:"missing"`
}

type TubeReport struct {
	Name string `json:"name"`
	Kind Kind   `json:"kind"`
	// State is good, blocked, lagging, leaking, doubtful or ignored; Why the test
	// that decided; Treated kept, filled or left out.
	State   string `json:"state"`
	Why     string `json:"why,omitempty"`
	Treated string `json:"treated"`
	// Zero is the offset before the traverse and Drift its change until after it, Pa.
	Zero  float64  `json:"zero_pa"`
	Drift *float64 `json:"drift_pa,omitempty"`
	// Response is the largest coefficient, Spread the standard deviation over the
	// wind-on rows, Odd the share of rows off the neighbours, Lag the part of a step
	// left one row later.
	Response *float64 `json:"response,omitempty"`
	Spread   *float64 `json:"spread,omitempty"`
	Odd      *float64 `json:"odd_rows,omitempty"`
	Lag      *float64 `json:"lag,omitempty"`
	Missing  int      `json:"missing"`

	// Values are coefficients by row as read, Around the medians of the neighbours; NaN in
	// wind-off rows.
	Values []float64 `json:"-"`
	Around []float64 `json:"-"`
}

// Step is a correction with its size.
type Step struct {
	Name Correction `json:"name"`
	// Off says that it was switched off, Applied that it changed anything.
	Off     bool    `json:"off"`
	Applied bool    `json:"applied"`
	Size    float64 `json:"size"`
	Unit    string  `json:"unit"`
	Text    string  `json:"text"`
}

// State says whether it was made.
func (s Step) State() string {
	switch {
	case s.Off:
		return "off"
	case s.Applied:
		return "applied"
	}
	return "nothing to do"
}

// Worth is what a correction changes: the result with it less that without.
type Worth struct {
	Name Correction `json:"name"`
	// DragArea is the change of Jones's drag area of a plane, m², as measure has it; Line that
	// of the first line's drag coefficient (or drag over q, m, where there is no chord).
	DragArea *float64 `json:"drag_area_m2,omitempty"`
	Percent  *float64 `json:"percent,omitempty"`
	Line     *float64 `json:"line_drag,omitempty"`
}

// Sample is one corrected point of the survey in the program's frame.
type Sample struct {
	X, Y, Z float64
	// Tube is the name of its tube or probe, Readings how many were averaged.
	Tube     string
	Readings int
	// Cpt and Cp are NaN where they are not known.
	Cpt, Cp float64
	// Speed is |V|/U; Velocity has u, v, w over U where directions are known, else
	// NaN. U of a plane file is Velocity[0], or Speed where directions are not known.
	Speed                         float64
	Velocity                      [3]float64
	SigmaCpt, SigmaCp, SigmaSpeed float64
	// State is empty, "filled" or "reversed".
	State string

	tube  int // index of the tube, −1 for a probe
	place int
	// parts are the standard uncertainties of Cpt or Cp by their sources.
	parts [numSources]float64
}

// axial is the velocity that goes for u, over U.
func (s *Sample) axial() float64 {
	if s.Velocity[0] == s.Velocity[0] {
		return s.Velocity[0]
	}
	return s.Speed
}
