package render

import "strings"

// Quantity is what the colour bar says.
type Quantity struct {
	Label string
	// Unit is empty for a pure number.
	Unit string
}

// String is the label with its unit: "streamwise vorticity, 1/s".
func (q Quantity) String() string {
	if q.Unit == "" || q.Unit == "1" {
		return q.Label
	}
	return q.Label + ", " + q.Unit
}

// Policy says how the scale of a quantity is found; see AutoScale.
type Policy struct {
	Quantity
	Map *ColorMap
	// Signed quantities have a scale that is symmetric about 0.
	Signed bool
	// Loss quantities are zero in the undisturbed stream and grow one way.
	Loss bool
	// More says what a larger value is, beside the label of changes.
	More string
	// Lo and Hi are values that the scale holds in any case.
	Lo, Hi float64
	// Stream, of a quantity that is not zero in the undisturbed stream, is what it is there. No
	// level lies at it: the noise of an undisturbed stream falls in one band.
	Stream float64
	// Quantile has the parts of the area that may lie below the lower and the upper
	// limit before rounding. For a signed quantity the second counts, for |v|.
	Quantile [2]float64
}

// The wake's core may fill less than a thousandth of a whole section and must
// still be on the scale; single samples beyond that may leave it.
var tails = [2]float64{0.0005, 0.9995}

// Limits returns the policy for a quantity, by the name that a study's maps use:
//
//	u/U           streamwise velocity; the scale holds 0 … 1
//	Cpt           total-pressure coefficient; holds 0 … 1
//	1-Cpt         total-pressure loss; from 0
//	Cp            pressure coefficient; symmetric
//	local drag    integrand of the momentum integral; from 0
//	vorticity     streamwise vorticity, made dimensionless; symmetric
//	vorticity 1/s streamwise vorticity; symmetric
//	k             turbulence kinetic energy over U²; from 0
//
// Case does not matter, and a true minus sign counts as a hyphen. An unknown name
// is false.
func Limits(name string) (Policy, bool) {
	p, ok := policies[strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), minus, "-"))]
	switch {
	case p.Signed:
		p.Map = Change()
	case p.Loss:
		p.Map = Loss()
	case ok:
		p.Map = Speed()
	}
	p.Quantile = tails
	return p, ok
}

var policies = map[string]Policy{
	"u/u":           {Quantity: Quantity{Label: "streamwise velocity u/U"}, More: "faster", Hi: 1, Stream: 1},
	"cpt":           {Quantity: Quantity{Label: "total pressure Cpt"}, More: "less loss", Hi: 1, Stream: 1},
	"1-cpt":         {Quantity: Quantity{Label: "total-pressure loss 1 − Cpt"}, More: "more loss", Loss: true},
	"cp":            {Quantity: Quantity{Label: "pressure Cp"}, Signed: true},
	"local drag":    {Quantity: Quantity{Label: "local drag"}, More: "more loss", Loss: true},
	"vorticity":     {Quantity: Quantity{Label: "streamwise vorticity ωL/U, L = 1 m"}, Signed: true},
	"vorticity 1/s": {Quantity: Quantity{Label: "streamwise vorticity", Unit: "1/s"}, Signed: true},
	"k":             {Quantity: Quantity{Label: "turbulence energy k/U²"}, Loss: true},
}

// Difference is the policy for variant minus baseline of a quantity: symmetric,
// on the diverging map, with a half per cent of the area allowed beyond it, so
// that the body of the change fills the scale and not its extremes.
func (p Policy) Difference() Policy {
	return Policy{
		Quantity: Quantity{Label: strings.TrimSuffix("change of "+p.Label+"; above 0: "+p.More, "; above 0: "), Unit: p.Unit},
		Map:      Change(), Signed: true, Quantile: [2]float64{0.005, 0.995},
	}
}
