package wake

import (
	"errors"
	"fmt"
	"math"
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

var dimensionNames = [numDimensions]string{"a number without unit", "a length", "an area", "a velocity", "a pressure", "a density", "m2/s2", "an angle", "a time", "a force"}
var dimensionUnits = [numDimensions]string{"1", "m", "m2", "m/s", "Pa", "kg/m3", "m2/s2", "rad", "s", "N"}

// exponents are the powers of length, mass, time and angle in a unit.
type exponents [4]int8

var dimensionExponents = [numDimensions]exponents{
	Dimensionless:  {},
	Length:         {1},
	Surface:        {2},
	Velocity:       {1, 0, -1},
	Pressure:       {-1, 1, -2},
	Density:        {-3, 1},
	SpecificEnergy: {2, 0, -2},
	Angle:          {0, 0, 0, 1},
	Time:           {0, 0, 1},
	Force:          {1, 1, -2},
}

// String names the dimension for messages: "a length", "a velocity".
func (d Dimension) String() string {
	if d < numDimensions {
		return dimensionNames[d]
	}
	return "dimension(?)"
}

// Unit returns the SI unit of the dimension.
func (d Dimension) Unit() string {
	if d < numDimensions {
		return dimensionUnits[d]
	}
	return "?"
}

// Dimension returns the dimension of the quantity's values.
func (q Quantity) Dimension() Dimension {
	switch q {
	case X, Y, Z:
		return Length
	case U, V, W:
		return Velocity
	case P, Pt:
		return Pressure
	case Rho:
		return Density
	case K, UU, VV, WW:
		return SpecificEnergy
	case Area:
		return Surface
	}
	return Dimensionless
}

// Unit is a unit of measure: a value in it times Factor is the value in SI.
type Unit struct {
	// Text is the unit as written.
	Text string
	// Factor takes a value to SI.
	Factor float64
	exp    exponents
}

// symbol is a unit that stands by itself.
type symbol struct {
	factor float64
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

var symbols = makeSymbols()

// caseless finds a symbol from its lower-case form; forms that belong to two
// symbols (mPa, MPa) are left out.
var caseless = makeCaseless()

func makeSymbols() map[string]symbol {
	table := map[string]symbol{}
	add := func(d Dimension, factor float64, names ...string) {
		for _, n := range names {
			table[n] = symbol{factor, dimensionExponents[d]}
		}
	}
	add(Dimensionless, 1, "1")
	add(Dimensionless, 0.01, "%")
	add(Length, 1, "m", "metre", "metres", "meter", "meters")
	add(Length, 1e-3, "mm", "millimetre", "millimetres", "millimeter", "millimeters")
	add(Length, 1e-2, "cm", "centimetre", "centimetres", "centimeter", "centimeters")
	add(Length, 0.1, "dm")
	add(Length, 1e3, "km")
	add(Length, 1e-6, "um", "µm", "μm")
	add(Length, inch, "in", "inch", "inches")
	add(Length, foot, "ft", "foot", "feet")
	add(Time, 1, "s", "sec", "second", "seconds")
	add(Time, 1e-3, "ms")
	add(Time, 60, "min")
	add(Time, 3600, "h", "hr", "hour", "hours")
	add(Velocity, 1, "mps")
	add(Velocity, 1000./3600, "kph", "kmh", "kmph")
	add(Velocity, 0.44704, "mph")
	add(Velocity, 1852./3600, "kn", "kt", "kts", "knot", "knots")
	add(Velocity, foot, "fps")
	add(Force, 1, "N")
	add(Force, 1e3, "kN")
	add(Force, pound*gravity, "lbf")
	add(Force, gravity, "kgf")
	add(Pressure, 1, "Pa")
	add(Pressure, 100, "hPa", "mbar", "mb")
	add(Pressure, 1e3, "kPa")
	add(Pressure, 1e6, "MPa")
	add(Pressure, 1e-3, "mPa")
	add(Pressure, 1e5, "bar")
	add(Pressure, 101325, "atm")
	add(Pressure, pound*gravity/(inch*inch), "psi")
	add(Pressure, pound*gravity/(foot*foot), "psf")
	add(Pressure, gravity, "mmH2O", "mmWC")
	add(Pressure, 25.4*gravity, "inH2O", "inWC")
	add(Pressure, 133.3224, "mmHg")
	add(Angle, 1, "rad")
	add(Angle, math.Pi/180, "deg", "degree", "degrees", "°")
	mass := exponents{0, 1}
	table["kg"] = symbol{1, mass}
	table["g"] = symbol{1e-3, mass}
	table["lb"] = symbol{pound, mass}
	table["lbm"] = symbol{pound, mass}
	table["slug"] = symbol{pound * gravity / foot, mass}
	table["J"] = symbol{1, exponents{2, 1, -2}}
	return table
}

func makeCaseless() map[string]symbol {
	lower := map[string]symbol{}
	twice := map[string]bool{}
	for name, s := range symbols {
		k := strings.ToLower(name)
		if old, ok := lower[k]; ok && old != s {
			twice[k] = true
		}
		lower[k] = s
	}
	for k := range twice {
		delete(lower, k)
	}
	return lower
}

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
	if n := numberPrefix(s); n > 0 && strings.TrimSpace(s[n:]) != "" && !strings.HasPrefix(strings.TrimSpace(s[n:]), "/") {
		f, err := strconv.ParseFloat(s[:n], 64)
		if err != nil || !(f > 0) {
			return u, fmt.Errorf("unit %q: the number before a unit has to be positive", t)
		}
		u.Factor, s = f, strings.TrimSpace(s[n:])
	}
	p := unitParser{s: s, anyCase: s == strings.ToLower(s) || s == strings.ToUpper(s)}
	f, e, err := p.product()
	if err == nil && p.i < len(p.s) {
		err = fmt.Errorf("stray %q", p.s[p.i:])
	}
	if err != nil {
		return u, fmt.Errorf("unit %q is not understood: %w", t, err)
	}
	u.Factor *= f
	u.exp = e
	if !(u.Factor > 0) || math.IsInf(u.Factor, 0) {
		return u, fmt.Errorf("unit %q is beyond the range of numbers", t)
	}
	return u, nil
}

// Is reports whether the unit measures d.
func (u Unit) Is(d Dimension) bool { return d < numDimensions && u.exp == dimensionExponents[d] }

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

// unitParser reads products and quotients of symbols with exponents.
type unitParser struct {
	s       string
	i       int
	anyCase bool
	depth   int
}

func (p *unitParser) blanks() {
	for p.i < len(p.s) && p.s[p.i] == ' ' {
		p.i++
	}
}

func (p *unitParser) product() (float64, exponents, error) {
	f, e, err := p.power()
	divided := false
	for err == nil {
		p.blanks()
		if p.i == len(p.s) || p.s[p.i] == ')' {
			break
		}
		var g float64
		var h exponents
		if p.s[p.i] == '/' {
			p.i++
			divided = true
			if g, h, err = p.power(); err != nil {
				break
			}
			f /= g
			for k := range e {
				e[k] -= h[k]
			}
		} else {
			if divided {
				return f, e, errors.New("a product after a slash; put it in brackets")
			}
			if c := p.s[p.i]; c == '*' || c == '.' {
				p.i++
			}
			if g, h, err = p.power(); err != nil {
				break
			}
			f *= g
			for k := range e {
				e[k] += h[k]
			}
		}
		for _, x := range e {
			if !(-maxExponent <= x && x <= maxExponent) {
				return f, e, errExponent
			}
		}
	}
	return f, e, err
}

// power reads a symbol or a bracket, with an exponent.
func (p *unitParser) power() (f float64, e exponents, err error) {
	p.blanks()
	if p.i == len(p.s) {
		return 0, e, errors.New("it ends early")
	}
	if p.s[p.i] == '(' {
		if p.depth++; p.depth > 4 {
			return 0, e, errors.New("too many brackets")
		}
		p.i++
		if f, e, err = p.product(); err != nil {
			return 0, e, err
		}
		if p.i == len(p.s) {
			return 0, e, errors.New("a bracket is not closed")
		}
		p.i++
		p.depth--
	} else {
		name := p.name()
		s, ok := symbols[name]
		if !ok && p.anyCase {
			s, ok = caseless[strings.ToLower(name)]
		}
		if !ok {
			if name == "" {
				name = p.s[p.i:]
			}
			return 0, e, fmt.Errorf("there is no %q", name)
		}
		f, e = s.factor, s.exp
	}
	n, err := p.exponent()
	if err != nil {
		return 0, e, err
	}
	f = math.Pow(f, float64(n))
	for k := range e {
		x := int(e[k]) * n
		if !(-maxExponent <= x && x <= maxExponent) {
			return 0, e, errExponent
		}
		e[k] = int8(x)
	}
	return f, e, nil
}

// name takes the longest run that can be a symbol: letters, or a single mark,
// or a column of water.
func (p *unitParser) name() string {
	rest := p.s[p.i:]
	for _, whole := range []string{"mmH2O", "inH2O"} {
		if len(rest) >= len(whole) && (rest[:len(whole)] == whole || p.anyCase && strings.EqualFold(rest[:len(whole)], whole)) {
			p.i += len(whole)
			return whole
		}
	}
	n := 0
	for _, r := range rest {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == 'µ' || r == 'μ'
		if !letter {
			if n == 0 && strings.ContainsRune("1%°", r) {
				n = len(string(r))
			}
			break
		}
		n += len(string(r))
	}
	p.i += n
	return rest[:n]
}

// exponent reads "^-2", "-2", "2" or "^(-2)"; 1 where there is none.
func (p *unitParser) exponent() (int, error) {
	i := p.i
	caret, bracket := false, false
	if i < len(p.s) && p.s[i] == '^' {
		caret = true
		if i++; i < len(p.s) && p.s[i] == '(' {
			bracket = true
			i++
		}
	}
	sign, n, digits := 1, 0, 0
	if i < len(p.s) && (p.s[i] == '-' || p.s[i] == '+') {
		if p.s[i] == '-' {
			sign = -1
		}
		i++
	}
	for i < len(p.s) && p.s[i] >= '0' && p.s[i] <= '9' {
		n = n*10 + int(p.s[i]-'0')
		digits++
		i++
		if n > maxExponent {
			return 0, errExponent
		}
	}
	if digits == 0 {
		if caret {
			return 0, errors.New("an exponent is missing")
		}
		return 1, nil
	}
	if bracket {
		if i == len(p.s) || p.s[i] != ')' {
			return 0, errors.New("a bracket is not closed")
		}
		i++
	}
	p.i = i
	return sign * n, nil
}
