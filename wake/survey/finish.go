package survey

import (
	"fmt"
	"sort"
	"strings"

	"wakeledger/wake"
)

// A column that never changes is judged only where there are more samples than
// this.
const constantOver = 100

// finisher makes Samples of the table: checks over whole columns, units, frame.
type finisher struct {
	name  string
	d     *dialect
	opt   *Options
	cols  *[wake.NumQuantities]column
	p     *plan
	table *table
}

// errorAt is an error at the header of q's column, or at the first row.
func (f *finisher) errorAt(q wake.Quantity, text, cure string) error {
	line := f.d.headerLine
	if f.d.headings == nil {
		line = f.d.startLine
	}
	e := &wake.InputError{File: f.name, Line: line, Text: text, Cure: cure}
	if c := f.cols[q]; c.field >= 0 {
		e.Column = c.field + 1
	}
	return e
}

func (f *finisher) samples() (*wake.Samples, error) {
	t := f.table
	s := &wake.Samples{File: f.name, N: t.n, Dropped: t.dropped}
	if err := f.counts(s); err != nil {
		return nil, err
	}
	for slot, q := range f.p.quantity {
		s.Col[q] = t.cols[slot]
	}
	for q := range f.cols {
		if c := f.cols[q]; c.present && c.field < 0 {
			s.Col[q] = make([]float64, s.N)
			for i := range s.Col[q] {
				s.Col[q][i] = c.value
			}
		}
	}
	if err := f.constants(s); err != nil {
		return nil, err
	}
	if err := f.units(s); err != nil {
		return nil, err
	}
	if err := f.ranges(s); err != nil {
		return nil, err
	}
	f.opt.Frame.Convert(s)
	s.LineOf = lineOf(f.d.startLine, t.jumps)
	return s, nil
}

// counts checks how many rows there are.
func (f *finisher) counts(s *wake.Samples) error {
	t := f.table
	all := t.n + t.dropped
	if d := f.d.declared; d > 0 && d != all {
		return &wake.InputError{File: f.name, Line: f.d.declaredLine, Text: fmt.Sprintf("the file declares %d rows and has %d", d, all), Cure: "export the plane again, or mend the number"}
	}
	if all == 0 {
		return &wake.InputError{File: f.name, Line: f.d.startLine, Text: "no rows", Cure: "export the plane again"}
	}
	worst, most := 0, 0
	for slot, n := range t.lost {
		if n > most {
			worst, most = slot, n
		}
	}
	if t.n == 0 {
		q := f.p.quantity[worst]
		return f.errorAt(q, fmt.Sprintf("all %d rows lack a value; %s has none in %d of them", all, q, most), "export the plane again, or leave the column out")
	}
	if 2*t.dropped > all {
		q := f.p.quantity[worst]
		s.Warnings = append(s.Warnings, wake.Warning{Code: "many-dropped", Where: f.name,
			Text: fmt.Sprintf("%d of %d rows were left out for missing values, %d of them for %s", t.dropped, all, most, q),
			Cure: "export only the plane's own samples, or leave the column out"})
	}
	return nil
}

// isConstant reports whether the values are all the same.
func isConstant(v []float64) bool {
	for _, x := range v {
		if x != v[0] {
			return false
		}
	}
	return true
}

// constants looks for columns that never change: a fault of the export more often
// than a flow. For v, w and the pressures that is a doubt; for u, and for two of
// the coordinates, it cannot be.
func (f *finisher) constants(s *wake.Samples) error {
	if s.N >= 3 {
		var still []wake.Quantity
		for q := wake.X; q <= wake.Z; q++ {
			if isConstant(s.Col[q]) {
				still = append(still, q)
			}
		}
		if len(still) >= 2 {
			last := still[len(still)-1]
			return f.errorAt(last, fmt.Sprintf("%s and %s are constant (%g and %g): the samples lie on a line", still[0], still[1], s.Col[still[0]][0], s.Col[still[1]][0]), "export a plane, or name the coordinates with --column")
		}
	}
	if s.N <= constantOver {
		return nil
	}
	// u is the component that the frame turns fore and aft.
	aft := wake.U
	for a := wake.AxisX; a <= wake.AxisZ; a++ {
		if ours, _ := f.opt.Frame.Axis(a); ours == wake.AxisX {
			aft = wake.U + wake.Quantity(a)
		}
	}
	for _, q := range []wake.Quantity{wake.U, wake.V, wake.W, wake.P, wake.Pt, wake.Cp, wake.Cpt} {
		c := f.cols[q]
		if !c.present || c.field < 0 || !isConstant(s.Col[q]) {
			continue
		}
		text := fmt.Sprintf("%s is %g in all %d rows", q, s.Col[q][0], s.N)
		if q == aft {
			return f.errorAt(q, text, fmt.Sprintf("check the export, or name another column with --column %s=\"NAME\"", q))
		}
		s.Warnings = append(s.Warnings, wake.Warning{Code: "constant-column", Where: f.name, Text: text, Cure: "check the export"})
	}
	return nil
}

// units takes all columns to SI.
func (f *finisher) units(s *wake.Samples) error {
	var kinematic []string
	for i := range f.cols {
		q, c := wake.Quantity(i), &f.cols[i]
		if !c.present {
			continue
		}
		if c.kinematic {
			if !(f.opt.Density > 0) {
				return f.errorAt(q, fmt.Sprintf("%s is a pressure over density (%s) and the density is not known", q, c.unit), "give it with --density")
			}
			kinematic = append(kinematic, q.String())
		}
		if c.factor != 1 {
			for j, x := range s.Col[q] {
				s.Col[q][j] = wake.Scale(x, c.factor)
			}
		}
		factor := c.factor
		if c.kinematic {
			factor *= f.opt.Density
			for j := range s.Col[q] {
				s.Col[q][j] *= f.opt.Density
			}
		}
		s.Source[q] = wake.Source{Name: c.name, Unit: c.unit, By: c.by, Factor: factor}
		if c.field < 0 {
			s.Source[q].Factor = 1
		}
	}
	if len(kinematic) > 0 {
		s.Warnings = append(s.Warnings, wake.Warning{Code: "kinematic-pressure", Where: f.name,
			Text: fmt.Sprintf("%s given over density: multiplied by %g kg/m3", strings.Join(kinematic, " and "), f.opt.Density),
			Cure: "check that the density is the solver's"})
	}
	return nil
}

// lineOf makes the function that finds the line of a sample: lines follow each
// other from first on but for the jumps.
func lineOf(first int, jumps []jump) func(int) int {
	if len(jumps) == 0 {
		return func(i int) int { return first + i }
	}
	return func(i int) int {
		k := sort.Search(len(jumps), func(k int) bool { return jumps[k].row > i })
		if k == 0 {
			return first + i
		}
		return jumps[k-1].line + i - jumps[k-1].row
	}
}
