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

// significant prints x with up to n significant digits and no exponent for the sizes
// that occur.
func significant(x float64, n int) string {
	if x == 0 {
		x = 0 // not −0
	}
	return strings.Replace(strconv.FormatFloat(x, 'g', n, 64), "-", "−", 1)
}

func short(x float64) string { return significant(x, 6) }

// coefficient prints what goes with an area, in no more digits than the ± of the area allows.
func coefficient(c, area *float64, expanded float64, print func(float64, int) string, most int) string {
	if c == nil {
		return ""
	}
	return print(*c, min(most, decimalsFor(expanded*math.Abs(*c / *area), most)))
}

// percent prints a fraction in per cent, millimetres a length in m.
func percent(fraction float64) string { return significant(100*fraction, 3) + " %" }

func millimetres(x float64) string { return significant(1000*x, 4) + " mm" }

// known prints a number that may be absent, times a scale; optional prints it as it is.
func known(x *float64, scale float64, print func(float64, int) string, decimals int) string {
	if x == nil {
		return ""
	}
	return print(scale**x, decimals)
}

func optional(x *float64, decimals int) string { return known(x, 1, fixed, decimals) }

// digits are the decimals of a change in a unit that is a scale-th of the SI's: by its ±, and by the
// margin where that alone says how well it would have to be known.
func digits(scale, expanded float64, j uncertainty.Judgement, fallback int) int {
	if j.Verdict == uncertainty.NotJudged && j.Margin != nil {
		expanded = max(expanded, *j.Margin)
	}
	return decimalsFor(scale*expanded, fallback)
}

// expandedText prints an expanded uncertainty with its two digits, or nothing.
func expandedText(u float64, fallback int) string {
	if !(u > 0) {
		return ""
	}
	return fixed(u, decimalsFor(u, fallback))
}

// plusMinus prints "value ± expanded unit", or "value unit" without an uncertainty.
func plusMinus(x, expanded float64, fallback int, unit string) string {
	s := fixed(x, decimalsFor(expanded, fallback))
	if u := expandedText(expanded, fallback); u != "" {
		s += " ± " + u
	}
	return s + " " + unit
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

func thousands(n int) string { return Thousands(n) }

// Thousands groups the digits of a count by narrow blanks.
func Thousands(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u00a0" + s[i:]
	}
	return s
}

// limits prints a range in metres.
func limits(r [2]float64) string {
	return fmt.Sprintf("%s to %s m", fixed(r[0], lengthDecimals), fixed(r[1], lengthDecimals))
}
