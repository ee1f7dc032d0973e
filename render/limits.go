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
	// Loss quantities are nought in the undisturbed stream and grow one way.
	Loss bool
	// Lo and Hi are values that the scale holds in any case; with Fixed they are
	// the limits. For a signed quantity only Hi counts.
	Lo, Hi float64
	Fixed  bool
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
	signed := func(label, unit string) Policy {
		return Policy{Quantity: Quantity{label, unit}, Map: Change(), Signed: true, Quantile: tails}
	}
	loss := func(label string) Policy {
		return Policy{Quantity: Quantity{Label: label}, Map: Loss(), Loss: true, Quantile: tails}
	}
	switch strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), minus, "-")) {
	case "u/u":
		return Policy{Quantity: Quantity{Label: "streamwise velocity u/U"}, Map: Speed(), Lo: 0, Hi: 1, Quantile: tails}, true
	case "cpt":
		return Policy{Quantity: Quantity{Label: "total pressure Cpt"}, Map: Speed(), Lo: 0, Hi: 1, Quantile: tails}, true
	case "1-cpt":
		return loss("total-pressure loss 1 − Cpt"), true
	case "cp":
		return signed("pressure Cp", ""), true
	case "local drag":
		return loss("local drag"), true
	case "vorticity":
		return signed("streamwise vorticity", ""), true
	case "vorticity 1/s":
		return signed("streamwise vorticity", "1/s"), true
	case "k":
		return loss("turbulence energy k/U²"), true
	}
	return Policy{}, false
}

// Difference is the policy for variant minus baseline of a quantity: symmetric,
// on the diverging map, with a half per cent of the area allowed beyond it, so
// that the body of the change fills the scale and not its extremes.
func (p Policy) Difference() Policy {
	return Policy{
		Quantity: Quantity{Label: "change of " + p.Label, Unit: p.Unit},
		Map:      Change(), Signed: true, Quantile: [2]float64{0.005, 0.995},
	}
}
