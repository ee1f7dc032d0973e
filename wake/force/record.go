// Package force reads records of the force on a vehicle over time, as solvers and balances
// write them, and gives their time means. In go text files, one or several of a run, out
// come drag areas of the whole and of its parts, with their standard uncertainty by leaving
// out blocks of the record (package uncertainty).
//
// The steps:
//
//  1. parse   text → times and columns of drag areas (parse.go, heading.go)
//  2. join    files and restarts of one run, the later one from its first time on
//  3. space   equal steps, with gaps
//  4. cut     the start-up, stated or found (startup.go)
//  5. mean    of the total and of each part
package force

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/survey/settings"
	"wakeledger/wake/uncertainty"
)

// File is a record by the path that it is opened by and the name that messages use.
type File struct{ Path, Name string }

// Options say what a record is taken with.
type Options struct {
	// Start leaves out what comes before, s; nil looks for a start-up.
	Start *float64
	// Dynamic is the dynamic pressure, Pa, which takes forces to drag areas. Area is that of
	// coefficients, m²; 0 is not known: a record of forces, or of coefficients, is refused then.
	Dynamic, Area float64
	// Parts groups columns: each part is the sum of those named. Columns that no part names
	// are parts of their own.
	Parts []Group
}

// Group is a part by the columns that it is the sum of.
type Group struct {
	Name    string
	Columns []string
}

// Mean is the time mean of a record, as drag areas, m².
type Mean struct {
	// File names the record, several files joined by plus signs.
	File string `json:"file"`
	// Total says which column, or sum of columns, is the drag.
	Total string `json:"total"`
	uncertainty.TimeMean
	ScaleSeconds float64 `json:"time_scale_s"`
	// The record after the start-up: its interval and step.
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
	Step float64 `json:"step_s"`
	// StartUp is what was left out; nil for nothing.
	StartUp *StartUp `json:"start_up,omitempty"`
	// States are there where the record switches between two.
	States *uncertainty.States `json:"states,omitempty"`
	// Parts are those of the drag, which they sum to.
	Parts    []Part         `json:"parts,omitempty"`
	Warnings []wake.Warning `json:"-"`
	// Stated is a standard uncertainty that is stated beside the record, m²; nil for none.
	Stated *float64 `json:"-"`

	index  []int64
	values []float64
}

// Part is the mean of one part of the vehicle. Parts of one run are correlated: the
// uncertainty of their sum is that of the total.
type Part struct {
	Name string `json:"name"`
	uncertainty.TimeMean
	values []float64
	// empty: zero throughout, as a column for a device that is not there.
	empty bool
}

// Item is what the record says of the time average of the drag; nil where its mean cannot be judged.
func (m *Mean) Item() *uncertainty.Item {
	if m.Standard == nil {
		return nil
	}
	return &uncertainty.Item{Standard: *m.Standard, DOF: m.DOF}
}

// Values are the drag areas that the mean is of, in order of time.
func (m *Mean) Values() []float64 { return m.values }

// Read reads the record of one run.
//
// Files count by their first time: from its first time on the later one takes the place of
// those before. So do the rows after a restart within a file. Errors are *wake.InputError.
func Read(files []File, opt Options) (*Mean, error) {
	var names []string
	var tables []*table
	m := &Mean{}
	for _, f := range files {
		t, err := parse(f, &opt)
		if err != nil {
			return nil, err
		}
		tables, names = append(tables, t), append(names, f.Name)
	}
	m.File = strings.Join(names, "+")
	slices.SortStableFunc(tables, func(a, b *table) int { return cmp.Compare(a.time[0], b.time[0]) })
	all := tables[0]
	for _, t := range tables[1:] {
		if err := all.join(t); err != nil {
			return nil, err
		}
	}
	for _, t := range tables {
		if t.assumed != nil {
			m.warn("unit-assumed", "write the units into the heading, as in: time [s],drag [N]", "SI units are taken for %s, for which %s gives none", list(t.assumed), t.name)
		}
		for _, r := range t.restarts {
			m.warn("force-restart", "check that the run went on from there", "%s", r)
		}
	}
	if all.coefficient != "" {
		m.warn("force-coefficient", "record drag [N] or drag_area [m2] to be sure",
			"the column %s is a coefficient, taken as formed with frontal_area, %g m2; a solver may form it with an area of its own", settings.Quote(all.coefficient), opt.Area)
	}
	if err := m.take(all, &opt); err != nil {
		return nil, err
	}
	return m, nil
}

func (m *Mean) warn(code, cure, format string, a ...any) {
	m.Warnings = append(m.Warnings, wake.Doubt(code, m.File, cure, format, a...))
}

// join takes up the record o, which begins no earlier, in place of what t has from its first
// time on.
func (t *table) join(o *table) error {
	if !slices.Equal(t.names, o.names) {
		return &wake.InputError{File: o.name, Text: fmt.Sprintf("the columns are %s, those of %s %s", list(o.names), t.name, list(t.names)), Cure: "join records of one run that have the same columns"}
	}
	at, _ := slices.BinarySearch(t.time, o.time[0])
	t.time = append(t.time[:at], o.time...)
	for c := range t.values {
		t.values[c] = append(t.values[c][:at], o.values[c]...)
	}
	return nil
}

// take makes the means of a joined record.
func (m *Mean) take(t *table, opt *Options) error {
	total, how := t.total()
	m.Total = how
	parts, err := t.parts(opt.Parts, total)
	if err != nil {
		return err
	}
	first := 0
	if opt.Start != nil {
		first, _ = slices.BinarySearch(t.time, *opt.Start)
	}
	if n := len(t.time) - first; n < 2 {
		return &wake.InputError{File: m.File, Text: fmt.Sprintf("the force record has %s from the start on, at least 2 are expected", wake.Plural(n, "value")), Cure: "give a longer record, or an earlier start"}
	}
	time := t.time[first:]
	columns := [][]float64{total[first:]}
	for _, p := range parts {
		columns = append(columns, p.values[first:])
	}
	index, step, columns := m.space(time, columns)
	m.Step = step
	origin := time[0]
	switch {
	case first > 0:
		m.StartUp = &StartUp{Rule: "stated", Until: *opt.Start, Values: first, Mean: mean(total[:first])}
	case opt.Start == nil:
		if k := findStart(index, columns[0]); k > 0 {
			m.StartUp = &StartUp{Rule: "found", Until: origin + float64(index[k])*step, Values: k, Mean: mean(columns[0][:k])}
			index = index[k:]
			for c := range columns {
				columns[c] = columns[c][k:]
			}
			m.warn("force-start-up", `state it with --start, or start = "… s" beside record in a study; 0 s keeps all`,
				"the first %s of the record, up to %.4g s, are left out as start-up: their mean, %.4g m², is far from that of the rest, %.4g m²", wake.Plural(k, "value"), m.StartUp.Until, m.StartUp.Mean, mean(columns[0]))
		}
	}
	m.From, m.To = origin+float64(index[0])*step, origin+float64(index[len(index)-1])*step
	m.index, m.values = index, columns[0]
	m.TimeMean = *uncertainty.NewTimeMean(index, columns[0], nil)
	m.ScaleSeconds = m.Scale * step
	if m.Doubt != "" {
		text, cure := m.Why("values of the force record", "m²")
		m.warn(m.Doubt, cure, "%s", text)
	}
	if b := m.Burst; b != nil {
		m.warn("record-burst", "look at these values; where they are right, give a record that holds several such events",
			"the values from %.4g s to %.4g s carry %.0f %% of what the blocks of the record scatter by: how often that happens is not known", origin+float64(index[b[0]])*step, origin+float64(index[b[1]-1])*step, 100*m.BurstShare)
	}
	if m.States = uncertainty.NewStates(index, columns[0], m.Scale); m.States != nil {
		m.warn("two-states", "compare the states by themselves: the mean depends on the share of time in each", "%s", m.States.Sentence("m²"))
	}
	for k, p := range parts {
		v := columns[k+1]
		m.Parts = append(m.Parts, Part{Name: p.name, TimeMean: *uncertainty.NewTimeMean(index, v, nil), values: v, empty: !slices.ContainsFunc(v, func(x float64) bool { return x != 0 })})
	}
	return nil
}

// equal is how far a time may lie from the even spacing, as a part of the step: the times
// are printed with few digits.
const equal = 0.25

// space numbers the values by equal steps: the median step, with gaps, where the times fit;
// else by interpolation to as many equal steps as there are values.
func (m *Mean) space(time []float64, columns [][]float64) ([]int64, float64, [][]float64) {
	n := len(time)
	steps := make([]float64, n-1)
	for i := range steps {
		steps[i] = time[i+1] - time[i]
	}
	sorted := slices.Sorted(slices.Values(steps))
	step := sorted[len(sorted)/2]
	if whole := (time[n-1] - time[0]) / float64(n-1); math.Abs(whole/step-1) < 1e-3 {
		step = whole // which has more digits
	}
	index := make([]int64, n)
	fits := true
	for i := 1; i < n && fits; i++ {
		k := math.Round(steps[i-1] / step)
		fits = k >= 1 && math.Abs(steps[i-1]/step-k) <= equal && k < 1<<40
		index[i] = index[i-1] + int64(k)
	}
	if fits {
		return index, step, columns
	}
	m.warn("force-steps", "none is needed; write the record at equal steps to be sure", "the steps of time run from %.3g s to %.3g s: the record is interpolated at equal steps", sorted[0], sorted[len(sorted)-1])
	step = (time[n-1] - time[0]) / float64(n-1)
	out := make([][]float64, len(columns))
	for c := range columns {
		out[c] = make([]float64, n)
	}
	j := 0
	for i := range n {
		index[i] = int64(i)
		at := time[0] + float64(i)*step
		for j < n-2 && time[j+1] < at {
			j++
		}
		f := min((at-time[j])/(time[j+1]-time[j]), 1)
		for c, v := range columns {
			out[c][i] = v[j] + f*(v[j+1]-v[j])
		}
	}
	return index, step, out
}

func mean(x []float64) float64 { return uncertainty.NewSample(x).Mean }

// list joins names for a message.
func list(names []string) string {
	var q []string
	for _, n := range names {
		q = append(q, settings.Quote(n))
	}
	return strings.Join(q, ", ")
}
