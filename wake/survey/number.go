package survey

import (
	"errors"
	"math"
	"strconv"
)

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

// parseNumber reads one field, trimmed of blanks, in full generality. It returns NaN
// and a nil error for a missing value: empty, nan of any case or sign, null, na,
// n/a, or none. dec is the decimal mark.
func parseNumber(field []byte, dec byte) (float64, error) {
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
