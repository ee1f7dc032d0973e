package render

import (
	"math"
	"strconv"
	"strings"
)

// minus is the sign that numbers on pictures carry: as wide as a digit.
const minus = "−"

// niceStep is m·10^e with m = 1, 2 or 5.
type niceStep struct{ m, e int }

// niceAbove is the smallest step that is at least x (x > 0 and finite), with a
// grain of tolerance so that 0.2 computed as 0.20000000000000001 stays 0.2.
func niceAbove(x float64) niceStep {
	e := int(math.Floor(math.Log10(x)))
	for ; ; e++ {
		for _, m := range []int{1, 2, 5} {
			if s := (niceStep{m, e}); s.times(1) >= x*(1-1e-9) {
				return s
			}
		}
	}
}

// times is k steps, correctly rounded wherever 10^|e| is exact: 3 × 0.1 is 0.3.
func (s niceStep) times(k int) float64 {
	if s.e < 0 && s.e >= -22 {
		return float64(k*s.m) / math.Pow10(-s.e)
	}
	return float64(k*s.m) * math.Pow10(s.e)
}

// NiceAbove is the least of 1, 2 and 5 times the powers of ten that is at least x, which
// has to be positive and finite.
func NiceAbove(x float64) float64 { return niceAbove(x).times(1) }

// Tick is a place on an axis or a colour bar with its text.
type Tick struct {
	At   float64
	Text string
}

// Ticks returns the multiples of a step of 1, 2 or 5 times a power of ten that
// lie in [lo, hi], with the smallest step that gives most ticks at most. All
// texts have equal decimals. It returns none when the limits are not finite or
// not in order, when most < 1, or when the limits are too close for float64 to
// hold the ticks between them.
func Ticks(lo, hi float64, most int) []Tick {
	if !(hi > lo && hi-lo <= math.MaxFloat64) || most < 1 || hi-lo < 1e-12*max(math.Abs(lo), math.Abs(hi)) {
		return nil
	}
	step := niceAbove((hi - lo) / float64(most+1))
	for {
		s := step.times(1)
		if s == 0 || s > math.MaxFloat64 {
			return nil
		}
		grain := 1e-9 * s
		first, last := math.Ceil((lo-grain)/s), math.Floor((hi+grain)/s)
		if int(last-first)+1 <= most {
			out := make([]Tick, 0, most)
			for k := int(first); k <= int(last); k++ {
				v := step.times(k)
				out = append(out, Tick{At: v, Text: step.format(k)})
			}
			return out
		}
		step = niceAbove(s * 1.5)
	}
}

// format writes k steps with the decimals that the step needs.
func (s niceStep) format(k int) string {
	v := s.times(k)
	if s.e >= -7 && (s.e < 0 || math.Abs(v) < 1e7) {
		return decimal(v, max(0, -s.e))
	}
	return number(v, len(strings.TrimRight(strconv.Itoa(k*s.m), "0")))
}

// decimal writes v with so many decimals and a true minus sign.
func decimal(v float64, decimals int) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', decimals, 64), "-", minus, 1)
}

// number writes v with at most the given significant digits, a true minus sign and no
// trailing zeros.
func number(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'g', max(digits, 1), 64)
	mant, exp, has := strings.Cut(s, "e")
	if strings.Contains(mant, ".") {
		mant = strings.TrimRight(strings.TrimRight(mant, "0"), ".")
	}
	if has {
		n, _ := strconv.Atoi(exp)
		if n > 0 && n < 7 { // 'g' turns to exponents as soon as the digits end
			return decimal(v, 0)
		}
		mant += "e" + strconv.Itoa(n)
	}
	if mant == "-0" {
		mant = "0"
	}
	return strings.ReplaceAll(mant, "-", minus)
}

// Length writes a distance given in metres in whole millimetres below a metre and
// in metres with two decimals from there on.
func Length(m float64) string {
	if mm := 1000 * m; math.Abs(mm) < 999.5 {
		return decimal(mm, 0) + " mm"
	}
	return decimal(m, 2) + " m"
}
