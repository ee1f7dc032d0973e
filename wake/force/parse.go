package force

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
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
	assumed     []string // the drags without a unit
}

// maxDragArea is far beyond any vehicle's, m².
const maxDragArea = 1e9

// parse reads a table of time and drag: text with two columns or more, plain or packed. The
// header, which may be a comment, says which they are (see heading). Without one the first is
// the time in s and the second the drag in N.
func parse(f File, opt *Options) (*table, error) {
	text, err := survey.TextFile(f.Path)
	if in := (*wake.InputError)(nil); errors.As(err, &in) {
		in.File = f.Name
	}
	if err != nil {
		return nil, err
	}
	rows, err := survey.NewTable(f.Name, text, func(heading string) bool { how, _, _ := roleOf(heading); return how != none })
	if err != nil {
		return nil, err
	}
	t := &table{name: f.Name}
	fail := func(line, column int, cure, format string, a ...any) error {
		return &wake.InputError{File: f.Name, Line: line, Column: column, Text: fmt.Sprintf(format, a...), Cure: cure}
	}
	col := columns{time: 0, timeFactor: 1, total: true, drag: []column{{at: 1, name: "drag", dim: wake.Force, factor: 1 / opt.Dynamic, assumed: true}}}
	fault, cure := opt.lacks(col.drag[0])
	if rows.Headings != nil {
		col, fault, cure = heading(rows.Headings, opt)
	}
	if fault != "" {
		return nil, fail(rows.Line, 0, cure, "%s", fault)
	}
	for _, d := range col.drag {
		t.names = append(t.names, d.name)
		if d.assumed {
			t.assumed = append(t.assumed, d.name)
		}
	}
	t.hasTotal, t.values = col.total, make([][]float64, len(col.drag))
	if d := col.drag[0]; d.dim == wake.Dimensionless {
		t.coefficient = d.heading
	}
	var lines []int
	err = rows.Rows(func(line int, cells []string) error {
		number := func(c int) (float64, error) {
			x, err := rows.Number(cells[c])
			if err != nil || math.IsNaN(x) {
				return 0, fail(line, c+1, "a finite number is expected; where a value is missing, leave out its row", "%q is not a finite number", cells[c])
			}
			return x, nil
		}
		at, err := number(col.time)
		if err != nil {
			return err
		}
		for k, d := range col.drag {
			x, err := number(d.at)
			if err != nil {
				return err
			}
			if x *= d.factor; !(math.Abs(x) <= maxDragArea) {
				return fail(line, d.at+1, fmt.Sprintf("a size up to %g m2 is expected: check the column and its unit", maxDragArea), "%q makes a drag area of %.3g m2", cells[d.at], x)
			}
			t.values[k] = append(t.values[k], x)
		}
		t.time, lines = append(t.time, at*col.timeFactor), append(lines, line)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return t, t.restart(lines, col.time+1)
}

// restart lets the rows after a restart take the place of those before them. A restart goes
// on at the record's own step, at most twice the median one; any other time that is not
// later than the one before it is an error in its line and column.
func (t *table) restart(lines []int, column int) error {
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
			return &wake.InputError{File: t.name, Line: lines[i], Column: column, Text: fmt.Sprintf("the time goes from %g s to %g s", t.time[last], t.time[i]),
				Cure: "put the record in order, each time once; a restart goes on at the same step"}
		}
		at, _ := slices.BinarySearchFunc(keep, t.time[i], func(k int, x float64) int { return cmp.Compare(t.time[k], x) })
		t.restarts = append(t.restarts, fmt.Sprintf("the record goes back from %g s to %g s at %s:%d: the rows from there on replace the %d before", t.time[last], t.time[i], t.name, lines[i], len(keep)-at))
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
