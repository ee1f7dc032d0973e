package rake

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// Log is a table as it was logged: named columns of cells that are read as numbers
// only when the layout asks for them.
type Log struct {
	File string
	// Heading has the headers as written, Name those without their units, Unit the
	// units, empty where there is none.
	Heading, Name, Unit []string
	headerLine          int
	cells               [][]string // by row
	line                []int      // of each row
	of                  []*Log     // of each row: the log that it comes from
	table               *survey.Table
}

func (l *Log) Rows() int { return len(l.cells) }

func (l *Log) fail(line, col int, text, cure string) error {
	return &wake.InputError{File: l.File, Line: line, Column: col, Text: text, Cure: cure}
}

// begins reports whether a row is the first of a further log.
func (l *Log) begins(row int) bool { return row > 0 && l.of[row] != l.of[row-1] }

// ReadLogs reads the logs of one traverse as one, rows below rows. Their headers are the same.
func ReadLogs(files []File) (*Log, error) {
	var all Log
	for _, f := range files {
		l, err := ReadLog(f)
		if err != nil {
			return nil, err
		}
		if all.of == nil {
			all = *l
			continue
		}
		if !slices.Equal(l.Heading, all.Heading) || !slices.Equal(l.Unit, all.Unit) {
			return nil, l.fail(l.headerLine, 0, "the columns are others than those of "+all.File, "the logs of one traverse have the same columns in the same order; reduce others one by one")
		}
		all.cells, all.line, all.of = append(all.cells, l.cells...), append(all.line, l.line...), append(all.of, l.of...)
	}
	return &all, nil
}

// ReadLog reads a log: text in any dialect that package survey understands, plain or packed,
// with a header, and perhaps a row of units below it. Errors are *wake.InputError with line and
// field.
func ReadLog(f File) (*Log, error) {
	text, err := survey.TextFile(f.Path)
	if err != nil {
		return nil, err
	}
	return ParseLog(f.Name, text)
}

// ParseLog is ReadLog for the contents of a file.
func ParseLog(name, text string) (*Log, error) {
	t, err := survey.NewTable(name, text, func(string) bool { return false })
	if err != nil {
		return nil, err
	}
	l := &Log{File: name, Heading: t.Headings, headerLine: t.Line, table: t}
	if t.Headings == nil {
		return nil, l.fail(t.Line, 0, "no header of as many names stands above the rows", "name the columns in the first line, as in \"time [s],q_ref [Pa],T01 [Pa]\"")
	}
	for i, h := range t.Headings {
		name, unit := survey.NameUnit(h)
		if unit == "" && t.Units != nil && t.Units[i] != "-" {
			unit = t.Units[i]
		}
		l.Name, l.Unit = append(l.Name, name), append(l.Unit, unit)
	}
	err = t.Rows(func(line int, cells []string) error {
		l.cells, l.line, l.of = append(l.cells, cells), append(l.line, line), append(l.of, l)
		return nil
	})
	return l, err
}

func clip(s string, most int) string {
	if r := []rune(s); len(r) > most {
		s = string(r[:most-1]) + "…"
	}
	return s
}

type column struct {
	field int
	// unit is that of the layout, else that of the log, else empty (SI).
	unit string
	// clash is the log's unit where the layout says another.
	clash string
}

// refuse stops the reading.
func (l *Log) refuse(line, col int, text, cure string) { wake.Stop(l.fail(line, col, text, cure)) }

// refuseRow is refuse for a row, in its own file.
func (l *Log) refuseRow(row, col int, text, cure string) {
	l.of[row].refuse(l.line[row], col, text, cure)
}

// find looks up a reference, "NAME" or "NAME [unit]": the whole header first, then
// the name without its unit, as written and then in any case.
func (l *Log) find(ref string) column {
	name, unit := survey.NameUnit(ref)
	for _, is := range []func(i int) bool{
		func(i int) bool { return l.Heading[i] == strings.TrimSpace(ref) },
		func(i int) bool { return l.Name[i] == name },
		func(i int) bool { return strings.EqualFold(l.Name[i], name) },
	} {
		hit := -1
		for i := range l.Name {
			if hit >= 0 && is(i) {
				l.refuse(l.headerLine, i+1, fmt.Sprintf("column %q occurs twice, as columns %d and %d", name, hit+1, i+1), "give each column its own name")
			} else if is(i) {
				hit = i
			}
		}
		if hit < 0 {
			continue
		}
		c := column{field: hit, unit: cmp.Or(unit, l.Unit[hit])}
		if l.Unit[hit] != c.unit {
			c.clash = l.Unit[hit]
		}
		return c
	}
	l.refuse(l.headerLine, 0, fmt.Sprintf("no column %q", ref), "the log has "+clip(strings.Join(l.Name, ", "), 300)+"; correct the layout")
	return column{}
}

// numbers reads a column in SI. A cell that is empty or nan is NaN if gaps is true,
// else an error.
func (l *Log) numbers(c column, d wake.Dimension, gaps bool) []float64 {
	factor := 1.0
	if c.unit != "" {
		u, err := wake.ParseUnit(c.unit)
		var kinematic bool
		if err == nil {
			factor, kinematic, err = u.To(d)
		}
		if err == nil && kinematic {
			err = fmt.Errorf("unit %q is a pressure over density", c.unit)
		}
		if err != nil {
			l.refuse(l.headerLine, c.field+1, fmt.Sprintf("column %q: %v", l.Heading[c.field], err), "correct the unit in the log or in the layout")
		}
	}
	out := make([]float64, len(l.cells))
	for i, row := range l.cells {
		s := row[c.field]
		x, err := l.of[i].table.Number(s)
		if err != nil {
			l.refuseRow(i, c.field+1, fmt.Sprintf("%q in column %q is no finite number", clip(s, 60), l.Heading[c.field]), "correct the cell or empty it")
		}
		if math.IsNaN(x) && !gaps {
			l.refuseRow(i, c.field+1, fmt.Sprintf("column %q has no value", l.Heading[c.field]), "the row cannot do without it; take the row out")
		}
		out[i] = wake.Scale(x, factor)
	}
	return out
}
