package rake

import (
	"math"

	"wakeledger/wake"
)

// Correction is a step that can be switched off.
type Correction string

// The corrections in the order in which they are applied.
const (
	Zero         Correction = "zero"         // zero offsets from wind-off rows
	Drift        Correction = "drift"        // their linear drift in time
	Tubes        Correction = "tubes"        // blocked, lagging and leaking tubes are left out
	Fill         Correction = "fill"         // and filled from their neighbours where these allow
	Rows         Correction = "rows"         // each row has its own reference
	Repeats      Correction = "repeats"      // repeated positions are averaged
	Static       Correction = "static"       // static pressure interpolated to the tube
	Displacement Correction = "displacement" // effective centre in shear
	Wall         Correction = "wall"         // tubes close to the floor
)

// Corrections lists them all in order.
var Corrections = []Correction{Zero, Drift, Tubes, Fill, Rows, Repeats, Static, Displacement, Wall}

// Kind is what a tube measures.
type Kind string

// The kinds of tubes.
const (
	Total    Kind = "total"
	StaticPt Kind = "static"
)

// Tube is one pressure tube of the rake, SI units.
type Tube struct {
	// Column is the reference to its readings.
	Column string
	Kind   Kind
	// Y and Z place its mouth on the rake at roll 0, from the datum, m; X is aft.
	X, Y, Z float64
	// Diameter and Bore of the mouth, m; NaN where not known.
	Diameter, Bore float64
	// Factor and Zero take the reading to a pressure: Factor·(reading − Zero).
	Factor, Zero float64
}

// Probe is a multi-hole probe whose results the log holds: velocities, or total and
// static pressure with two flow angles. They are taken as the probe's own reduction
// gives them: zeros, displacement and tube tests are for tubes alone.
type Probe struct {
	Name    string
	X, Y, Z float64
	// References to columns; empty where there is none.
	U, V, W, Total, Static, Pitch, Yaw string
	// Acceptance is the largest angle between flow and probe, rad; NaN for no limit.
	Acceptance float64
}

// axis is a traverse along one axis.
type axis struct {
	column  string
	reverse bool
	limits  [2]float64 // NaN where not stated
}

// Layout describes a rake and the log's columns, in SI units.
type Layout struct {
	File, Title string
	Frame       wake.Frame
	// Datum is where the rake's datum is when the traverse reads 0, m, in Frame.
	Datum [3]float64
	// Roll turns the rake's axis from y toward z, rad: π/2 for a vertical rake.
	Roll   float64
	Tubes  []Tube
	Probes []Probe

	traverse   [3]axis
	rollColumn string
	// References of the per-row reference columns; empty where there is none.
	q, pressure, total, time string
	// absolute: tube readings are on the scale of pressure, not against it.
	absolute bool
	// Speed, m/s, and Density, kg/m³, of the nominal stream; NaN where not stated.
	Speed, Density float64

	offColumn, offValue string
	offBelow            float64 // Pa, NaN for the default
	offRows             []int
	ignore              []string

	without map[Correction]bool
	// law is "faded" or "constant".
	law   string
	floor float64 // m, NaN for none

	line *lineLayout
	// sigmaQ is the relative standard uncertainty of q, sigmaPosition that of
	// positions in m; 0 where not stated.
	sigmaQ, sigmaPosition float64
}

// lineLayout says how a single traverse is reduced.
type lineLayout struct {
	// chord, m; NaN where there is none.
	chord float64
	// pressure is measured, ambient or edges.
	pressure  string
	threshold float64
}

// place gives the position of a point of the rake at a row, in the program's frame.
func (l *Layout) place(datum [3]float64, roll, x, y, z float64) [3]float64 {
	s, c := math.Sincos(roll)
	// A right angle keeps its noughts, so that tubes of a vertical rake share y.
	if math.Abs(c) < 1e-15 {
		c = 0
	}
	if math.Abs(s) < 1e-15 {
		s = 0
	}
	return l.Frame.Vector([3]float64{datum[0] + x, datum[1] + y*c - z*s, datum[2] + y*s + z*c})
}
