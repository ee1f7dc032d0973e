package survey

import (
	"bytes"
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
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
	if !plausible(field) {
		if f := bytes.TrimLeft(field, "+-"); fold(f, "inf") || fold(f, "infinity") {
			return 0, errInfinite
		}
		return 0, errNotNumber
	}
	switch {
	case dec != ',' && bytes.IndexByte(field, ',') >= 0:
		return 0, errComma
	case dec != '.' && bytes.IndexByte(field, '.') >= 0:
		return 0, errPoint
	}
	var room [64]byte
	text := append(room[:0], field...)
	for i, c := range text {
		switch c {
		case dec:
			text[i] = '.'
		case 'd', 'D':
			text[i] = 'e'
		}
	}
	x, err := strconv.ParseFloat(string(text), 64)
	if errors.Is(err, strconv.ErrSyntax) {
		// Fortran drops the letter when the exponent has three digits.
		x, err = strconv.ParseFloat(noLetter.ReplaceAllString(string(text), "${1}e$2"), 64)
	}
	switch {
	case errors.Is(err, strconv.ErrRange):
		return 0, errRange
	case err != nil:
		return 0, errNotNumber
	}
	return x, nil
}

var noLetter = regexp.MustCompile(`^([+-]?[0-9]*\.[0-9]*)([+-][0-9]{3})$`)

// plausible reports whether the field has only what numbers are made of, so that
// its decimal mark is what is wrong with it.
func plausible(field []byte) bool {
	return bytes.ContainsAny(field, "0123456789") && len(bytes.Trim(field, "0123456789.,+-eEdD")) == 0
}

func missing(f []byte) bool {
	if len(f) == 0 || len(f) > 4 {
		return len(f) == 0
	}
	for _, word := range []string{"nan", "+nan", "-nan", "null", "na", "n/a", "none"} {
		if fold(f, word) {
			return true
		}
	}
	return false
}

func fold(b []byte, word string) bool {
	return len(b) == len(word) && strings.EqualFold(string(b), word)
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' }

func trim(b []byte) []byte { return bytes.Trim(b, " \t\r") }
