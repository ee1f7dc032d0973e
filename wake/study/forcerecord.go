package study

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/uncertainty"
)

// ForceRecord is what a record of the force over time gave: its mean, with the
// standard error by batch means.
type ForceRecord struct {
	File    string `json:"file"`
	Samples int    `json:"samples"`
	// Batches and their length in samples, the correlation of neighbouring ones, and
	// the means of the two halves as drag areas.
	Batches int        `json:"batches"`
	Length  int        `json:"batch_samples"`
	Lag     *float64   `json:"batch_correlation,omitempty"`
	Halves  [2]float64 `json:"halves_m2"`
	DOF     float64    `json:"dof"`
}

// recordBatches is the number of batches: enough degrees of freedom, and batches as
// long as can be.
const recordBatches = 10

// records reads the force records and puts their means into the configurations.
func (r *runner) records() error {
	for k, cfg := range r.c.Configurations {
		if cfg.Force == nil || cfg.Force.Record == "" {
			continue
		}
		name := cfg.Force.Record
		path := r.path(name)
		in, err := r.input(name, "force record", cfg.Name)
		if err != nil {
			return err
		}
		r.out.Inputs = append(r.out.Inputs, in)
		start := math.Inf(-1)
		if cfg.Force.Start != nil {
			start = *cfg.Force.Start
		}
		v, err := readRecord(path, name, start, r.opt.Reference.Dynamic())
		if err != nil {
			return err
		}
		if len(v) < 2*recordBatches {
			return &wake.InputError{File: name, Text: fmt.Sprintf("the force record has %d values from the start on, %d are needed for the batches of its standard error", len(v), 2*recordBatches), Cure: "give a longer record, or an earlier start"}
		}
		b := uncertainty.NewBatchMeans(v, recordBatches)
		f := &ForceValue{DragArea: b.Mean, Standard: &b.Standard, Record: &ForceRecord{
			File: name, Samples: len(v), Batches: b.Batches, Length: b.Length, Halves: [2]float64{b.First, b.Second}, DOF: b.DOF,
		}}
		if !math.IsNaN(b.Lag) {
			f.Record.Lag = &b.Lag
			// Two standard errors of a correlation of nought.
			if b.Lag > 2/math.Sqrt(recordBatches) {
				r.warn("force-record", name, "record for longer", "the means of neighbouring batches of the force record have a correlation of %.2f: its standard error is too small", b.Lag)
			}
		}
		if u := cfg.Force.StandardUncertainty; u != nil {
			// What is stated beside the record comes on top, as it is not in the scatter.
			sum := math.Hypot(b.Standard, *u)
			f.Record.DOF = uncertainty.EffectiveDOF([]float64{b.Standard, *u}, []float64{b.DOF, math.Inf(1)})
			if math.IsInf(f.Record.DOF, 0) {
				f.Record.DOF = 0
			}
			f.Standard = &sum
		}
		r.out.Configurations[k].Force = f
	}
	return nil
}

// readRecord reads a table of time and drag: text with two columns or more,
// separated by commas, semicolons, tabs or blanks, comments after #. The header
// names them, as time and drag (or force, in N) or drag_area (in m2), with units in
// brackets; without one the first is the time in s and the second the drag in N.
// The result are drag areas, m², from the start on.
func readRecord(path, name string, start, q float64) ([]float64, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, &wake.InputError{File: name, Text: "cannot be opened: " + errText(err), Cure: "check the name; it is relative to the study file"}
	}
	defer file.Close()
	return parseRecord(file, name, start, q)
}

// parseRecord is readRecord for an open file.
func parseRecord(file io.Reader, name string, start, q float64) ([]float64, error) {
	fail := func(line, column int, cure, format string, a ...any) error {
		return &wake.InputError{File: name, Line: line, Column: column, Text: fmt.Sprintf(format, a...), Cure: cure}
	}
	rec := recordColumns{time: 0, drag: 1, timeFactor: 1, dragFactor: 1 / q}
	var out []float64
	last, header := math.Inf(-1), false
	in := bufio.NewScanner(file)
	in.Buffer(nil, 1<<20)
	for line := 1; in.Scan(); line++ {
		text := in.Text()
		if line == 1 {
			text = strings.TrimPrefix(text, "\ufeff")
		}
		text, _, _ = strings.Cut(text, "#")
		fields := recordFields(text)
		if len(fields) == 0 {
			continue
		}
		if _, err := strconv.ParseFloat(fields[0], 64); err != nil && !header && out == nil {
			header = true
			if text := rec.read(fields, q); text != "" {
				return nil, fail(line, 0, "name the columns as in: time [s],drag [N]", "%s", text)
			}
			continue
		}
		var v [2]float64
		for k, c := range []int{rec.time, rec.drag} {
			if c >= len(fields) {
				return nil, fail(line, len(fields), "each row needs the time and the drag", "a row of %d fields, column %d is needed", len(fields), c+1)
			}
			x, err := strconv.ParseFloat(fields[c], 64)
			if err != nil || math.IsNaN(x-x) {
				return nil, fail(line, c+1, "a finite number is expected", "%q is not a finite number", fields[c])
			}
			v[k] = x
		}
		t := v[0] * rec.timeFactor
		if !(t > last) {
			return nil, fail(line, rec.time+1, "put the record in order, each time once", "the time goes from %g s to %g s", last, t)
		}
		last = t
		if t >= start {
			out = append(out, v[1]*rec.dragFactor)
		}
	}
	if err := in.Err(); err != nil {
		return nil, fail(0, 0, "a text of rows is expected", "%v", err)
	}
	if out == nil && math.IsInf(last, 0) {
		return nil, fail(0, 0, "write rows of time and drag, as in: time [s],drag [N]", "the force record holds no rows")
	}
	return out, nil
}

// recordColumns says where a record has what, and what takes it to s and m².
type recordColumns struct {
	time, drag             int
	timeFactor, dragFactor float64
}

// read takes the header; it returns what is wrong with it.
func (c *recordColumns) read(fields []string, q float64) string {
	c.time, c.drag = -1, -1
	for k, f := range fields {
		base, unit, _ := strings.Cut(strings.TrimSuffix(strings.TrimSpace(f), "]"), "[")
		dim := wake.Time
		switch base = strings.ToLower(strings.TrimSpace(base)); base {
		case "time", "t":
			if c.time >= 0 {
				return fmt.Sprintf("columns %d and %d are both the time", c.time+1, k+1)
			}
			c.time = k
		case "drag", "force", "fx", "drag_area", "drag area":
			if c.drag >= 0 {
				return fmt.Sprintf("columns %d and %d are both the drag", c.drag+1, k+1)
			}
			c.drag = k
			dim = wake.Force
			c.dragFactor = 1 / q
			if strings.HasPrefix(base, "drag_") || strings.HasPrefix(base, "drag ") {
				dim, c.dragFactor = wake.Surface, 1
			}
		default:
			continue
		}
		factor := 1.0
		if unit = strings.TrimSpace(unit); unit != "" {
			x, _, err := wake.ParseValue("1 "+unit, dim)
			if err != nil {
				return fmt.Sprintf("column %d: %v", k+1, err)
			}
			factor = x
		}
		if dim == wake.Time {
			c.timeFactor = factor
		} else {
			c.dragFactor *= factor
		}
	}
	if c.time < 0 || c.drag < 0 {
		return fmt.Sprintf("the header %s names no time or no drag", quote(strings.Join(fields, ", ")))
	}
	return ""
}

// recordFields splits a line at commas, semicolons or tabs, or else at blanks.
func recordFields(line string) []string {
	line = strings.TrimSpace(line)
	if line == "" {
		return nil
	}
	if !strings.ContainsAny(line, ",;\t") {
		return strings.Fields(line)
	}
	out := strings.FieldsFunc(line, func(r rune) bool { return r == ',' || r == ';' || r == '\t' })
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
	}
	return out
}
