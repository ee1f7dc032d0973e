package survey

import (
	"errors"
	"fmt"
	"strconv"

	"wakeledger/wake"
	"wakeledger/wake/survey/number"
)

// jump records that row and the rows after it stand in line, line+1, …
type jump struct{ row, line int }

// parsed is what came of one block.
type parsed struct {
	rows    int
	dropped int
	// The first line of the block, the line after its last row, and the jumps
	// between, with rows counted from the block's first.
	first, next int
	jumps       []jump
	// lost counts, by slot, the rows that were dropped for a missing value there.
	lost [wake.NumQuantities]int
}

// parseBlock reads all lines of buf, which ends with a line end and begins with
// line number first, into dst, one slice a slot.
//
// number.Scan takes what is common; everything else goes to parseNumber.
// The line end at the end of buf stops every inner loop.
func (p *layout) parseBlock(buf []byte, first int, dst [][]float64) (out parsed, err error) {
	sep, dec, eol := p.d.sep, p.d.dec, p.d.eol
	blank := sep == ' '
	pad := byte('\t') // skipped before a field, besides ' '
	if sep == pad {
		pad = ' '
	}
	line, row := first-1, 0
	next := first // the line of the next row unless something stands between
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
				pos = lineStop(buf, pos, eol) + 1
				continue rows
			}
			if f >= len(p.slot) {
				end := lineStop(buf, pos, eol)
				if f > len(p.slot) || !p.d.trailing || len(trim(buf[pos:end])) > 0 {
					n := len(split(trim(buf[start:end]), sep))
					return out, p.errorAt(line, f+1, fmt.Sprintf("the row has %s, expected %d", countFields(n), len(p.slot)), "export the plane again, or mend the row")
				}
				pos = end
			} else if slot := p.slot[f]; slot < 0 {
				if buf[pos] == '"' {
					pos = p.quoted(buf, pos)
				}
				for buf[pos] != sep && buf[pos] != eol && !(blank && buf[pos] == '\t') {
					pos++
				}
			} else {
				v, n := number.Scan(buf[pos:], dec)
				i := pos + n
				if c := buf[i]; n == 0 || c != sep && c != eol && !(c == '\r' && buf[i+1] == eol) && !(blank && c == '\t') {
					i = pos
					if buf[i] == '"' {
						i = p.quoted(buf, i)
					}
					for buf[i] != sep && buf[i] != eol && !(blank && buf[i] == '\t') {
						i++
					}
					var e error
					v, e = parseNumber(buf[pos:i], dec)
					if e != nil {
						return out, p.badField(line, f, buf[pos:i], e)
					}
					if v != v && missing < 0 {
						missing = int(slot)
						if p.quantity[slot] <= wake.Z {
							return out, p.errorAt(line, f+1, fmt.Sprintf("%s has no value (%q)", p.quantity[slot], clip(buf[pos:i])), "a sample needs its position: mend the row or leave it out")
						}
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
				if !(buf[pos] == eol || buf[pos] == '\r' && buf[pos+1] == eol) {
					continue
				}
			}
			if buf[pos] != eol { // the CR of CRLF
				pos++
			}
			pos++
			if f+1 < len(p.slot) {
				return out, p.errorAt(line, f+2, fmt.Sprintf("the row has %s, expected %d", countFields(f+1), len(p.slot)), "export the plane again, or mend the row")
			}
			break
		}
		if missing >= 0 {
			out.dropped++
			out.lost[missing]++
			continue
		}
		if line != next {
			out.jumps = append(out.jumps, jump{row, line})
		}
		next = line + 1
		row++
	}
	out.rows, out.first, out.next = row, first, next
	return out, nil
}

// skipped reports whether the line whose first mark is at pos is empty or a
// comment.
func (p *layout) skipped(buf []byte, pos int) bool {
	switch c := buf[pos]; c {
	case p.d.eol, '#', '%', '!':
		return true
	case '\r':
		return buf[pos+1] == p.d.eol
	case '/':
		return buf[pos+1] == '/'
	}
	return false
}

// quoted returns the offset after the closing quote of the text that begins at
// pos, or pos where none closes it within the line.
func (p *layout) quoted(buf []byte, pos int) int {
	for i := pos + 1; buf[i] != p.d.eol; i++ {
		if buf[i] == '"' {
			return i + 1
		}
	}
	return pos
}

// lineStop returns the offset of the line end after pos.
func lineStop(buf []byte, pos int, eol byte) int {
	for buf[pos] != eol {
		pos++
	}
	return pos
}

func countFields(n int) string {
	if n == 1 {
		return "1 field"
	}
	return strconv.Itoa(n) + " fields"
}

// clip shortens a field for a message.
func clip(b []byte) string {
	b = trim(b)
	return shorten(string(b[:min(len(b), 200)]))
}

func (p *layout) badField(line, f int, field []byte, err error) error {
	cure := "mend the field, or write nan for a missing value"
	switch {
	case errors.Is(err, errInfinite):
		cure = "no measurement is infinite: mend the field, or write nan for a missing value"
	case errors.Is(err, errComma), errors.Is(err, errPoint):
		cure = "write all numbers with the same decimal mark and without marks between thousands"
	}
	return p.errorAt(line, f+1, fmt.Sprintf("%q %v (%s)", clip(field), err, p.quantity[p.slot[f]]), cure)
}
