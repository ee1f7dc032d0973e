package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wakeledger/wake/uncertainty"
)

// Decimals that are shown where no uncertainty says how many to show.
const (
	areaDecimals   = 4 // m²: a tenth of a count on a car
	coeffDecimals  = 4
	lengthDecimals = 3 // m
	countDecimals  = 1
)

// maxDecimals bounds what a very small step asks for.
const maxDecimals = uncertainty.MostDecimals

// The program has one way to write a number.
var fixed, signed, decimalsFor = uncertainty.Fixed, uncertainty.Signed, uncertainty.Decimals

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
