package study

import "wakeledger/wake"

// The dimensions that a study file has values of.
const (
	dimensionless = wake.Dimensionless
	lengthDim     = wake.Length
	areaDim       = wake.Surface
	speedDim      = wake.Velocity
	pressureDim   = wake.Pressure
	densityDim    = wake.Density
	timeDim       = wake.Time
)

// exampleOf shows how a value of a dimension is written.
var exampleOf = map[wake.Dimension]string{
	dimensionless: "1 %", lengthDim: "-0.58 m", areaDim: "2.303 m2",
	speedDim: "25 m/s", pressureDim: "0.5 Pa", densityDim: "1.2 kg/m3", timeDim: "0.4 s",
}
