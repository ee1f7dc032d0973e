package render

import "strings"

// Policy says how the scale of a quantity is found; see AutoScale.
type Policy struct {
	// Label is what the colour bar says.
	Label string
	Map   *ColorMap
	// Signed quantities have a scale that is symmetric about 0.
	Signed bool
	// Loss quantities are zero in the undisturbed stream and grow one way.
	Loss bool
	// More says what a larger value is, beside the label of changes.
	More string
	// Stream, of a quantity that is not zero in the undisturbed stream, is what it is there. The
	// scale holds 0 and it, and no level lies at it: the noise of an undisturbed stream falls in one band.
	Stream float64
	// Tail is the part of the area that may lie beyond each limit before rounding.
	Tail float64
}

// The wake's core may fill less than a thousandth of a whole section and must
// still be on the scale; single samples beyond that may leave it.
const tail = 0.0005

// Limits returns the policy for a quantity, by the name that a study's maps use:
//
//	u/U         streamwise velocity; the scale holds 0 … 1
//	Cpt         total-pressure coefficient; holds 0 … 1
//	1-Cpt       total-pressure loss; from 0
//	Cp          pressure coefficient; symmetric
//	local drag  integrand of the momentum integral; from 0
//	vorticity   streamwise vorticity, made dimensionless; symmetric
//	k           turbulence kinetic energy over U²; from 0
//
// Case does not matter. An unknown name is false.
func Limits(name string) (Policy, bool) {
	p, ok := policies[strings.ToLower(name)]
	switch {
	case p.Signed:
		p.Map = Change()
	case p.Loss:
		p.Map = Loss()
	case ok:
		p.Map = Speed()
	}
	p.Tail = tail
	return p, ok
}

var policies = map[string]Policy{
	"u/u":        {Label: "streamwise velocity u/U", More: "faster", Stream: 1},
	"cpt":        {Label: "total pressure Cpt", More: "less loss", Stream: 1},
	"1-cpt":      {Label: "total-pressure loss 1 − Cpt", More: "more loss", Loss: true},
	"cp":         {Label: "pressure Cp", Signed: true},
	"local drag": {Label: "local drag", More: "more loss", Loss: true},
	"vorticity":  {Label: "streamwise vorticity ωL/U, L = 1 m", Signed: true},
	"k":          {Label: "turbulence energy k/U²", Loss: true},
}

// Difference is the policy for variant minus baseline of a quantity: symmetric,
// on the diverging map, with a half per cent of the area allowed beyond it, so
// that the body of the change fills the scale and not its extremes.
func (p Policy) Difference() Policy {
	return Policy{
		Label: strings.TrimSuffix("change of "+p.Label+"; above 0: "+p.More, "; above 0: "),
		Map:   Change(), Signed: true, Tail: 0.005,
	}
}
