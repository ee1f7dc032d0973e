package study

import (
	"strings"

	"wakeledger/wake/force"
)

// Config is a study file in SI units, checked. A pointer is nil, and a list or
// word empty, where the file says nothing.
type Config struct {
	// File is the name of the study file, for messages.
	File  string
	Title string
	// Baseline is the name of one of the configurations.
	Baseline string
	// Quote is the station whose drag is quoted first; empty leaves it to the study.
	Quote     string
	Reference Reference
	Section   *Section
	Regions   []Region
	// Stations is empty when the planes' own positions are to make them.
	Stations       []Station
	Configurations []Configuration
	Measure        Measure
	Structures     Structures
	Maps           Maps
	Uncertainty    Uncertainty
	// Part is what Only keeps, nil for all.
	Part *Part
}

// Reference is the upstream state and what coefficients are formed with.
type Reference struct {
	// Speed, m/s; Density, kg/m³; Pressure and TotalPressure, Pa, on one scale.
	Speed, Density, Pressure, TotalPressure *float64
	// Yaw is the angle of the free stream to x, degrees, positive toward +y; Speed is
	// then |V∞|.
	Yaw float64
	// FrontalArea, m²; nil means that no coefficient can be given.
	FrontalArea *float64
	// Count is the size of one drag count in C_D, 0.001 unless the file says else.
	Count float64
	// Frame is the axis statement as written; empty for x aft, y right, z up.
	Frame string
	// Anchor is "none" or "edge".
	Anchor string
	// Plane names an undisturbed plane that the pressure, and the speed where none is stated,
	// come from.
	Plane string
	// Tare names surveys of the empty section that are taken off the planes at their
	// stations.
	Tare []string
}

// OwnReference is the reference of one configuration or survey, where it differs from the
// study's: what is nil or empty here stays as it is there.
type OwnReference struct {
	Speed, Density, Pressure, TotalPressure *float64
	// Plane names an undisturbed plane that the pressure, and the speed where none is stated
	// here, come from.
	Plane string
}

// Section is the test section that the survey stood in, m.
type Section struct {
	Width, Height float64
	// Floor is none, slip, belt or fixed; empty where the file says nothing.
	Floor string
}

// Region is a named box in a cross-flow plane.
type Region struct {
	Name string
	Box  Box
	// Side is left or right of the vehicle, or empty.
	Side string
}

// Box has lower and upper limits, m, lower first.
type Box struct{ Y, Z [2]float64 }

// Station is a place where planes are expected.
type Station struct {
	Name string
	// Normal is x, y or z, Position the coordinate along it, m.
	Normal   string
	Position float64
	// Tolerance is how far a plane may lie from Position, m; nil leaves it to the
	// study.
	Tolerance *float64
	// Files, if not empty, is a pattern for the base names of the files whose
	// planes the station takes, with * and ? as in a shell: it tells apart stations
	// at one place, such as a window and the whole section.
	Files string
}

// Configuration is one state of the vehicle.
type Configuration struct {
	Name, Note string
	Surveys    []Survey
	Force      *Force
	Repeats    []Survey
	// Refinements are surveys of the configuration on refined meshes, the coarsest
	// first.
	Refinements []Survey
	// Steady declares that its planes are of a steady solution.
	Steady bool
	// Own is its own reference in place of the study's, nil for none.
	Own *OwnReference
	// Tare names surveys of the empty section for this configuration, in place of the
	// reference's.
	Tare []string
}

// Survey is a survey by its files, named as written: File; Snapshots, TimeStep apart (s,
// 0 for unknown), that are averaged to one plane; or the Logs of a rake with its Layout,
// of which several make one plane.
type Survey struct {
	File      string
	Snapshots []string
	TimeStep  float64
	Logs      []string
	Layout    string
	// Files are those that the wildcards of Snapshots name, once Expand has looked.
	Files []string
	// Own is its own reference in place of the configuration's, nil for none.
	Own *OwnReference
}

// Name is the file, or the snapshots or logs joined by plus signs.
func (s Survey) Name() string {
	switch {
	case s.File != "":
		return s.File
	case s.Snapshots != nil:
		return strings.Join(s.Snapshots, "+")
	}
	return strings.Join(s.Logs, "+")
}

// Force is a drag area known from elsewhere, m², with its standard uncertainty.
type Force struct {
	DragArea            float64
	StandardUncertainty *float64
	// Records, if not nil, are files with the force over time of one run, which DragArea and
	// its uncertainty are taken from; Start leaves out what comes before, s, and Parts groups
	// their columns. Repeats are records of further runs of the configuration, one file each.
	Records []string
	Repeats []string
	Start   *float64
	Parts   []force.Group
}

// Measure holds the words that the study file shares with the flags of the same
// names.
type Measure struct {
	// Threshold is rising and positive, in the unit of the weight.
	Threshold []float64
	// Weight is total-pressure, deficit, momentum or drag; Support cells or
	// nodes; Symmetry half or full; Turbulence stress, isotropic or none.
	Weight, Support, Symmetry, Turbulence string
	// PressureIncludesK says that the pressure holds ⅔ρk; SourcePart adds the
	// displacement part to the wake-only drag; Onset is the free stream's v and w, m/s,
	// instead of a yaw angle: the reference speed is then its part along x.
	PressureIncludesK, SourcePart bool
	Onset                         [2]float64
	// Columns says which column of the files holds a quantity, "NAME [unit]" by
	// the quantity's name.
	Columns map[string]string
}

// Structures says how parts of the wake are found and what their moves are set
// against.
type Structures struct {
	// By is weight (also where the file says nothing), vorticity, swirl or none.
	By string
	// Threshold, in the unit of what By names, and Prominence are 0 for the default.
	Threshold, Prominence float64
	// Width is a tyre's or the vehicle's, m, that moves are also given as a part of, and
	// WidthOf what it is; 0 and empty for none.
	Width   float64
	WidthOf string
	// EffectiveSamples and CorrelationLength, m, are those of Uncertainty for the moves of
	// the parts, whose flow may be quicker than the whole wake's; nil takes those.
	EffectiveSamples, CorrelationLength *float64
}

// Maps says what to draw.
type Maps struct {
	Quantities []string
	// Levels are the level lines of a quantity, rising; Limits the ends of its
	// colour scale, lower first.
	Levels map[string][]float64
	Limits map[string][2]float64
	// ChangeLimits are the ends of the scale of a quantity's changes, from −c to c.
	ChangeLimits map[string]float64
	// Size is width and height in pixels, DPI the pixels to an inch in print; zero
	// where the file says nothing.
	Size [2]int
	DPI  float64
	// Theme is light or dark, or empty.
	Theme string
	// Vectors draws the cross-flow; Single a map of each survey beside the sheets.
	Vectors, Single bool
	// Silhouette, if not empty, is a file with the vehicle's outline.
	Silhouette string
	// Window is the part of the planes that is shown, m, by the axes that the file gives;
	// along the others it is the wake and the body, or with WholeWindow all.
	Window      map[string][2]float64
	WholeWindow bool
}

// Uncertainty holds the user's own standard uncertainties; nil where the file
// says nothing.
type Uncertainty struct {
	// Speed and Density: absolute, or relative to the reference value. Pressure
	// and TotalPressure: absolute, or relative to the dynamic pressure. Position:
	// a length, or relative as an error of scale.
	Speed, Density, Pressure, TotalPressure, Position *Band
	// Solution is the analyst's band for the solver's error, relative to the drag
	// area.
	Solution *Band
	// Steady declares that all planes are of steady solutions, which have no time average.
	Steady bool
	// EffectiveSamples is the number of independent samples in the time average,
	// CorrelationLength, m, the length over which neighbouring means err together.
	EffectiveSamples, CorrelationLength *float64
	// Independent lists the inputs that are set anew for each survey.
	Independent []string
	// Trials is the number of Monte Carlo trials.
	Trials int
}

// Band is a standard uncertainty: in SI units, or as a fraction where Relative.
type Band struct {
	Value    float64
	Relative bool
}
