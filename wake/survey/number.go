package survey

import (
	"errors"
	"math"
	"math/bits"
	"strconv"
)

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// scaleExact returns mantissa·10^exp when that takes one correctly rounded
// operation on exact operands: mantissa ≤ 2^53 and |exp| ≤ 22 (W. D. Clinger,
// "How to read floating point numbers accurately", PLDI 1990) [mem].
func scaleExact(mantissa uint64, exp int) (float64, bool) {
	if mantissa > 1<<53 {
		return 0, false
	}
	f := float64(mantissa)
	switch {
	case exp == 0:
		return f, true
	case 0 < exp && exp <= 22:
		return f * pow10[exp], true
	case -22 <= exp && exp < 0:
		return f / pow10[-exp], true
	}
	return 0, false
}

// pow5 are the powers of five below 2^64.
var pow5 = func() (p [28]uint64) {
	p[0] = 1
	for i := 1; i < len(p); i++ {
		p[i] = 5 * p[i-1]
	}
	return p
}()

// scaleWide returns the float64 nearest to mantissa·10^exp, ties to even, for
// |exp| ≤ 27 and mantissa > 0. It splits 10^exp = 5^exp·2^exp: the product with,
// or the quotient by, 5^|exp| < 2^64 is taken in 128 bits, of which the first 64
// and whether anything follows decide the rounding. It serves the 17 digits of
// numbers that were written to be read back.
func scaleWide(mantissa uint64, exp int) float64 {
	var q uint64
	sticky := false
	e := exp
	if exp >= 0 {
		hi, lo := bits.Mul64(mantissa, pow5[exp])
		q = lo
		if hi > 0 {
			n := bits.LeadingZeros64(hi)
			q = hi<<n | lo>>(64-n)
			sticky = lo<<n != 0
			e += 64 - n
		}
	} else {
		d := pow5[-exp]
		nd, nm := bits.LeadingZeros64(d), bits.LeadingZeros64(mantissa)
		d, mantissa = d<<nd, mantissa<<nm
		e += nd - nm - 64
		hi, lo := mantissa, uint64(0)
		if hi >= d { // the quotient has to be below 2^64
			hi, lo = mantissa>>1, mantissa<<63
			e++
		}
		var r uint64
		q, r = bits.Div64(hi, lo, d)
		sticky = r != 0
	}
	if shift := 11 - bits.LeadingZeros64(q); shift > 0 {
		low, half := q&(1<<shift-1), uint64(1)<<(shift-1)
		q >>= shift
		e += shift
		if low > half || low == half && (sticky || q&1 == 1) {
			q++
		}
	}
	// |e| < 200, so that 2^e and the product are normal and exact.
	return float64(q) * math.Float64frombits(uint64(1023+e)<<52)
}

var (
	errNotNumber = errors.New("is not a number")
	errInfinite  = errors.New("is infinite")
	errRange     = errors.New("is beyond the range of numbers")
	errComma     = errors.New("has a comma where this file has a decimal point")
	errPoint     = errors.New("has a point where this file has a decimal comma")
)

// maxNumber is the longest text, in bytes, that is read as a number: 2^-1074
// written out takes 1077 bytes.
const maxNumber = 1100

// number reads one field, trimmed of blanks, in full generality. It returns NaN
// and a nil error for a missing value: empty, nan of any case or sign, null, na,
// n/a, or none. dec is the decimal mark.
func number(field []byte, dec byte) (float64, error) {
	field = trim(field)
	if n := len(field); n >= 2 && field[0] == '"' && field[n-1] == '"' {
		field = trim(field[1 : n-1])
	}
	if missing(field) {
		return math.NaN(), nil
	}
	if len(field) > maxNumber {
		return 0, errNotNumber
	}
	var room [64]byte
	text := room[:0]
	digits, mark, exponent := 0, false, false
	for i, c := range field {
		switch {
		case '0' <= c && c <= '9':
			digits++
		case c == dec:
			if mark || exponent {
				return 0, errNotNumber
			}
			mark = true
			c = '.'
		case c == '+' || c == '-':
			if i > 0 && exponent && text[len(text)-1] != 'e' {
				return 0, errNotNumber
			}
			if i > 0 && !exponent {
				// Fortran drops the letter when the exponent has three digits.
				if !mark || digits == 0 || len(field)-i != 4 {
					return 0, errNotNumber
				}
				exponent = true
				text = append(text, 'e')
			}
		case c == 'e' || c == 'E' || c == 'd' || c == 'D':
			if exponent || digits == 0 {
				return 0, badNumber(field)
			}
			exponent = true
			c = 'e'
		case c == ',' && plausible(field):
			return 0, errComma
		case c == '.' && plausible(field):
			return 0, errPoint
		default:
			return 0, badNumber(field)
		}
		text = append(text, c)
	}
	if digits == 0 {
		return 0, errNotNumber
	}
	x, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		if errors.Is(err, strconv.ErrRange) {
			return 0, errRange
		}
		return 0, errNotNumber
	}
	return x, nil
}

// plausible reports whether the field has only what numbers are made of, so that
// its decimal mark is what is wrong with it.
func plausible(field []byte) bool {
	for _, c := range field {
		if !('0' <= c && c <= '9') && c != '.' && c != ',' && c != '+' && c != '-' && c != 'e' && c != 'E' {
			return false
		}
	}
	return true
}

func badNumber(field []byte) error {
	f := field
	if f[0] == '+' || f[0] == '-' {
		f = f[1:]
	}
	if fold(f, "inf") || fold(f, "infinity") {
		return errInfinite
	}
	return errNotNumber
}

// missing reports whether the trimmed field stands for no value.
func missing(f []byte) bool {
	switch len(f) {
	case 0:
		return true
	case 2, 3, 4:
		if f[0] == '+' || f[0] == '-' {
			return fold(f[1:], "nan")
		}
		return fold(f, "nan") || fold(f, "null") || fold(f, "na") || fold(f, "n/a") || fold(f, "none")
	}
	return false
}

// fold reports whether b is the lower-case ASCII word, whatever b's case.
func fold(b []byte, word string) bool {
	if len(b) != len(word) {
		return false
	}
	for i, c := range b {
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		if c != word[i] {
			return false
		}
	}
	return true
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' }

// trim cuts blanks, tabs and carriage returns off both ends.
func trim(b []byte) []byte {
	for len(b) > 0 && isBlank(b[0]) {
		b = b[1:]
	}
	for len(b) > 0 && isBlank(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}
