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

var quantityNames = [NumQuantities]string{"x", "y", "z", "u", "v", "w", "p", "pt", "cp", "cpt", "rho", "k", "uu", "vv", "ww", "area"}
var quantityUnits = [NumQuantities]string{"m", "m", "m", "m/s", "m/s", "m/s", "Pa", "Pa", "1", "1", "kg/m3", "m2/s2", "m2/s2", "m2/s2", "m2/s2", "m2"}

// String returns the name that --column and the JSON use.
func (q Quantity) String() string {
	if q < NumQuantities {
		return quantityNames[q]
	}
	return "quantity(?)"
}

// Unit returns the SI unit in which the program keeps the quantity.
func (q Quantity) Unit() string { return quantityUnits[q] }

// ParseQuantity finds a quantity by its name, whatever the case.
func ParseQuantity(s string) (Quantity, bool) {
	for i, n := range quantityNames {
		if strings.EqualFold(s, n) {
			return Quantity(i), true
		}
	}
	return NumQuantities, false
}
