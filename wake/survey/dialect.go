package survey

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
)

// The head of a file is looked at to learn how it is written: at most headLines
// lines; a header has to stand within headerReach lines above the first row, and
// below prefaceRows lines of numbers at most.
const (
	headLines   = 2000
	prefaceRows = 5
	headerReach = 40
	maxFields   = 4096
	maxPreface  = 64 << 10 // bytes of a line that may say where values belong
)

// dialect is how a file of delimited text is written.
type dialect struct {
	sep byte // ',', ';', tab, or ' ' for runs of blanks and tabs
	dec byte // decimal mark: '.' or ','
	// fields in a row; where each row ends with a separator, the last is empty.
	fields int
	header
	// start is the offset of the first row in the head, startLine its line.
	start, startLine int
	// declared is how many rows the preface promises, 0 where it does not.
	declared, declaredLine int
	// ofCells is set where the lines above the first row say that values belong to cells.
	ofCells bool
}

// header is what stands above the rows.
type header struct {
	// headings has one entry a field, or is nil; headerLine is its line.
	headings   []heading
	headerLine int
	// units has one entry a field when a row of units, unitsLine, follows the header.
	units     []string
	unitsLine int
}

type line struct {
	at   int    // offset
	text []byte // without the line end, trimmed
	// comment lines have their marker cut off; rules are lines of marks alone.
	comment, rule bool
}

func (l line) empty() bool { return len(l.text) == 0 }

// commentStart returns the length of the marker that b begins with: #, //, %, !.
func commentStart(b []byte) int {
	n := 0
	for n < len(b) && (b[n] == '#' || b[n] == '%' || b[n] == '!') {
		n++
	}
	if n == 0 && len(b) >= 2 && b[0] == '/' && b[1] == '/' {
		n = 2
	}
	return n
}

// cutLines takes the head apart. A last line without its end is taken along only
// when the head is the whole file.
func cutLines(head []byte, whole bool) []line {
	var lines []line
	for at := 0; at < len(head) && len(lines) < headLines; {
		end := bytes.IndexByte(head[at:], '\n')
		next := at + end + 1
		if end < 0 {
			if !whole {
				break
			}
			next = len(head)
			end = next - at
		}
		l := line{at: at, text: trim(head[at : at+end])}
		if n := commentStart(l.text); n > 0 {
			l.comment = true
			l.text = trim(l.text[n:])
		}
		l.rule = len(l.text) > 0 && len(bytes.Trim(l.text, "-=_*+|# \t")) == 0 && len(l.text) > 2
		lines = append(lines, l)
		at = next
	}
	return lines
}

type style struct{ sep, dec byte }

// styles in the order in which they are tried. A comma is a separator sooner
// than a decimal mark, except between semicolons, tabs or blanks.
var styles = []style{{';', '.'}, {';', ','}, {'\t', '.'}, {'\t', ','}, {',', '.'}, {' ', '.'}, {' ', ','}}

// split cuts a row of the head into fields; separators within quotes do not
// count.
func split(b []byte, sep byte) [][]byte {
	var out [][]byte
	for i := 0; ; {
		if sep == ' ' {
			for i < len(b) && isBlank(b[i]) {
				i++
			}
			if i == len(b) {
				return out
			}
		}
		j := fieldEnd(b, i, sep)
		out = append(out, trim(b[i:j]))
		if j >= len(b) || len(out) > maxFields {
			return out
		}
		i = j + 1
	}
}

// fieldEnd returns the offset of the separator that ends the field at i, or
// len(b). A field that begins with a quote goes to the next quote at least.
func fieldEnd(b []byte, i int, sep byte) int {
	j := i
	for j < len(b) && b[j] == ' ' {
		j++
	}
	if j < len(b) && b[j] == '"' {
		if k := bytes.IndexByte(b[j+1:], '"'); k >= 0 {
			i = j + k + 2
		}
	}
	for i < len(b) && b[i] != sep && !(sep == ' ' && b[i] == '\t') {
		i++
	}
	return i
}

// numeric counts the fields that are numbers or missing values, and those that
// are numbers.
func numeric(fields [][]byte, dec byte) (fit, numbers int) {
	for _, f := range fields {
		x, err := parseNumber(f, dec)
		if err == nil || err == errInfinite || err == errRange {
			fit++
			if x == x && len(f) > 0 {
				numbers++
			}
		}
	}
	return fit, numbers
}

type row struct {
	i      int // index in lines
	st     style
	fields [][]byte
}

// endsOpen reports whether the row has one field more than so many, an empty one: a separator stands
// at the end of each row.
func (r row) endsOpen(fields int) bool {
	return fields == len(r.fields)-1 && len(r.fields[fields]) == 0
}

// asRow finds the first style in which the line is a row: all its fields are
// numbers or missing, at least two of them numbers; or, when loose, at least two
// numbers and half of the fields.
func asRow(lines []line, i int, loose bool) (row, bool) {
	l := lines[i]
	for _, st := range styles {
		if st.sep != ' ' && bytes.IndexByte(l.text, st.sep) < 0 {
			continue
		}
		fields := split(l.text, st.sep)
		if len(fields) > maxFields {
			continue
		}
		fit, numbers := numeric(fields, st.dec)
		if numbers >= 2 && (fit == len(fields) || loose && 2*fit >= len(fields)) {
			return row{i, st, fields}, true
		}
	}
	return row{}, false
}

// naming tells a header from other lines: least of its names have to be known.
type naming struct {
	least int
	known func(h heading) bool
}

// detect learns the dialect from the head of a file.
func detect(name string, head []byte, whole bool, by naming) *dialect {
	d := &dialect{}
	lines := cutLines(head, whole)
	for _, loose := range []bool{false, true} {
		plain := row{i: -1} // the first row that needs no header to be one
		before := 0         // rows above
		for i := range lines {
			if lines[i].empty() || lines[i].comment || lines[i].rule {
				continue
			}
			r, ok := asRow(lines, i, loose)
			if !ok {
				continue
			}
			if d.header = above(name, lines, r, by); d.headings != nil {
				d.begin(name, lines, r)
				return d
			}
			if plain.i < 0 && !loose {
				plain = r
			}
			if before++; before > prefaceRows {
				break
			}
		}
		if plain.i >= 0 {
			d.begin(name, lines, plain)
			return d
		}
	}
	for i, l := range lines {
		if hs, known := headerNames(l.text, 0, by); known >= by.least && 2*known >= len(hs) {
			refuse(name, i+1, 0, fmt.Sprintf("no row of numbers follows the header of %d names", len(hs)), "export the plane again")
		}
	}
	refuse(name, 1, 0, fmt.Sprintf("no table of numbers within the first %d lines", len(lines)), "export delimited text of 2 to 4096 columns, one sample a row")
	return nil
}

// above looks upward from row r for the header that fits it.
func above(name string, lines []line, r row, by naming) header {
	var h, fallback header
	near := true // no line of text between here and the row
	for j, steps := r.i-1, 0; j >= 0 && steps < headerReach; j, steps = j-1, steps+1 {
		l := lines[j]
		if l.empty() || l.rule {
			continue
		}
		hs, known := headerNames(l.text, r.st.sep, by)
		if r.endsOpen(len(hs)) {
			hs = append(hs, heading{meaning: unknown})
		}
		n, u := len(hs), unitRow(l.text, r)
		// Names that say nothing make a header only when no line above does.
		if known < by.least && n == len(r.fields) && near && !l.comment && fallback.headings == nil && u == nil {
			fallback.headings, fallback.headerLine = hs, j+1
		}
		switch {
		case known < by.least && u != nil && h.units == nil:
			h.units, h.unitsLine = u, j+1
		case known < by.least:
			near = near && (l.comment || rowLike(l.text, r))
		case n == len(r.fields):
			h.headings, h.headerLine = hs, j+1
			return h
		case near && !l.comment && n >= 3:
			refuse(name, r.i+1, min(n, len(r.fields))+1, fmt.Sprintf("the row has %d fields, the header in line %d has %d names", len(r.fields), j+1, n), "export the plane again, or mend the header")
		}
	}
	fallback.units, fallback.unitsLine = h.units, h.unitsLine
	return fallback
}

func rowLike(text []byte, r row) bool {
	_, numbers := numeric(split(text, r.st.sep), r.st.dec)
	return numbers > 0
}

// begin sets where the rows begin, given that r is one of them, and the rest of
// the dialect.
func (d *dialect) begin(name string, lines []line, r row) {
	d.sep, d.dec = r.st.sep, r.st.dec
	d.fields = len(r.fields)
	first := r.i
	if d.headings != nil {
		// What follows the header and the units is a row, even when it is damaged.
		for first = max(d.headerLine, d.unitsLine); first < r.i && (lines[first].empty() || lines[first].comment || lines[first].rule); {
			first++
		}
	} else {
		d.header = header{}
		// Lines above the row that have as many fields and a number are rows too.
		for j := r.i - 1; j >= 0; j-- {
			l := lines[j]
			if l.empty() || l.comment || len(split(l.text, d.sep)) != d.fields || !rowLike(l.text, r) {
				break
			}
			first = j
		}
	}
	d.start, d.startLine = lines[first].at, first+1
	d.decimals(name, lines[first:], first)
	d.count(lines[:first])
	d.ofCells = slices.ContainsFunc(lines[:first], func(l line) bool { return len(l.text) <= maxPreface && ofCells.Match(l.text) })
}

// grouped is a whole number with marks between its thousands, which is a decimal with
// three places too; bare is one that needs no mark.
var (
	grouped = regexp.MustCompile(`^[+-]?[1-9][0-9]{0,2}([.,][0-9]{3})+$`)
	bare    = regexp.MustCompile(`^[+-]?[0-9]{1,3}$`)
)

// ofCells matches what a preface or a header says of cells: "cell data", "face centroids". A
// mere count ("1681 cells") says nothing.
var ofCells = regexp.MustCompile(`(?i)\b(?:cells?|faces?|elements?)[- _]+(?:data|values?|averages?|averaged|cent(?:re|er)(?:s|d|ed)?|centroids?)\b`)

// decimals settles the decimal mark from all rows of the head.
//
// It refuses a column whose marks are open: all its numbers are whole and below a
// thousand, into the hundreds, or have three digits behind a mark and none of them a
// zero before it. Decimals have fewer places now and then, or places in each row.
func (d *dialect) decimals(name string, lines []line, first int) {
	type tally struct {
		line     int // of the first number with a mark
		text     string
		hundreds string
		other    bool
	}
	var cols []tally
	open := func(c tally) bool { return !c.other }
	mark := map[byte]int{} // the first lines with a point and with a comma
	for i, l := range lines {
		if l.comment || l.empty() {
			continue
		}
		// Most files are settled by their first rows: only a comma could still say anything.
		if len(cols) >= d.fields && (d.sep == ',' || mark['.'] > 0 && bytes.IndexByte(l.text, ',') < 0) && !slices.ContainsFunc(cols, open) {
			continue
		}
		for k, f := range split(l.text, d.sep) {
			for _, m := range []byte(".,") {
				if mark[m] == 0 && bytes.IndexByte(f, m) >= 0 && plausible(f) {
					mark[m] = first + i + 1
				}
			}
			if k == len(cols) {
				cols = append(cols, tally{})
			}
			c := &cols[k]
			switch {
			case c.other || missing(f):
			case bare.Match(f):
				if len(bytes.TrimLeft(f, "+-0")) == 3 {
					c.hundreds = string(f)
				}
			case grouped.Match(f):
				if c.line == 0 {
					c.line, c.text = first+i+1, string(f)
				}
			default:
				c.other = true
			}
		}
	}
	for k, c := range cols {
		if !c.other && c.line > 0 && c.hundreds != "" {
			refuse(name, c.line, k+1, fmt.Sprintf("%q beside %q in one column is a whole number with a mark between thousands, or a decimal", c.text, c.hundreds),
				"export numbers without marks between thousands, and decimals with all their places")
		}
	}
	point, comma := mark['.'], mark[',']
	switch {
	case d.sep == ',' || comma == 0:
	case point > 0:
		refuse(name, max(point, comma), 0, fmt.Sprintf("a decimal point (line %d) and a decimal comma (line %d) in one file", point, comma), "export the plane with one decimal mark and without marks between thousands")
	default:
		d.dec = ','
	}
}

// declaration matches what a preface says about the number of rows: "points:
// 1681", "number of samples = 1681", "1681 rows".
var declaration = regexp.MustCompile(`(?i)(?:^|[^a-z])(?:(?:points|samples|rows|records|count|n)\s*[:=]\s*(\d{1,12})|(\d{1,12})\s+(?:points|samples|rows|records))(?:[^0-9.a-z]|$)`)

// count looks for a declared number of rows in the preface. A line that also
// counts columns describes a lattice, not the rows of the file.
func (d *dialect) count(lines []line) {
	for i, l := range lines {
		text := bytes.ToLower(l.text)
		if len(text) > 300 || bytes.Contains(text, []byte("column")) {
			continue
		}
		m := declaration.FindSubmatch(text)
		if m == nil {
			continue
		}
		// One of the two is empty.
		if n, err := strconv.Atoi(string(m[1]) + string(m[2])); err == nil && n > 0 {
			d.declared, d.declaredLine = n, i+1
			return
		}
	}
}
