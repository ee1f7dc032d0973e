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
	Column string
	Kind   Kind
	// Y and Z place its mouth on the rake at roll 0, from the datum, m; X is aft.
	X, Y, Z float64
	// Diameter and Bore of the mouth, m; NaN where not known.
	Diameter, Bore float64
	// Factor and Zero take the reading to a pressure: Factor·(reading − Zero).
	Factor, Zero float64
}

// Layout describes a rake and the log's columns, in SI units; what is not stated is NaN or
// empty.
type Layout struct {
	File string
	layoutFile
	Frame wake.Frame
	Tubes []Tube
	// rest is where the rake is when the traverse reads 0, in Frame: its roll turns its axis
	// from y toward z, π/2 for a vertical rake.
	rest    pose
	without map[Correction]bool
}

// layoutFile is the file, bound by settings.Bind. References are names of columns.
type layoutFile struct {
	Title     string   `toml:"title"`
	FrameText string   `toml:"frame"`
	Attitude  any      `toml:"attitude"`
	Ignore    []string `toml:"ignore"`
	Datum     struct {
		X float64 `toml:"x" is:"length" or:"0"`
		Y float64 `toml:"y" is:"length" or:"0"`
		Z float64 `toml:"z" is:"length" or:"0"`
	} `toml:"datum"`
	Traverse struct {
		X       string      `toml:"x"`
		Y       string      `toml:"y"`
		Z       string      `toml:"z"`
		Roll    string      `toml:"roll"`
		Reverse []string    `toml:"reverse" is:"x|y|z"`
		XLimits *[2]float64 `toml:"x_limits" is:"length"`
		YLimits *[2]float64 `toml:"y_limits" is:"length"`
		ZLimits *[2]float64 `toml:"z_limits" is:"length"`
	} `toml:"traverse"`
	Reference struct {
		Q        string  `toml:"q"`
		Pressure string  `toml:"pressure"`
		Total    string  `toml:"total"`
		Time     string  `toml:"time"`
		Readings string  `toml:"readings" is:"differential|absolute" or:"differential"`
		Speed    float64 `toml:"speed" is:"speed>0" or:"nan"`
		Density  float64 `toml:"density" is:"density>0" or:"nan"`
	} `toml:"reference"`
	WindOff struct {
		Column string  `toml:"column"`
		Value  string  `toml:"value"`
		QBelow float64 `toml:"q_below" is:"pressure>0" or:"nan"`
		Rows   []int   `toml:"rows"`
	} `toml:"wind_off"`
	Groups      []tubeGroup `toml:"tubes"`
	Probes      []Probe     `toml:"probe"`
	Corrections struct {
		Zero         bool `toml:"zero" or:"true"`
		Drift        bool `toml:"drift" or:"true"`
		Tubes        bool `toml:"tubes" or:"true"`
		Fill         bool `toml:"fill" or:"true"`
		Rows         bool `toml:"rows" or:"true"`
		Repeats      bool `toml:"repeats" or:"true"`
		Static       bool `toml:"static" or:"true"`
		Displacement bool `toml:"displacement" or:"true"`
		Wall         bool `toml:"wall" or:"true"`
		// Law is that of the displacement in weak shear, Floor the height of the wall.
		Law   string  `toml:"law" is:"faded|constant" or:"faded"`
		Floor float64 `toml:"floor" is:"length" or:"nan"`
	} `toml:"corrections"`
	Line *lineLayout `toml:"line"`
	// Uncertainty has standard uncertainties: of q, relative, and of positions.
	Uncertainty struct {
		Q        float64 `toml:"q" is:"ratio>=0" or:"0"`
		Position float64 `toml:"position" is:"length>=0" or:"0"`
	} `toml:"uncertainty"`
}

// lineLayout says how a single traverse is reduced.
type lineLayout struct {
	Chord     float64 `toml:"chord" is:"length>0" or:"nan"`
	Pressure  string  `toml:"pressure" is:"measured|ambient|edges" or:"measured"`
	Threshold float64 `toml:"threshold" is:"ratio>0" or:"0.01"`
}

// tubeGroup is tubes of one kind on one straight line of the rake.
type tubeGroup struct {
	Kind     string    `toml:"kind" is:"total|static"`
	Columns  []string  `toml:"columns"`
	Along    []float64 `toml:"along" is:"length"`
	First    float64   `toml:"first" is:"length" or:"0"`
	Step     float64   `toml:"step" is:"length" or:"0"`
	Across   float64   `toml:"across" is:"length" or:"0"`
	Aft      float64   `toml:"aft" is:"length" or:"0"`
	Angle    float64   `toml:"angle" is:"angle" or:"0"`
	Diameter float64   `toml:"diameter" is:"length>0" or:"nan"`
	Bore     float64   `toml:"bore" is:"length>0" or:"nan"`
	Factor   float64   `toml:"factor" is:"ratio>0" or:"1"`
	Factors  []float64 `toml:"factors" is:"ratio>0"`
	Zeros    []float64 `toml:"zeros" is:"pressure"`
}

// Probe is a multi-hole probe whose results the log holds: velocities, or total and
// static pressure with two flow angles. They are taken as the probe's own reduction
// gives them: zeros, displacement and tube tests are for tubes alone.
type Probe struct {
	Name   string  `toml:"name"`
	Along  float64 `toml:"along" is:"length" or:"0"`
	Across float64 `toml:"across" is:"length" or:"0"`
	Aft    float64 `toml:"aft" is:"length" or:"0"`
	Angle  float64 `toml:"angle" is:"angle" or:"0"`
	U      string  `toml:"u"`
	V      string  `toml:"v"`
	W      string  `toml:"w"`
	Total  string  `toml:"total"`
	Static string  `toml:"static"`
	Pitch  string  `toml:"pitch"`
	Yaw    string  `toml:"yaw"`
	// Acceptance is the largest angle between flow and probe, rad.
	Acceptance float64 `toml:"acceptance" is:"angle>0" or:"nan"`
}

// absolute: tube readings are on the scale of the reference pressure, not against it.
func (l *Layout) absolute() bool { return l.Reference.Readings == "absolute" }

// onRake turns a place along and across a line of the rake to the rake's own axes.
func onRake(along, across, angle float64) (y, z float64) {
	s, c := math.Sincos(angle)
	return along*c - across*s, along*s + across*c
}

// place gives the position of a point of the rake at a row, in the program's frame.
func (l *Layout) place(p pose, x, y, z float64) [3]float64 {
	s, c := math.Sincos(p[3])
	// A right angle keeps its zeros, so that tubes of a vertical rake share y.
	if math.Abs(c) < 1e-15 {
		c = 0
	}
	if math.Abs(s) < 1e-15 {
		s = 0
	}
	return l.Frame.Vector([3]float64{p[0] + x, p[1] + y*c - z*s, p[2] + y*s + z*c})
}
