package wake

import "strings"

// Quantity names a column of a survey.
type Quantity uint8

// The quantities a survey can hold, with their SI units.
const (
	X    Quantity = iota // position aft, m
	Y                    // position to the right, m
	Z                    // position up, m
	U                    // velocity along x, m/s, time mean
	V                    // velocity along y, m/s, time mean
	W                    // velocity along z, m/s, time mean
	P                    // static pressure on the scale of the reference, Pa
	Pt                   // total pressure on the same scale, Pa
	Cp                   // (p−p∞)/q, 1
	Cpt                  // (pt−p∞)/q, 1
	Rho                  // density, kg/m³
	K                    // turbulence kinetic energy ½(uu+vv+ww), m²/s²
	UU                   // normal stress <u'u'>, m²/s²
	VV                   // normal stress <v'v'>, m²/s²
	WW                   // normal stress <w'w'>, m²/s²
	Area                 // area that the sample represents, m²
	NumQuantities
)

var quantities = [NumQuantities]struct {
	name string
	Dimension
}{
	X: {"x", Length}, Y: {"y", Length}, Z: {"z", Length}, U: {"u", Velocity}, V: {"v", Velocity}, W: {"w", Velocity},
	P: {"p", Pressure}, Pt: {"pt", Pressure}, Cp: {"cp", Dimensionless}, Cpt: {"cpt", Dimensionless}, Rho: {"rho", Density},
	K: {"k", SpecificEnergy}, UU: {"uu", SpecificEnergy}, VV: {"vv", SpecificEnergy}, WW: {"ww", SpecificEnergy}, Area: {"area", Surface},
}

// String returns the name that --column and the JSON use.
func (q Quantity) String() string {
	if q < NumQuantities {
		return quantities[q].name
	}
	return "quantity(?)"
}

// Dimension returns the dimension of the quantity's values, Unit the SI unit in which the
// program keeps them.
func (q Quantity) Dimension() Dimension { return quantities[q].Dimension }
func (q Quantity) Unit() string         { return q.Dimension().Unit() }

// ParseQuantity finds a quantity by its name, whatever the case.
func ParseQuantity(s string) (Quantity, bool) {
	for i, q := range quantities {
		if strings.EqualFold(s, q.name) {
			return Quantity(i), true
		}
	}
	return NumQuantities, false
}
