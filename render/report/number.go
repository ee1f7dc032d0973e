package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Decimals that are shown where no uncertainty says how many to show.
const (
	areaDecimals   = 4 // m²: a tenth of a count on a car
	coeffDecimals  = 4
	lengthDecimals = 3 // m
	countDecimals  = 1
)

// maxDecimals bounds what a very small uncertainty asks for.
const maxDecimals = 8

// decimalsFor returns the number of decimals that shows two significant digits
// of the uncertainty u, after rounding: 0.0331 → 3, 0.0996 → 2 (it rounds to
// 0.10), 12 → 0, 340 → 0. An uncertainty that is zero, negative or not finite
// says nothing, and fallback is returned.
func decimalsFor(u float64, fallback int) int {
	if !(u > 0 && u <= math.MaxFloat64) {
		return fallback
	}
	s := strconv.FormatFloat(u, 'e', 1, 64)
	exp, err := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	if err != nil {
		return fallback
	}
	return min(max(1-exp, 0), maxDecimals)
}

// fixed prints x with the decimals given, with a true minus and no minus on a
// zero.
func fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		if strings.Trim(rest, "0.") == "" {
			return rest
		}
		return "−" + rest
	}
	return s
}

// signed prints a difference: always with its sign, except that a zero, after
// rounding, has ±.
func signed(x float64, decimals int) string {
	s := fixed(x, decimals)
	switch {
	case strings.Trim(s, "0.") == "":
		return "±" + s
	case strings.HasPrefix(s, "−"):
		return s
	}
	return "+" + s
}

// short prints x with up to six significant digits and no exponent for the sizes
// that occur.
func short(x float64) string {
	if x == 0 {
		x = 0 // not −0
	}
	return strings.Replace(strconv.FormatFloat(x, 'g', 6, 64), "-", "−", 1)
}

// percent prints a fraction in per cent with up to three significant digits.
func percent(fraction float64) string {
	return strings.Replace(strconv.FormatFloat(100*fraction, 'g', 3, 64), "-", "−", 1) + " %"
}

// plusMinus prints "value ± expanded unit", or "value unit" without an
// uncertainty.
func plusMinus(x, expanded float64, fallback int, unit string) string {
	d := decimalsFor(expanded, fallback)
	if !(expanded > 0) {
		return fixed(x, d) + " " + unit
	}
	return fixed(x, d) + " ± " + fixed(expanded, d) + " " + unit
}

// signedPlusMinus is plusMinus for differences.
func signedPlusMinus(x, expanded float64, fallback int, unit string) string {
	d := decimalsFor(expanded, fallback)
	if !(expanded > 0) {
		return signed(x, d) + " " + unit
	}
	return signed(x, d) + " ± " + fixed(expanded, d) + " " + unit
}

// coverage prints the coverage factor with the degrees of freedom that it came
// from.
func coverage(k float64, dof *float64) string {
	s := "k = " + fixed(k, 2)
	if dof != nil {
		s += ", ν = " + short(math.Round(*dof*10)/10)
	}
	return s
}

// interval prints limits in m² with the decimals that suit the uncertainty.
func interval(lim [2]float64, expanded float64) string {
	d := decimalsFor(expanded, areaDecimals)
	return "[" + signed(lim[0], d) + ", " + signed(lim[1], d) + "] m²"
}

// thousands groups the digits of a count by narrow blanks.
func thousands(n int) string {
	s := strconv.Itoa(n)
	neg := strings.HasPrefix(s, "-")
	s = strings.TrimPrefix(s, "-")
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u00a0" + s[i:]
	}
	if neg {
		s = "−" + s
	}
	return s
}

// limits prints a range in metres.
func limits(r [2]float64) string {
	return fmt.Sprintf("%s to %s m", fixed(r[0], lengthDecimals), fixed(r[1], lengthDecimals))
}
