package uncertainty

import (
	"math"
	"strconv"
	"strings"
)

// Fixed prints x with the decimals given, with a true minus and none on a zero.
func Fixed(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		if strings.Trim(rest, "0.") == "" {
			return rest
		}
		return "−" + rest
	}
	return s
}

// Signed prints a difference: always with its sign, except a zero, after rounding, which has none.
func Signed(x float64, decimals int) string {
	s := Fixed(x, decimals)
	if strings.Trim(s, "0.") == "" || strings.HasPrefix(s, "−") {
		return s
	}
	return "+" + s
}

// MostDecimals bounds what a very small uncertainty asks for.
const MostDecimals = 8

// Decimals is the number of decimals that shows two significant digits of the uncertainty u,
// after rounding: 0.0331 → 3, 0.0996 → 2 (it rounds to 0.10), 12 → 0, 340 → 0. An uncertainty
// that is zero, negative or not finite says nothing, and fallback is returned.
func Decimals(u float64, fallback int) int {
	if !(u > 0 && u <= math.MaxFloat64) {
		return fallback
	}
	s := strconv.FormatFloat(u, 'e', 1, 64)
	exp, _ := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	return min(max(1-exp, 0), MostDecimals)
}
