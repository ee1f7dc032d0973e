package wake

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// numberAhead is the decimal number that a text starts with. An exponent counts only when it
// has digits: "1e3", but not "1em".
var numberAhead = regexp.MustCompile(`^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?`)

// ParseValue reads a value that may carry its unit, "90 km/h", as a value of d:
// in SI, with the unit as written. Without a unit the value is taken as SI and
// unit is empty. NaN, infinities, decimal commas and units of another dimension
// are errors; so is a pressure in m2/s2, for which there is ParsePressure.
func ParseValue(s string, d Dimension) (si float64, unit string, err error) {
	si, unit, kinematic, err := parseValue(s, d)
	if err == nil && kinematic {
		return 0, unit, fmt.Errorf("%q is a pressure over density; give it in Pa", strings.TrimSpace(s))
	}
	return si, unit, err
}

// ParsePressure is ParseValue for a pressure that may be given over density, in
// m2/s2: kinematic is then true and the caller multiplies by density.
func ParsePressure(s string) (si float64, unit string, kinematic bool, err error) {
	return parseValue(s, Pressure)
}

func parseValue(s string, d Dimension) (si float64, unit string, kinematic bool, err error) {
	t := strings.TrimSpace(s)
	plain := strings.Replace(t, "−", "-", 1)
	n := len(numberAhead.FindString(plain))
	if n == 0 {
		return 0, "", false, fmt.Errorf("%q does not begin with a number", t)
	}
	rest := strings.TrimSpace(plain[n:])
	if strings.HasPrefix(rest, ",") {
		return 0, "", false, fmt.Errorf("%q has a comma; write decimals with a point", t)
	}
	x, err := strconv.ParseFloat(plain[:n], 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, "", false, fmt.Errorf("%q is beyond the range of numbers", t)
	}
	if rest == "" {
		return x, "", false, nil
	}
	u, err := ParseUnit(rest)
	if err != nil {
		return 0, rest, false, err
	}
	f, kinematic, err := u.To(d)
	if err != nil {
		return 0, rest, false, err
	}
	si = Scale(x, f)
	if math.IsInf(si, 0) {
		return 0, rest, false, fmt.Errorf("%q is beyond the range of numbers", t)
	}
	return si, rest, kinematic, nil
}

// Deref is what a pointer leads to, zero for nil.
func Deref[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}

// Finite gives a pointer for JSON, nil for NaN and infinities.
func Finite(x float64) *float64 {
	if math.IsNaN(x - x) {
		return nil
	}
	return &x
}

// Scale returns x·factor. Where 1/factor is a whole number it divides instead:
// 25 mm is then the float64 nearest to 0.025 m, as if metres had been written.
func Scale(x, factor float64) float64 {
	if inv := 1 / factor; factor < 1 && inv <= 1<<53 && inv == math.Trunc(inv) {
		return x / inv
	}
	return x * factor
}
