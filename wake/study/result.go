package study

import (
	"crypto/sha256"
	"fmt"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/force"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey/rake"
)

// Outcome is what a study came to: plain data, in the order of the study file,
// without pictures. Its JSON form is the body of study.json; areas are in m²,
// lengths in m, and no number is NaN or infinite.
type Outcome struct {
	Title    string `json:"title"`
	Baseline string `json:"baseline"`
	// Part is nil where the whole study was run.
	Part *Part `json:"part,omitempty"`
	// Headline names the station whose drag is quoted first; empty when no
	// station has a total drag.
	Headline string `json:"headline,omitempty"`
	// Count is the size of one drag count in C_D.
	Count          float64                `json:"count"`
	Configurations []ConfigurationOutcome `json:"configurations"`
	Stations       []StationOutcome       `json:"stations"`
	Forces         []ForceCheck           `json:"forces"`
	// ByPart sets the forces of the variants beside the baseline's by part of the vehicle, where
	// the records have parts.
	ByPart []ForceLedger `json:"forces_by_part,omitempty"`
	// Paths follow the parts of the wake through the stations, and Moves the variants along
	// the baseline's paths.
	Paths []Paths     `json:"paths,omitempty"`
	Moves []PathMoves `json:"moves,omitempty"`
	// Pooled are the changes of drag between any two configurations from all stations where both
	// windows hold the wake, where there are several.
	Pooled []Pooled `json:"pooled,omitempty"`
	Inputs []Input  `json:"inputs"`
	// Rakes says how the planes came about that were made from the logs of a rake.
	Rakes []Rake `json:"rakes,omitempty"`
	// Warnings of the study file and of the run as a whole; those of single
	// surveys and comparisons stay with these.
	Warnings []wake.Warning `json:"-"`
}

// ConfigurationOutcome is one configuration with the force that was stated for
// it.
type ConfigurationOutcome struct {
	Name  string      `json:"name"`
	Note  string      `json:"note,omitempty"`
	Force *ForceValue `json:"force,omitempty"`
}

// ForceValue is a drag area from the solver's surface force or a balance, with
// its standard uncertainty; nil where none was stated.
type ForceValue struct {
	DragArea float64  `json:"drag_area_m2"`
	Standard *float64 `json:"standard_m2,omitempty"`
	// Record says what a force record gave, nil for a stated value.
	Record *force.Mean `json:"record,omitempty"`
	// Repeats are the records of further runs.
	Repeats []*force.Mean `json:"repeats,omitempty"`

	// stated is what the study file states, which Standard holds with what the record says.
	stated *float64
}

// ForceLedger is the force of a configuration against the baseline's.
type ForceLedger struct {
	Configuration string `json:"configuration"`
	*force.Ledger
}

// StationOutcome is what is known at one station.
type StationOutcome struct {
	Name     string  `json:"name"`
	Normal   string  `json:"normal"`
	Position float64 `json:"position_m"`
	// Surveys holds one entry for each configuration that has a plane here, each
	// measured by itself over its own window.
	Surveys []StationSurvey `json:"surveys"`
	// Missing names the configurations without a plane here.
	Missing []string `json:"missing"`
	// Comparison is nil where the baseline or every variant is missing.
	Comparison *compare.Comparison `json:"comparison,omitempty"`
	// Variants names the configurations of Comparison.Variants, in that order.
	Variants []string `json:"variants"`
	// Repeats and Refinements are there for the configurations that have them.
	Repeats     []Repeats    `json:"repeats,omitempty"`
	Refinements []Refinement `json:"refinements,omitempty"`
}

// Rake is a survey that was made from the logs of a rake.
type Rake struct {
	Configuration string `json:"configuration"`
	// Survey is its name among the surveys.
	Survey string       `json:"survey"`
	Result *rake.Result `json:"reduction"`
}

// StationSurvey is the result of one configuration at a station.
type StationSurvey struct {
	Configuration string          `json:"configuration"`
	Result        *measure.Result `json:"survey"`
	// Profiles of the local drag over the plane's own window; nil where it has none.
	Profiles *measure.Profiles `json:"profiles,omitempty"`
	// Extent is how far the wake reaches; nil where it has no outline.
	Extent *measure.Extent `json:"extent,omitempty"`
}

// ForceCheck sets the wake drag of one plane beside the stated force.
type ForceCheck struct {
	Station       string  `json:"station"`
	Configuration string  `json:"configuration"`
	Wake          float64 `json:"wake_m2"`
	Force         float64 `json:"force_m2"`
	compare.Closure
	// Delta does the same for the change against the baseline; nil for the
	// baseline itself and where one of the two has no force.
	Delta *compare.ForceDelta `json:"delta,omitempty"`
}

// Input identifies a file that the study read, by what it holds rather than by where it lay.
type Input struct {
	// Role is "study", "reference", "survey", "layout", "repeat", "refinement",
	// "force record" or "silhouette".
	Role          string `json:"role"`
	Configuration string `json:"configuration,omitempty"`
	// File is the name as the study file gives it, Paths the files behind it.
	File   string   `json:"file"`
	Paths  []string `json:"-"`
	Bytes  int64    `json:"bytes"`
	SHA256 string   `json:"sha256"`

	same func() error // tells whether the files are still those that were read
}

// NewInput is the entry of a file that is read whole.
func NewInput(role, name string, data []byte) Input {
	return Input{Role: role, File: name, Bytes: int64(len(data)), SHA256: fmt.Sprintf("%x", sha256.Sum256(data))}
}
