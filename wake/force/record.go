// Package force reads records of the force on a vehicle over time, as solvers and balances
// write them, and gives their time means. In go text files, out come drag areas with their
// standard uncertainty by leaving out blocks of the record (package uncertainty).
package force

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey"
	"wakeledger/wake/uncertainty"
)

// Mean is the time mean of a record.
type Mean struct {
	File string `json:"file"`
	uncertainty.TimeMean
	Warnings []wake.Warning `json:"-"`
}

// Read reads the record in the file at path, known by name, and takes its mean from the
// time start on. Coefficients are over the dynamic pressure q, Pa, and area, m²; 0 is not
// known.
func Read(path, name string, start, q, area float64) (*Mean, error) {
	v, coefficient, err := readRecord(path, name, start, q, area)
	if err != nil {
		return nil, err
	}
	m := &Mean{File: name}
	if coefficient != "" {
		m.Warnings = append(m.Warnings, wake.Warning{Code: "force-coefficient", Where: name, Cure: "record drag [N] or drag_area [m2] to be sure",
			Text: fmt.Sprintf("the column %s is a coefficient, taken as formed with frontal_area, %g m2; a solver may form it with an area of its own", quote(coefficient), area)})
	}
	if len(v) < 2 {
		return nil, &wake.InputError{File: name, Text: fmt.Sprintf("the force record has %d values from the start on", len(v)), Cure: "give a longer record, or an earlier start"}
	}
	index := make([]int64, len(v))
	for i := range index {
		index[i] = int64(i)
	}
	m.TimeMean = *uncertainty.NewTimeMean(index, v, nil)
	if m.Doubt != "" {
		text, cure := m.Why("values of the force record", "m²")
		m.Warnings = append(m.Warnings, wake.Warning{Code: m.Doubt, Where: name, Text: text, Cure: cure})
	}
	return m, nil
}

// readRecord reads a table of time and drag: text with two columns or more, plain or
// packed, separated by commas, semicolons, tabs or blanks, comments after #. The header,
// or the last comment above the rows that names as many columns, says which they are:
// time, and drag (or force, in N), drag_area (in m2) or a drag coefficient, which needs
// the area; with units in brackets. Without a header the first is the time in s and the
// second the drag in N. The result are drag areas, m², from the start on, and the name of
// the column if it holds a coefficient.
func readRecord(path, name string, start, q, area float64) ([]float64, string, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, "", &wake.InputError{File: name, Text: "cannot be opened: " + reason(err), Cure: "check the name; it is relative to the study file"}
	}
	defer file.Close()
	return parseRecord(file, name, start, q, area)
}

// parseRecord is readRecord for an open file.
func parseRecord(file io.Reader, name string, start, q, area float64) ([]float64, string, error) {
	fail := func(line, column int, cure, format string, a ...any) ([]float64, string, error) {
		return nil, "", &wake.InputError{File: name, Line: line, Column: column, Text: fmt.Sprintf(format, a...), Cure: cure}
	}
	text, err := survey.Text(name, file)
	if err != nil {
		return nil, "", err
	}
	defer text.Close()
	rec := recordColumns{time: 0, drag: 1, timeFactor: 1, dragFactor: 1 / q}
	var out []float64
	last, header := math.Inf(-1), false
	type comment struct {
		line   int
		fields []string
	}
	var comments []comment
	in := bufio.NewScanner(text)
	in.Buffer(nil, 1<<20)
	for line := 1; in.Scan(); line++ {
		text := in.Text()
		if line == 1 {
			text = strings.TrimPrefix(text, "\ufeff")
		}
		text, remark, _ := strings.Cut(text, "#")
		fields, comma := recordFields(text)
		if len(fields) == 0 {
			if names, _ := recordFields(strings.TrimLeft(remark, "# \t")); len(names) > 1 && !header {
				comments = append(comments[max(len(comments)-40, 0):], comment{line, names})
			}
			continue
		}
		if !header {
			header = true
			if _, err := strconv.ParseFloat(fields[0], 64); err != nil {
				if text, cure := rec.read(fields, q, area); text != "" {
					return fail(line, 0, cure, "%s", text)
				}
				continue
			}
			for _, c := range slices.Backward(comments) {
				if len(c.fields) != len(fields) {
					continue
				}
				named := rec
				text, cure := named.read(c.fields, q, area)
				if text != "" && named.time < 0 && named.drag < 0 {
					continue // prose
				}
				if text != "" {
					return fail(c.line, 0, cure, "%s", text)
				}
				rec = named
				break
			}
		}
		var v [2]float64
		for k, c := range []int{rec.time, rec.drag} {
			if c >= len(fields) {
				return fail(line, len(fields), "each row needs the time and the drag", "a row of %d fields, column %d is needed", len(fields), c+1)
			}
			if !comma {
				fields[c] = strings.Replace(fields[c], ",", ".", 1)
			}
			x, err := strconv.ParseFloat(fields[c], 64)
			if err != nil || math.IsNaN(x-x) {
				return fail(line, c+1, "a finite number is expected", "%q is not a finite number", fields[c])
			}
			v[k] = x
		}
		t, drag := v[0]*rec.timeFactor, v[1]*rec.dragFactor
		if !(t > last) {
			return fail(line, rec.time+1, "put the record in order, each time once", "the time goes from %g s to %g s", last, t)
		}
		last = t
		if !(math.Abs(drag) <= maxDragArea) {
			return fail(line, rec.drag+1, fmt.Sprintf("a size up to %g m2 is expected: check the column and its unit", maxDragArea), "%q makes a drag area of %.3g m2", fields[rec.drag], drag)
		}
		if t >= start {
			out = append(out, drag)
		}
	}
	if err := in.Err(); err != nil {
		var known *wake.InputError
		if errors.As(err, &known) {
			return nil, "", err
		}
		return fail(0, 0, "a text of rows is expected", "%v", err)
	}
	if out == nil && math.IsInf(last, 0) {
		return fail(0, 0, recordCure, "the force record holds no rows")
	}
	return out, rec.coefficient, nil
}

// maxDragArea is far beyond any vehicle's, m².
const maxDragArea = 1e9

const recordCure = "write rows of time and drag, as in: time [s],drag [N]"

// recordColumns says where a record has what, and what takes it to s and m².
type recordColumns struct {
	time, drag             int
	timeFactor, dragFactor float64
	// coefficient is the heading of the drag where it is a coefficient.
	coefficient string
}

// read takes the header; it returns what is wrong with it, and what would fix it.
func (c *recordColumns) read(fields []string, q, area float64) (text, cure string) {
	*c = recordColumns{time: -1, drag: -1, timeFactor: 1}
	cure = "name the columns as in: time [s],drag [N]"
	for k, f := range fields {
		base, unit, _ := strings.Cut(strings.TrimSuffix(strings.TrimSpace(f), "]"), "[")
		if b, inside, ok := strings.Cut(strings.TrimSuffix(f, ")"), "("); ok && strings.HasSuffix(f, ")") {
			if _, err := wake.ParseUnit(inside); err == nil {
				base, unit = b, inside
			}
		}
		dim, factor := wake.Time, 1.0
		switch strings.NewReplacer(" ", "", "_", "", "-", "").Replace(strings.ToLower(base)) {
		case "time", "t":
			if c.time >= 0 {
				return fmt.Sprintf("columns %d and %d are both the time", c.time+1, k+1), cure
			}
			c.time = k
		case "drag", "force", "fx", "dragforce":
			dim, factor = wake.Force, 1/q
		case "dragarea", "cda":
			dim = wake.Surface
		case "cd", "dragcoefficient":
			dim, factor = wake.Dimensionless, area
		default:
			continue
		}
		if unit = strings.TrimSpace(unit); unit != "" {
			x, _, err := wake.ParseValue("1 "+unit, dim)
			if err != nil {
				return fmt.Sprintf("column %d: %v", k+1, err), cure
			}
			factor *= x
		}
		if dim == wake.Time {
			c.timeFactor = factor
			continue
		}
		if c.drag >= 0 {
			return fmt.Sprintf("columns %d and %d are both the drag", c.drag+1, k+1), cure
		}
		c.drag, c.dragFactor = k, factor
		if dim == wake.Dimensionless {
			c.coefficient = strings.TrimSpace(f)
		}
	}
	if c.time < 0 || c.drag < 0 {
		return fmt.Sprintf("the header %s names no time or no drag", quote(strings.Join(fields, ", "))), cure
	}
	if c.coefficient != "" && area == 0 {
		return fmt.Sprintf("column %d, %s, is a coefficient, and the area that it was formed with is not known", c.drag+1, quote(c.coefficient)), "give frontal_area in [reference], or record drag [N] or drag_area [m2]"
	}
	return "", ""
}

// recordFields splits a line at tabs, else at semicolons, commas or blanks; comma is
// true for commas. A unit in brackets behind a blank belongs to the name before it.
func recordFields(line string) (fields []string, comma bool) {
	line = strings.TrimSpace(line)
	if line == "" {
		return nil, false
	}
	for _, sep := range []string{"\t", ";", ","} {
		if !strings.Contains(line, sep) {
			continue
		}
		for f := range strings.SplitSeq(strings.TrimSuffix(line, sep), sep) {
			fields = append(fields, strings.TrimSpace(f))
		}
		return fields, sep == ","
	}
	for _, f := range strings.Fields(line) {
		if n := len(fields); n > 0 && (f[0] == '[' || f[0] == '(') {
			fields[n-1] += " " + f
		} else {
			fields = append(fields, f)
		}
	}
	return fields, false
}

// reason is an error of the file system without the path, which the message has.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// quote quotes a heading, cut to what fits a line.
func quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:59]) + "…"
	}
	return strconv.Quote(s)
}
