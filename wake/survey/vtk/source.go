package vtk

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"wakeledger/wake"
	"wakeledger/wake/survey/number"
)

type source struct {
	// name is for messages; rel is the path seen from the first file's folder.
	name, rel string
	data      []byte // behind a byte order mark
	// text is the offset up to which the file is text, so that lines mean
	// something.
	text int
}

const cutCure = "the file is cut off or damaged: copy or export it again"

// fail makes the error for what was found at byte off.
func (s *source) fail(off int, cure, format string, a ...any) error {
	e := &wake.InputError{File: s.name, Text: fmt.Sprintf(format, a...), Cure: cure}
	off = min(max(off, 0), len(s.data))
	if off <= s.text {
		e.Line = 1 + bytes.Count(s.data[:off], []byte{'\n'})
	}
	e.Text += fmt.Sprintf(" (byte %d)", off)
	return e
}

// refuse ends the reading with the error for what was found at byte off, failIf does so
// under a condition.
func (s *source) refuse(off int, cure, format string, a ...any) {
	wake.Stop(s.fail(off, cure, format, a...))
}

func (s *source) failIf(bad bool, off int, cure, format string, a ...any) {
	if bad {
		s.refuse(off, cure, format, a...)
	}
}

// maxCount bounds every count: polygons name points with 32 bits.
const maxCount = math.MaxInt32

func space(c byte) bool { return c <= ' ' }

// word returns the bounds of the next word in data at or after pos, or lo == hi
// at the end.
func word(data []byte, pos int) (lo, hi int) {
	for pos < len(data) && space(data[pos]) {
		pos++
	}
	lo = pos
	for pos < len(data) && !space(data[pos]) {
		pos++
	}
	return lo, pos
}

func parseCount(b []byte) (int, bool) {
	v, ok := parseInt32(b)
	return int(v), ok && v >= 0
}

func parseInt(b []byte) (int64, bool) {
	if len(b) == 0 || len(b) > 20 {
		return 0, false
	}
	v, err := strconv.ParseInt(string(b), 10, 64)
	return v, err == nil
}

func parseInt32(b []byte) (int32, bool) {
	v, ok := parseInt(b)
	return int32(v), ok && v == int64(int32(v))
}

// parseFloat reads one number as the library's writers print it. Special cases are:
//
//	nan, -nan, nan(ind)  = NaN
//	inf, -inf, infinity  = ±Inf
//
// A number too large for float64 is not accepted.
func parseFloat(b []byte) (float64, bool) {
	v, n := number.Scan(b, '.')
	if n == len(b) && n > 0 {
		return v, true
	}
	if len(b) == 0 || len(b) > 1000 {
		return 0, false
	}
	if v, err := strconv.ParseFloat(string(b), 64); err == nil {
		return v, true
	}
	if low := bytes.ToLower(bytes.TrimLeft(b, "+-")); bytes.HasPrefix(low, []byte("nan")) {
		return math.NaN(), true
	}
	return 0, false
}

// textNumbers reads n numbers from s.data[lo:hi] and returns them with the offset
// behind the last. The words are counted against the bytes before memory is
// taken: a number and the blank behind it need two.
func textNumbers[T float64 | int32](s *source, lo, hi, n int, what string) ([]T, int) {
	if n > (hi-lo+1)/2 {
		s.refuse(lo, cutCure, "%s: %d numbers are announced, but only %d bytes of text follow", what, n, hi-lo)
	}
	dst := make([]T, n)
	pos := lo
	for i := range dst {
		a, b := word(s.data[:hi], pos)
		if a == b {
			s.refuse(a, cutCure, "%s: the text ends after %d of %d numbers", what, i, n)
		}
		ok, expected := false, "a number"
		switch to := any(&dst[i]).(type) {
		case *int32:
			*to, ok = parseInt32(s.data[a:b])
			expected = "a whole number below 2^31"
		case *float64:
			*to, ok = parseFloat(s.data[a:b])
		}
		if !ok {
			s.refuse(a, cutCure, "%s: number %d of %d is %s, expected %s", what, i+1, n, quote(string(s.data[a:min(b, a+200)])), expected)
		}
		pos = b
	}
	return dst, pos
}
