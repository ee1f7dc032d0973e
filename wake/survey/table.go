package survey

import (
	"fmt"
	"math"
	"strings"

	"wakeledger/wake"
)

// Table is a table of text of another kind than a survey, as one of forces.
type Table struct {
	// Headings are as written, nil where there are none; a field that a separator at the end of each
	// row makes has none. Line is theirs, or that of the first row.
	Headings []string
	Line     int
	// Units has one for each field, "-" for none, where a row of units follows the header.
	Units []string
	d     *dialect
	name  string
	text  string // from the first row on
}

// NewTable finds out how the text of a file is written. A line with a name that is known is the
// header, if it is a comment too.
func NewTable(name, text string, known func(heading string) bool) (t *Table, err error) {
	err = wake.Attempt(func() {
		head := text[:min(len(text), headBytes)]
		d := detect(name, []byte(head), len(head) == len(text), naming{1, func(h heading) bool { return known(h.raw) }})
		t = &Table{Line: d.startLine, Units: d.units, d: d, name: name, text: text[d.start:]}
		for _, h := range d.headings {
			t.Headings, t.Line = append(t.Headings, h.raw), d.headerLine
		}
		if n := len(t.Headings); n > 0 && t.Headings[n-1] == "" {
			t.Headings = t.Headings[:n-1]
		}
	})
	return t, err
}

// Rows calls f with the cells of each row, in their order.
func (t *Table) Rows(f func(line int, cells []string) error) error {
	line := t.d.startLine - 1
	for text := range strings.SplitSeq(t.text, "\n") {
		line++
		if text = strings.Trim(text, " \t"); text == "" || commentStart([]byte(text[:min(len(text), 2)])) > 0 {
			continue
		}
		row := cells(text, t.d.sep)
		if n := len(row); n != t.d.fields {
			return &wake.InputError{File: t.name, Line: line, Column: min(n, t.d.fields) + 1, Text: fmt.Sprintf("the row has %s, expected %d", wake.Plural(n, "field"), t.d.fields), Cure: "mend the row or leave it out"}
		}
		if err := f(line, row); err != nil {
			return err
		}
	}
	return nil
}

// Number reads a cell, NaN where it is empty or a word or a dash for no value.
func (t *Table) Number(cell string) (float64, error) {
	if cell == "-" || cell == "--" {
		return math.NaN(), nil
	}
	return parseNumber([]byte(cell), t.d.dec)
}

// cells cuts a line at a separator, or for ' ' at runs of blanks and tabs, outside of
// quotes. Blanks around fields and quotes are taken off.
func cells(line string, sep byte) []string {
	var out []string
	for _, f := range split([]byte(line), sep) {
		s := string(f)
		if n := len(s); n >= 2 && s[0] == '"' && s[n-1] == '"' {
			s = s[1 : n-1]
		}
		out = append(out, s)
	}
	return out
}

// NameUnit takes "T01 [Pa]" apart; unit is empty where there is none.
func NameUnit(s string) (name, unit string) {
	s = strings.TrimSpace(s)
	if base, inside, ok := trailingBracket(s); ok && inside != "" && isUnit(inside) {
		return base, inside
	}
	return s, ""
}

// units takes the fields of a row as units, with or without brackets, "-" for none; nil
// where one is no unit or none has a dimension.
func units(fields []string) []string {
	out := make([]string, len(fields))
	real := false
	for i, u := range fields {
		if base, inside, _ := trailingBracket(u); base == "" && inside != "" {
			u = inside
		}
		if out[i] = u; u == "" || u == "-" {
			continue
		}
		unit, err := wake.ParseUnit(u)
		if err != nil {
			return nil
		}
		real = real || !unit.Is(wake.Dimensionless)
	}
	if !real {
		return nil
	}
	return out
}
