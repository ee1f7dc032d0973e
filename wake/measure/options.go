package measure

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/wake"
)

// Options configure Measure. The zero value of a field means its default.
type Options struct {
	// Reference needs Speed and Density; Pressure is p∞. A NaN TotalPressure means
	// p∞ + ½ρ∞U².
	Reference wake.Freestream
	// ReferenceBy says which plane the reference was made from and what was found, if it was.
	ReferenceBy string
	// Anchor is "none" (default) or "edge": shift pt∞ to the mean of the open edge.
	Anchor string
	// FrontalArea, m², for coefficients; 0 gives none.
	FrontalArea float64
	Weight      Weight
	// Thresholds of the weight for areas; empty means DefaultThresholds.
	Thresholds []float64
	Regions    []Box
	// Turbulence is "" (stress where the column is present), "stress", "isotropic"
	// (⅔k) or "none".
	Turbulence string
	// PressureIncludesK says that the pressure holds ⅔ρk, as the modified pressure of
	// a turbulence model does; it is taken out.
	PressureIncludesK bool
	// Yaw is the angle of the free stream to the vehicle's x axis about z, degrees,
	// positive where the stream has a part toward +y: the wind comes from the left.
	// Reference.Speed is then |V∞|, its components are U = |V∞| cos β and V = |V∞| sin β,
	// and q = ½ρ|V∞|².
	Yaw float64
	// Half says that the plane holds one half of a symmetric flow: drags and areas
	// are doubled.
	Half bool
	// Section is the width and height of the closed test section, m; 0 is unknown.
	Section [2]float64
	// Floor is "" (unknown), "none", "slip", "belt" or "fixed".
	Floor string
	// Uncertainty is what is stated about the inputs.
	Uncertainty Inputs
}

// The words of Options.Anchor, of Options.Turbulence, and the one of Options.Floor that
// decides something.
const (
	AnchorNone, AnchorEdge                                = "none", "edge"
	TurbulenceStress, TurbulenceIsotropic, TurbulenceNone = "stress", "isotropic", "none"
	FloorNone                                             = "none"
)

// Box is a named region.
type Box struct {
	Name string
	Box  grid.Box
	// Side is "left", "right" or empty: which wheel's wake it holds.
	Side string
}

// DefaultThresholds are those at which areas are given when none are asked for:
// 0.01 and 0.05 are in use as wake edges, 0.5 marks the core (common practice, no
// source).
var DefaultThresholds = []float64{0.01, 0.05, 0.1, 0.5}

// Bounds on what is stated, in SI: far beyond any tunnel or road, and such that no
// sum over a plane that was read can overflow.
const (
	leastSpeed, mostSpeed     = 1e-6, 1e6
	leastDensity, mostDensity = 1e-9, 1e6
	leastArea, mostArea       = 1e-9, 1e9
	mostPressure              = 1e12
	mostStated                = 1e12 // of thresholds and uncertainties
	mostYaw                   = 60.0 // degrees; beyond, a plane normal to x is no survey of the wake
)

// refuse is an error about what is stated.
func refuse(cure, format string, a ...any) error {
	return &wake.InputError{Text: fmt.Sprintf(format, a...), Cure: cure}
}

// Check refuses options that cannot be computed with.
func (o *Options) Check() error {
	r, says := o.Reference, fmt.Sprintf
	ranged := func(of string, v float64, unit string, least, most float64) string {
		return says("the %s is %g %s, a positive number from %g to %g is expected", of, v, unit, least, most)
	}
	type rule struct {
		holds      bool
		cure, text string
	}
	const both = "give both on the same scale, both gauge or both absolute"
	rules := []rule{
		{leastSpeed <= r.Speed && r.Speed <= mostSpeed, "give --speed", ranged("reference speed", r.Speed, "m/s", leastSpeed, mostSpeed)},
		{leastDensity <= r.Density && r.Density <= mostDensity, "give --density", ranged("reference density", r.Density, "kg/m3", leastDensity, mostDensity)},
		{math.Abs(r.Pressure) <= mostPressure, "give --pressure", says("the reference pressure is %g Pa, a size up to %g is expected", r.Pressure, mostPressure)},
		{!(math.Abs(r.TotalPressure) > 2*mostPressure), "give --total-pressure", says("the reference total pressure is %g Pa, a size up to %g is expected", r.TotalPressure, 2*mostPressure)},
		{!(r.TotalPressure <= r.Pressure), both, says("the reference total pressure is %g Pa, not above the static pressure of %g Pa", r.TotalPressure, r.Pressure)},
		{o.FrontalArea == 0 || leastArea <= o.FrontalArea && o.FrontalArea <= mostArea, "give --area", ranged("frontal area", o.FrontalArea, "m2", leastArea, mostArea)},
		{math.Abs(o.Yaw) <= mostYaw, "give it in degrees, positive where the free stream has a part toward +y", says("the yaw angle is %g degrees, from -%g to %g is expected", o.Yaw, mostYaw, mostYaw)},
		{o.Yaw == 0 || !o.Half, "survey the whole plane", says("half a plane represents the whole, but a flow at %g degrees of yaw is not symmetric", o.Yaw)},
		{slices.Contains([]string{"", TurbulenceStress, TurbulenceIsotropic, TurbulenceNone}, o.Turbulence), "one of stress, isotropic, none is expected", says("turbulence rule %q is not known", o.Turbulence)},
		{slices.Contains([]string{"", AnchorNone, AnchorEdge}, o.Anchor), "one of none, edge is expected", says("anchor %q is not known", o.Anchor)},
	}
	last := 0.0
	for _, t := range o.Thresholds {
		rules = append(rules, rule{t > last && t <= mostStated, "list positive thresholds from low to high, each once", says("the threshold %g is not above %g", t, last)})
		last = t
	}
	for _, b := range o.Regions {
		holds := !math.IsNaN(b.Box.Area()-b.Box.Area()) && b.Box.Width() > 0 && b.Box.Height() > 0
		rules = append(rules, rule{holds, "give ymin,ymax,zmin,zmax with ymin < ymax and zmin < zmax", says("region %q has the box %v, which holds no area", b.Name, b.Box)})
	}
	for _, c := range rules {
		if !c.holds {
			return refuse(c.cure, "%s", c.text)
		}
	}
	return o.Uncertainty.Check()
}
