package survey

import (
	"fmt"

	"wakeledger/wake"
	"wakeledger/wake/survey/number"
)

type parsed struct {
	rows    int
	dropped int
	passed  []int // the lines that are no rows, or were dropped
	// lost counts, by slot, the rows that were dropped for a missing value there.
	lost [wake.NumQuantities]int
}

// parseBlock reads all lines of buf, which ends with a line end and begins with
// line number first, into dst, one slice a slot.
//
// number.Scan takes what is common; everything else goes to parseNumber.
// The line end at the end of buf stops every inner loop. It is one function, to keep calls out of
// the loop over the fields.
func (p *layout) parseBlock(buf []byte, first int, dst [][]float64) (out parsed, err error) {
	sep, dec := p.d.sep, p.d.dec
	blank := sep == ' '
	pad := byte('\t') // skipped before a field, besides ' '
	if sep == pad {
		pad = ' '
	}
	line, row := first-1, 0
rows:
	for pos := 0; pos < len(buf); {
		line++
		start := pos
		missing := -1 // slot of the first missing value in this row
		for f := 0; ; f++ {
			for buf[pos] == ' ' || buf[pos] == pad {
				pos++
			}
			if f == 0 && p.skipped(buf, pos) {
				pos = lineStop(buf, pos) + 1
				out.passed = append(out.passed, line)
				continue rows
			}
			if f >= len(p.slot) {
				n := len(split(trim(buf[start:lineStop(buf, pos)]), sep))
				return out, p.errorAt(line, f+1, fmt.Sprintf("the row has %s, expected %d", wake.Plural(n, "field"), len(p.slot)), "export the plane again, or mend the row")
			}
			if slot := p.slot[f]; slot < 0 {
				pos = p.fieldStop(buf, pos)
			} else {
				v, n := number.Scan(buf[pos:], dec)
				i := pos + n
				if c := buf[i]; n == 0 || c != sep && c != '\n' && !(c == '\r' && buf[i+1] == '\n') && !(blank && c == '\t') {
					i = p.fieldStop(buf, pos)
					if v, err = p.value(buf[pos:i], line, f, &missing); err != nil {
						return out, err
					}
				}
				pos = i
				dst[slot][row] = v
			}
			// At a separator or at the end of the row.
			if buf[pos] == sep || blank && buf[pos] == '\t' {
				pos++
				if !blank {
					continue
				}
				for buf[pos] == ' ' || buf[pos] == '\t' {
					pos++
				}
				if !(buf[pos] == '\n' || buf[pos] == '\r' && buf[pos+1] == '\n') {
					continue
				}
			}
			if buf[pos] != '\n' { // the CR of CRLF
				pos++
			}
			pos++
			if f+1 < len(p.slot) {
				return out, p.errorAt(line, f+2, fmt.Sprintf("the row has %s, expected %d", wake.Plural(f+1, "field"), len(p.slot)), "export the plane again, or mend the row")
			}
			break
		}
		if missing >= 0 {
			out.dropped++
			out.lost[missing]++
			out.passed = append(out.passed, line)
			continue
		}
		row++
	}
	out.rows = row
	return out, nil
}

func (p *layout) skipped(buf []byte, pos int) bool {
	switch c := buf[pos]; c {
	case '\n', '#', '%', '!':
		return true
	case '\r':
		return buf[pos+1] == '\n'
	case '/':
		return buf[pos+1] == '/'
	}
	return false
}

// fieldStop returns the offset of what ends the field that begins at pos. A quote that
// closes within the line holds separators.
func (p *layout) fieldStop(buf []byte, pos int) int {
	sep := p.d.sep
	if buf[pos] == '"' {
		for i := pos + 1; buf[i] != '\n'; i++ {
			if buf[i] == '"' {
				pos = i + 1
				break
			}
		}
	}
	for buf[pos] != sep && buf[pos] != '\n' && !(sep == ' ' && buf[pos] == '\t') {
		pos++
	}
	return pos
}

// value reads a field f that number.Scan does not take; NaN is a missing value, of which
// the first one's slot is noted.
func (p *layout) value(field []byte, line, f int, missing *int) (float64, error) {
	v, err := parseNumber(field, p.d.dec)
	q := p.quantity[p.slot[f]]
	if err == nil && v != v && *missing < 0 {
		if *missing = int(p.slot[f]); q <= wake.Z {
			return 0, p.errorAt(line, f+1, fmt.Sprintf("%s has no value (%q)", q, clip(field)), "a sample needs its position: mend the row or leave it out")
		}
	}
	if err == nil {
		return v, nil
	}
	cure := "mend the field, or write nan for a missing value"
	switch err {
	case errInfinite:
		cure = "no measurement is infinite: " + cure
	case errComma, errPoint:
		cure = "write all numbers with the same decimal mark and without marks between thousands"
	}
	return 0, p.errorAt(line, f+1, fmt.Sprintf("%q %v (%s)", clip(field), err, q), cure)
}

func lineStop(buf []byte, pos int) int {
	for buf[pos] != '\n' {
		pos++
	}
	return pos
}

func clip(b []byte) string {
	b = trim(b)
	return shorten(string(b[:min(len(b), 200)]))
}
