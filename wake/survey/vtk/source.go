package vtk

import (
	"bytes"
	"fmt"
	"math"

	"wakeledger/wake"
)

// source is one file.
type source struct {
	// name is for messages; rel is the path seen from the first file's folder.
	name, rel string
	// data is the content behind a byte order mark of mark bytes.
	data []byte
	mark int
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
	e.Text += fmt.Sprintf(" (byte %d)", off+s.mark)
	return e
}

// maxCount bounds every count: polygons name points with 32 bits.
const maxCount = math.MaxInt32

// space reports whether c separates words.
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

// parseCount reads a whole number 0 … maxCount.
func parseCount(b []byte) (int, bool) {
	v, ok := parseInt(b)
	if !ok || v < 0 || v > maxCount {
		return 0, false
	}
	return int(v), true
}

// parseInt reads a whole number of any sign that fits 64 bits.
func parseInt(b []byte) (int64, bool) {
	neg := false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg = b[0] == '-'
		b = b[1:]
	}
	if len(b) == 0 || len(b) > 18 {
		return 0, false
	}
	var v int64
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = v*10 + int64(c-'0')
	}
	if neg {
		v = -v
	}
	return v, true
}
