package wake

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Dimension is the kind of physical quantity that a unit measures.
type Dimension uint8

// The dimensions that the program has values of.
const (
	Dimensionless Dimension = iota
	Length
	Surface // an area, m²
	Velocity
	Pressure
	Density
	SpecificEnergy // energy by mass, m²/s²: stresses <u'u'>, and pressure over density
	Angle
	Time
	Force
	numDimensions
)

// exponents are the powers of length, mass, time and angle in a unit.
type exponents [4]int8

var dimensions = [numDimensions]struct {
	name, unit string
	exponents
}{
	Dimensionless:  {"a number without unit", "1", exponents{}},
	Length:         {"a length", "m", exponents{1}},
	Surface:        {"an area", "m2", exponents{2}},
	Velocity:       {"a velocity", "m/s", exponents{1, 0, -1}},
	Pressure:       {"a pressure", "Pa", exponents{-1, 1, -2}},
	Density:        {"a density", "kg/m3", exponents{-3, 1}},
	SpecificEnergy: {"m2/s2", "m2/s2", exponents{2, 0, -2}},
	Angle:          {"an angle", "rad", exponents{0, 0, 0, 1}},
	Time:           {"a time", "s", exponents{0, 0, 1}},
	Force:          {"a force", "N", exponents{1, 1, -2}},
}

// String names the dimension for messages: "a length", "a velocity".
func (d Dimension) String() string { return dimensions[d].name }

// Unit returns the SI unit of the dimension.
func (d Dimension) Unit() string { return dimensions[d].unit }

// Unit is a unit of measure: a value in it times Factor is the value in SI.
type Unit struct {
	// Text is the unit as written.
	Text string
	// Factor takes a value to SI.
	Factor float64
	exp    exponents
}

// Exact factors by definition: 1 in = 0.0254 m, 1 lb = 0.45359237 kg, standard
// gravity 9.80665 m/s², 1 knot = 1852 m/h, 1 atm = 101325 Pa. Water and mercury
// columns are the conventional ones of NIST SP 811 (2008), appendix B.8
// (9.80665 Pa for a millimetre of water, 133.3224 Pa for one of mercury) [mem].
const (
	inch    = 0.0254
	foot    = 0.3048
	pound   = 0.45359237
	gravity = 9.80665
)

// symbols are the units that have a name; caseless finds one from its lower-case form, but for
// forms that belong to two (mPa, MPa).
var symbols, caseless = func() (table, lower map[string]Unit) {
	table, lower = map[string]Unit{}, map[string]Unit{}
	mass := exponents{0, 1}
	for _, u := range []struct {
		exponents
		factor float64
		names  string
	}{
		{dimensions[Dimensionless].exponents, 1, "1"},
		{dimensions[Dimensionless].exponents, 0.01, "%"},
		{dimensions[Length].exponents, 1, "m metre metres meter meters"},
		{dimensions[Length].exponents, 1e-3, "mm millimetre millimetres millimeter millimeters"},
		{dimensions[Length].exponents, 1e-2, "cm centimetre centimetres centimeter centimeters"},
		{dimensions[Length].exponents, 0.1, "dm"},
		{dimensions[Length].exponents, 1e3, "km"},
		{dimensions[Length].exponents, 1e-6, "um µm μm"},
		{dimensions[Length].exponents, inch, "in inch inches"},
		{dimensions[Length].exponents, foot, "ft foot feet"},
		{dimensions[Time].exponents, 1, "s sec second seconds"},
		{dimensions[Time].exponents, 1e-3, "ms"},
		{dimensions[Time].exponents, 60, "min"},
		{dimensions[Time].exponents, 3600, "h hr hour hours"},
		{dimensions[Velocity].exponents, 1, "mps"},
		{dimensions[Velocity].exponents, 1000. / 3600, "kph kmh kmph"},
		{dimensions[Velocity].exponents, 0.44704, "mph"},
		{dimensions[Velocity].exponents, 1852. / 3600, "kn kt kts knot knots"},
		{dimensions[Velocity].exponents, foot, "fps"},
		{dimensions[Force].exponents, 1, "N"},
		{dimensions[Force].exponents, 1e3, "kN"},
		{dimensions[Force].exponents, pound * gravity, "lbf"},
		{dimensions[Force].exponents, gravity, "kgf"},
		{dimensions[Pressure].exponents, 1, "Pa"},
		{dimensions[Pressure].exponents, 100, "hPa mbar mb"},
		{dimensions[Pressure].exponents, 1e3, "kPa"},
		{dimensions[Pressure].exponents, 1e6, "MPa"},
		{dimensions[Pressure].exponents, 1e-3, "mPa"},
		{dimensions[Pressure].exponents, 1e5, "bar"},
		{dimensions[Pressure].exponents, 101325, "atm"},
		{dimensions[Pressure].exponents, pound * gravity / (inch * inch), "psi"},
		{dimensions[Pressure].exponents, pound * gravity / (foot * foot), "psf"},
		{dimensions[Pressure].exponents, gravity, "mmH2O mmWC"},
		{dimensions[Pressure].exponents, 25.4 * gravity, "inH2O inWC"},
		{dimensions[Pressure].exponents, 133.3224, "mmHg"},
		{dimensions[Angle].exponents, 1, "rad"},
		{dimensions[Angle].exponents, math.Pi / 180, "deg degree degrees °"},
		{mass, 1, "kg"},
		{mass, 1e-3, "g"},
		{mass, pound, "lb lbm"},
		{mass, pound * gravity / foot, "slug"},
		{exponents{2, 1, -2}, 1, "J"},
	} {
		for _, name := range strings.Fields(u.names) {
			table[name] = Unit{Factor: u.factor, exp: u.exponents}
		}
	}
	twice := map[string]bool{}
	for name, u := range table {
		k := strings.ToLower(name)
		old, ok := lower[k]
		twice[k] = twice[k] || ok && old != u
		lower[k] = u
	}
	maps.DeleteFunc(lower, func(k string, _ Unit) bool { return twice[k] })
	return table, lower
}()

// spelling brings the ways of writing a unit to one: plain exponents, "^" and
// "*" as the only marks besides "/" and brackets.
var spelling = strings.NewReplacer(
	"**", "^", "·", "*", "⋅", "*", "×", "*", "•", "*", "\u00a0", " ", "\u202f", " ",
	"⁻", "-", "−", "-", "¹", "1", "²", "2", "³", "3", "⁴", "4",
	"H₂O", "H2O", "mm H2O", "mmH2O", "in H2O", "inH2O", "mm Hg", "mmHg",
)

// maxUnit is the longest text, in bytes, that is tried as a unit.
const maxUnit = 64

// maxExponent is the largest power of length, mass, time or angle in a unit: no
// quantity of ours has more than 3, and sums and products of such powers fit an int8.
const maxExponent = 9

var errExponent = fmt.Errorf("an exponent beyond %d", maxExponent)

// ParseUnit reads a unit in any usual spelling: m/s, m s-1, m.s^-1, m·s⁻¹, mps,
// km/h, kg/m3, kg/m^3, N/m2, m²/s², psi, mmH2O, %, 1, - and so on. A number
// before the unit multiplies it: "0.61 m" for lengths over a chord of 0.61 m.
// The case counts, except in a text that is all upper or all lower case. A
// product after a slash needs brackets: kg/(m s2).
func ParseUnit(text string) (Unit, error) {
	t := strings.TrimSpace(text)
	u := Unit{Text: t, Factor: 1}
	if t == "" {
		return u, errors.New("an empty unit; write 1 for a number without unit")
	}
	if len(t) > maxUnit {
		return u, fmt.Errorf("unit %q… is too long", t[:maxUnit])
	}
	if t == "-" || t == "–" || t == "—" {
		return u, nil
	}
	s := spelling.Replace(t)
	number := numberAhead.FindString(s)
	if rest := strings.TrimSpace(s[len(number):]); number != "" && rest != "" && rest[0] != '/' {
		f, err := strconv.ParseFloat(number, 64)
		if err != nil || !(f > 0) {
			return u, fmt.Errorf("unit %q: the number before a unit has to be positive", t)
		}
		u.Factor, s = f, rest
	}
	p := unitParser{rest: s, anyCase: s == strings.ToLower(s) || s == strings.ToUpper(s)}
	v, err := p.product()
	if err == nil && p.rest != "" {
		err = fmt.Errorf("stray %q", p.rest)
	}
	if err != nil {
		return u, fmt.Errorf("unit %q is not understood: %w", t, err)
	}
	u.Factor, u.exp = u.Factor*v.Factor, v.exp
	if !(u.Factor > 0) || math.IsInf(u.Factor, 0) {
		return u, fmt.Errorf("unit %q is beyond the range of numbers", t)
	}
	return u, nil
}

// Is reports whether the unit measures d.
func (u Unit) Is(d Dimension) bool { return d < numDimensions && u.exp == dimensions[d].exponents }

// To returns the factor that takes a value in u to the SI unit of d. Kinematic
// is true when d is Pressure and u is a pressure over density (m2/s2): the
// caller has to multiply by density. Any other unit of another dimension is an
// error. "ms-1" is a velocity here, though strictly it is once a millisecond.
func (u Unit) To(d Dimension) (factor float64, kinematic bool, err error) {
	switch {
	case u.Is(d):
		return u.Factor, false, nil
	case d == Pressure && u.Is(SpecificEnergy):
		return u.Factor, true, nil
	case d == Velocity && strings.ReplaceAll(spelling.Replace(u.Text), "^", "") == "ms-1":
		return 1, false, nil
	}
	return 0, false, fmt.Errorf("unit %q does not measure %s; a unit such as %s is expected", u.Text, d, d.Unit())
}

// times multiplies by a unit, or divides by it.
func (u *Unit) times(v Unit, divide bool) error {
	sign := int8(1)
	if divide {
		u.Factor /= v.Factor
		sign = -1
	} else {
		u.Factor *= v.Factor
	}
	for k := range u.exp {
		if u.exp[k] += sign * v.exp[k]; !(-maxExponent <= u.exp[k] && u.exp[k] <= maxExponent) {
			return errExponent
		}
	}
	return nil
}

var (
	// symbolAhead is a column of water, letters or a single mark.
	symbolAhead   = regexp.MustCompile(`^(?:(?i:mmH2O|inH2O)|[A-Za-zµμ]+|[1%°])`)
	exponentAhead = regexp.MustCompile(`^\^\(([+-]?\d+)\)|^\^?([+-]?\d+)`)
)

// unitParser reads products and quotients of symbols with exponents.
type unitParser struct {
	rest    string
	anyCase bool
	depth   int
}

func (p *unitParser) blanks() { p.rest = strings.TrimLeft(p.rest, " ") }

func (p *unitParser) product() (u Unit, err error) {
	u, err = p.power()
	divided := false
	for p.blanks(); err == nil && p.rest != "" && p.rest[0] != ')'; p.blanks() {
		switch c := p.rest[0]; {
		case c == '/':
			divided = true
			p.rest = p.rest[1:]
		case divided:
			return u, errors.New("a product after a slash; put it in brackets")
		case c == '*' || c == '.':
			p.rest = p.rest[1:]
		}
		var v Unit
		if v, err = p.power(); err == nil {
			err = u.times(v, divided)
		}
	}
	return u, err
}

// power reads a symbol or a bracket, with an exponent.
func (p *unitParser) power() (u Unit, err error) {
	p.blanks()
	if p.rest == "" {
		return u, errors.New("it ends early")
	}
	if p.rest[0] == '(' {
		if p.depth++; p.depth > 4 {
			return u, errors.New("too many brackets")
		}
		p.rest = p.rest[1:]
		if u, err = p.product(); err != nil {
			return u, err
		}
		if p.rest == "" {
			return u, errors.New("a bracket is not closed")
		}
		p.rest = p.rest[1:]
		p.depth--
	} else {
		name := symbolAhead.FindString(p.rest)
		var ok bool
		if u, ok = symbols[name]; !ok && p.anyCase {
			u, ok = caseless[strings.ToLower(name)]
		}
		if !ok {
			return u, fmt.Errorf("there is no %q", cmp.Or(name, p.rest))
		}
		p.rest = p.rest[len(name):]
	}
	n, err := p.exponent()
	u.Factor = math.Pow(u.Factor, float64(n))
	for k := range u.exp {
		x := int(u.exp[k]) * n
		if !(-maxExponent <= x && x <= maxExponent) {
			return u, errExponent
		}
		u.exp[k] = int8(x)
	}
	return u, err
}

// exponent reads "^-2", "-2", "2" or "^(-2)"; 1 where there is none.
func (p *unitParser) exponent() (int, error) {
	m := exponentAhead.FindStringSubmatch(p.rest)
	if m == nil {
		if strings.HasPrefix(p.rest, "^") {
			return 1, errors.New("an exponent is missing")
		}
		return 1, nil
	}
	n, err := strconv.Atoi(m[1] + m[2])
	if err != nil || n < -maxExponent || n > maxExponent {
		return 1, errExponent
	}
	p.rest = p.rest[len(m[0]):]
	return n, nil
}
