package force

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats"

	"wakeledger/wake"
	"wakeledger/wake/survey"
	"wakeledger/wake/survey/settings"
)

// table is what one file holds, in order of time: drag areas, m², by column. The first is
// the total where hasTotal says so.
type table struct {
	name        string
	time        []float64
	names       []string
	hasTotal    bool
	values      [][]float64
	coefficient string // the heading of the drag where it is a coefficient
	restarts    []string
}

// maxDragArea is far beyond any vehicle's, m².
const maxDragArea = 1e9

const recordCure = "write rows of time and drag, as in: time [s],drag [N]"

// parser reads one file line by line.
type parser struct {
	name     string
	opt      *Options
	col      columns
	begun    bool
	comments []comment
	out      *table
	lines    []int // of the rows
}

type comment struct {
	line   int
	fields []string
}

func (p *parser) fail(line, column int, cure, format string, a ...any) error {
	return &wake.InputError{File: p.name, Line: line, Column: column, Text: fmt.Sprintf(format, a...), Cure: cure}
}

// parse reads a table of time and drag: text with two columns or more, plain or packed,
// separated by commas, semicolons, tabs or blanks, with comments after # and on lines that
// begin with % or //. The header, or the last comment above the rows that names as many
// columns, says which they are (see heading). Without a header the first is the time in s
// and the second the drag in N.
func parse(file io.Reader, name string, opt *Options) (*table, error) {
	p := &parser{name: name, opt: opt, out: &table{name: name}}
	p.col = columns{time: 0, timeFactor: 1, total: true, drag: []column{{at: 1, name: "drag", dim: wake.Force, factor: 1 / opt.Dynamic}}}
	text, err := survey.Text(name, file)
	if err != nil {
		return nil, err
	}
	line := 0
	for row := range strings.SplitSeq(text, "\n") {
		line++
		if err := p.line(line, row); err != nil {
			return nil, err
		}
	}
	if len(p.out.time) == 0 {
		return nil, p.fail(0, 0, recordCure, "the force record holds no rows")
	}
	return p.out, p.restarts()
}

// line takes up a line.
func (p *parser) line(line int, text string) error {
	text, remark, _ := strings.Cut(text, "#")
	if t := strings.TrimSpace(text); strings.HasPrefix(t, "%") || strings.HasPrefix(t, "//") {
		text, remark = "", strings.TrimLeft(t, "%/")
	}
	fields, comma := fieldsOf(text)
	if len(fields) == 0 {
		if names, _ := fieldsOf(strings.TrimLeft(remark, "# \t")); len(names) > 1 && !p.begun {
			p.comments = append(p.comments[max(len(p.comments)-40, 0):], comment{line, names})
		}
		return nil
	}
	if !p.begun {
		header, err := p.begin(line, fields)
		if err != nil || header {
			return err
		}
	}
	return p.row(line, fields, !comma)
}

// begin decides what the columns are, from the first line that is no comment; header says
// that it is not a row.
func (p *parser) begin(line int, fields []string) (header bool, err error) {
	p.begun = true
	defer p.columns()
	if _, err := strconv.ParseFloat(fields[0], 64); err != nil {
		col, text, cure := heading(fields, p.opt)
		if text != "" {
			return false, p.fail(line, 0, cure, "%s", text)
		}
		p.col = col
		return true, nil
	}
	for _, c := range slices.Backward(p.comments) {
		if len(c.fields) != len(fields) {
			continue
		}
		col, text, cure := heading(c.fields, p.opt)
		if text != "" && col.time < 0 && len(col.drag) == 0 {
			continue // prose
		}
		if text != "" {
			return false, p.fail(c.line, 0, cure, "%s", text)
		}
		p.col = col
		return false, nil
	}
	if text, cure := p.opt.lacks(p.col.drag[0]); text != "" {
		return false, p.fail(line, 2, cure, "%s", text)
	}
	return false, nil
}

// columns makes the table's columns.
func (p *parser) columns() {
	for _, d := range p.col.drag {
		p.out.names = append(p.out.names, d.name)
	}
	p.out.hasTotal = p.col.total
	p.out.values = make([][]float64, len(p.col.drag))
	if d := p.col.drag[0]; d.dim == wake.Dimensionless {
		p.out.coefficient = d.heading
	}
}

// row takes up a row.
func (p *parser) row(line int, fields []string, comma bool) error {
	number := func(c int) (float64, error) {
		if c >= len(fields) {
			return 0, p.fail(line, len(fields), "each row needs the time and the drag", "a row of %d fields, column %d is needed", len(fields), c+1)
		}
		x, err := survey.Number(fields[c], comma)
		if err != nil || math.IsNaN(x-x) {
			return 0, p.fail(line, c+1, "a finite number is expected", "%q is not a finite number", fields[c])
		}
		return x, nil
	}
	t, err := number(p.col.time)
	if err != nil {
		return err
	}
	for k, d := range p.col.drag {
		x, err := number(d.at)
		if err != nil {
			return err
		}
		if x *= d.factor; !(math.Abs(x) <= maxDragArea) {
			return p.fail(line, d.at+1, fmt.Sprintf("a size up to %g m2 is expected: check the column and its unit", maxDragArea), "%q makes a drag area of %.3g m2", fields[d.at], x)
		}
		p.out.values[k] = append(p.out.values[k], x)
	}
	p.out.time = append(p.out.time, t*p.col.timeFactor)
	p.lines = append(p.lines, line)
	return nil
}

// restarts lets the rows after a restart take the place of those before them. A restart goes
// on at the record's own step, at most twice the median one; any other time that is not
// later than the one before it is an error.
func (p *parser) restarts() error {
	t := p.out
	var steps []float64
	for i := 1; i < len(t.time); i++ {
		if d := t.time[i] - t.time[i-1]; d > 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == len(t.time)-1 {
		return nil
	}
	slices.Sort(steps)
	keep := []int{0}
	for i := 1; i < len(t.time); i++ {
		last := keep[len(keep)-1]
		if t.time[i] > t.time[last] {
			keep = append(keep, i)
			continue
		}
		if len(steps) == 0 || i+1 == len(t.time) || !(t.time[i+1]-t.time[i] <= 2*steps[len(steps)/2]) {
			return p.fail(p.lines[i], p.col.time+1, "put the record in order, each time once; a restart goes on at the same step", "the time goes from %g s to %g s", t.time[last], t.time[i])
		}
		at, _ := slices.BinarySearchFunc(keep, t.time[i], func(k int, x float64) int { return cmp.Compare(t.time[k], x) })
		t.restarts = append(t.restarts, fmt.Sprintf("the record goes back from %g s to %g s at %s:%d: the rows from there on replace the %d before", t.time[last], t.time[i], p.name, p.lines[i], len(keep)-at))
		keep = append(keep[:at], i)
	}
	t.time = wake.At(t.time, keep)
	for c := range t.values {
		t.values[c] = wake.At(t.values[c], keep)
	}
	return nil
}

// total is the drag of all, and how it is found.
func (t *table) total() ([]float64, string) {
	if t.hasTotal {
		return t.values[0], "column " + settings.Quote(t.names[0])
	}
	if len(t.names) == 1 {
		return t.values[0], "column " + settings.Quote(t.names[0]) + ", the only one"
	}
	sum := make([]float64, len(t.time))
	for _, v := range t.values {
		floats.Add(sum, v)
	}
	return sum, "the sum of the columns " + list(t.names)
}

// summing is how far the parts may be from the total to sum to it, on the mean, as a part of
// the sum of their sizes: what the digits of a file leave.
const summing = 1e-3

type series struct {
	name   string
	values []float64
}

// parts are those of the drag by groups and columns, with the rest of the total where there
// is one.
func (t *table) parts(groups []Group, total []float64) ([]series, error) {
	first := 0
	if t.hasTotal || len(t.names) == 1 {
		first = 1
	}
	own := t.names[first:]
	values := t.values[min(first, len(t.values)):]
	if len(own) == 0 && len(groups) == 0 {
		return nil, nil
	}
	taken := make([]bool, len(own))
	var out []series
	for _, g := range groups {
		s := series{g.Name, make([]float64, len(t.time))}
		for _, name := range g.Columns {
			k := slices.IndexFunc(own, func(n string) bool { return strings.EqualFold(n, name) })
			switch {
			case k < 0:
				return nil, &wake.InputError{File: t.name, Text: fmt.Sprintf("the record has no column %s of the part %s among %s", settings.Quote(name), settings.Quote(g.Name), list(own)), Cure: "name the columns as the record does, without units"}
			case taken[k]:
				return nil, &wake.InputError{File: t.name, Text: fmt.Sprintf("the column %s is in two parts", settings.Quote(name)), Cure: "give each column to one part"}
			}
			taken[k] = true
			floats.Add(s.values, values[k])
		}
		out = append(out, s)
	}
	for k, name := range own {
		if !taken[k] {
			out = append(out, series{name, values[k]})
		}
	}
	rest := slices.Clone(total)
	var size float64
	for _, s := range out {
		size += math.Abs(mean(s.values))
		floats.Sub(rest, s.values)
	}
	if math.Abs(mean(rest)) > summing*size {
		out = append(out, series{"rest", rest})
	}
	return out, nil
}

// fieldsOf splits a line at tabs, else at semicolons, commas or blanks; comma is true for
// commas. A unit in brackets behind a blank belongs to the name before it.
func fieldsOf(line string) (fields []string, comma bool) {
	if line = strings.TrimSpace(line); line == "" {
		return nil, false
	}
	for _, sep := range "\t;," {
		if strings.ContainsRune(line, sep) {
			return survey.Fields(strings.TrimSuffix(line, string(sep)), byte(sep)), sep == ','
		}
	}
	for _, f := range survey.Fields(line, ' ') {
		if n := len(fields); n > 0 && f != "" && (f[0] == '[' || f[0] == '(') {
			fields[n-1] += " " + f
		} else {
			fields = append(fields, f)
		}
	}
	return fields, false
}
