package wake

import (
	"math"
	"strings"
	"testing"
)

// Factors against their definitions: SI brochure, international yard and pound
// (1959), and NIST SP 811 (2008) appendix B.8 for the technical pressures, whose
// printed digits bound the tolerance.
func TestUnitFactors(t *testing.T) {
	for _, c := range []struct {
		texts  string // separated by |
		dim    Dimension
		factor float64
		tol    float64 // relative
	}{
		{"m|metre|meters|M", Length, 1, 0},
		{"mm|MM|millimetre", Length, 0.001, 0},
		{"cm", Length, 0.01, 0},
		{"in|inch|IN", Length, 0.0254, 0},
		{"ft|feet", Length, 0.3048, 0},
		{"m2|m^2|m²|m**2|m·m", Surface, 1, 0},
		{"mm2|mm^2", Surface, 1e-6, 1e-15},
		{"in²", Surface, 6.4516e-4, 1e-15},
		{"m/s|m s-1|m s^-1|m.s^-1|m·s⁻¹|m s⁻¹|mps|M/S|(m)/(s)|m/(s)|m*s^(-1)|meters/second|ms-1", Velocity, 1, 0},
		{"km/h|kph|kmh|km h-1|KM/H", Velocity, 1 / 3.6, 1e-15},
		{"mph", Velocity, 0.44704, 0},
		{"kn|kt|knots", Velocity, 0.514444, 1e-6},
		{"ft/s|fps|ft s-1", Velocity, 0.3048, 0},
		{"Pa|pa|PA|N/m2|N/m^2|N m-2|kg/(m s2)|kg m-1 s-2|J/m^3", Pressure, 1, 0},
		{"hPa|mbar|mb", Pressure, 100, 0},
		{"kPa|kN/m2", Pressure, 1000, 0},
		{"mPa", Pressure, 1e-3, 0},
		{"MPa|N/mm2", Pressure, 1e6, 1e-15},
		{"bar", Pressure, 1e5, 0},
		{"atm", Pressure, 101325, 0},
		{"psi|lbf/in2", Pressure, 6.894757e3, 1e-7},
		{"psf|lbf/ft^2", Pressure, 47.88026, 1e-7},
		{"mmH2O|mm H2O|mmH₂O|mmh2o", Pressure, 9.80665, 0},
		{"inH2O", Pressure, 249.0889, 1e-7},
		{"mmHg", Pressure, 133.3224, 0},
		{"kg/m3|kg/m^3|kg m-3|kg·m⁻³|kg/m³|KG/M3", Density, 1, 0},
		{"lb/ft3", Density, 16.01846, 5e-7},
		{"slug/ft3", Density, 515.3788, 1e-7},
		{"m2/s2|m^2/s^2|m²/s²|m2 s-2|(m/s)^2|(m/s)2|J/kg", SpecificEnergy, 1, 0},
		{"deg|°|degrees", Angle, math.Pi / 180, 0},
		{"rad", Angle, 1, 0},
		{"1|-|–", Dimensionless, 1, 0},
		{"%", Dimensionless, 0.01, 0},
		{"m/m|mm/mm", Dimensionless, 1, 0},
		{"ms", Time, 1e-3, 0},
		{"N", Force, 1, 0},
		{"lbf", Force, 4.448222, 1e-6},
		{"24 in|0.6096 m", Length, 0.6096, 1e-15},
		{"30.5 m/s", Velocity, 30.5, 0},
	} {
		for _, text := range strings.Split(c.texts, "|") {
			u, err := ParseUnit(text)
			var f float64
			if err == nil {
				f, _, err = u.To(c.dim)
			}
			if err != nil || !(math.Abs(f-c.factor) <= c.tol*c.factor) {
				t.Errorf("%q: factor %v for %s (%v), want %v", text, f, c.dim, err, c.factor)
			}
		}
	}
}

func TestBadUnits(t *testing.T) {
	for text, want := range map[string]string{
		"":        "an empty unit; write 1 for a number without unit",
		"furlong": `unit "furlong" is not understood: there is no "furlong"`,
		"kg/m s":  `unit "kg/m s" is not understood: a product after a slash; put it in brackets`,
		"m/":      `unit "m/" is not understood: it ends early`,
		"m^":      `unit "m^" is not understood: an exponent is missing`,
		"(m":      `unit "(m" is not understood: a bracket is not closed`,
		"m)":      `unit "m)" is not understood: stray ")"`,
		"m^12":    `unit "m^12" is not understood: an exponent beyond 9`,
		// The powers of nested brackets pass the range of an int8, and come back to a metre's.
		"((m9)9)9":      `unit "((m9)9)9" is not understood: an exponent beyond 9`,
		"m9 (m9)8":      `unit "m9 (m9)8" is not understood: an exponent beyond 9`,
		"((m^9)^3)^-19": `unit "((m^9)^3)^-19" is not understood: an exponent beyond 9`,
		"m9 m9":         `unit "m9 m9" is not understood: an exponent beyond 9`,
		"MPA":           `unit "MPA" is not understood: there is no "MPA"`, // mega or milli?
		"Mm":            `unit "Mm" is not understood: there is no "Mm"`,
		"-3 m":          `unit "-3 m": the number before a unit has to be positive`,
		"0 m":           `unit "0 m": the number before a unit has to be positive`,
		"((((((m))":     `unit "((((((m))" is not understood: too many brackets`,
	} {
		if _, err := ParseUnit(text); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
	u, err := ParseUnit("Pa")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := u.To(Velocity); err == nil || err.Error() != `unit "Pa" does not measure a velocity; a unit such as m/s is expected` {
		t.Errorf("Pa as a velocity: %v", err)
	}
}

func TestParseValue(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  Dimension
		si   float64
		unit string
	}{
		{"90 km/h", Velocity, 25, "km/h"}, {"90km/h", Velocity, 25, "km/h"}, {"25", Velocity, 25, ""}, {" 2.5e1 m/s ", Velocity, 25, "m/s"},
		{"-0.58 m", Length, -0.58, "m"}, {"−580 mm", Length, -0.58, "mm"}, {"1e3mm", Length, 1, "mm"}, {"25 mm", Length, 0.025, "mm"},
		{"1013.25 hPa", Pressure, 101325, "hPa"}, {"1.2 kg/m3", Density, 1.2, "kg/m3"}, {"2.303 m2", Surface, 2.303, "m2"},
		{"1 %", Dimensionless, 0.01, "%"}, {"0.5 1", Dimensionless, 0.5, "1"}, {"180 deg", Angle, math.Pi, "deg"}, {".5 ft", Length, 0.1524, "ft"},
	} {
		si, unit, err := ParseValue(c.text, c.dim)
		if err != nil || unit != c.unit || !(math.Abs(si-c.si) <= 2e-16*math.Abs(c.si)) {
			t.Errorf("%q: %v %q (%v), want %v %q", c.text, si, unit, err, c.si, c.unit)
		}
	}
	for text, want := range map[string]string{
		"NaN":           `"NaN" does not begin with a number`,
		"inf m/s":       `"inf m/s" does not begin with a number`,
		"":              `"" does not begin with a number`,
		"25,5 m/s":      `"25,5 m/s" has a comma; write decimals with a point`,
		"25 Pa":         `unit "Pa" does not measure a velocity; a unit such as m/s is expected`,
		"1e999 m/s":     `"1e999 m/s" is beyond the range of numbers`,
		"1e308 1e9 m/s": `"1e308 1e9 m/s" is beyond the range of numbers`,
		"25 parsec":     `unit "parsec" is not understood: there is no "parsec"`,
		"1 2":           `unit "2" is not understood: there is no "2"`,
	} {
		if _, _, err := ParseValue(text, Velocity); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}

func TestKinematicPressure(t *testing.T) {
	si, unit, kinematic, err := ParsePressure("-40 m2/s2")
	if si != -40 || unit != "m2/s2" || !kinematic || err != nil {
		t.Errorf("%v %q %v %v", si, unit, kinematic, err)
	}
	if _, _, kinematic, err = ParsePressure("-40 Pa"); kinematic || err != nil {
		t.Errorf("-40 Pa: kinematic %v, %v", kinematic, err)
	}
	if _, _, err := ParseValue("-40 m2/s2", Pressure); err == nil || err.Error() != `"-40 m2/s2" is a pressure over density; give it in Pa` {
		t.Errorf("%v", err)
	}
}

// A length in mm is the float64 that the same length in metres reads to.
func TestScaleRoundsOnce(t *testing.T) {
	for i := range 100000 {
		mm := float64(i)
		if got, want := Scale(mm, 1e-3), mm/1000; got != want {
			t.Fatalf("%v mm = %v m, want %v", mm, got, want)
		}
	}
	if foot, three := 0.3048, 3.0; Scale(three, foot) != three*foot {
		t.Errorf("3 ft = %v m", Scale(three, foot))
	}
}
