package survey

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
)

// A column that never changes is judged only where there are more samples than
// this.
const constantOver = 100

// Bounds on values in SI: far beyond what a vehicle's wake holds, and small enough
// that no product or sum of a later stage overflows.
const (
	maxPosition = 1e9  // m
	maxValue    = 1e18 // m/s, Pa, kg/m3, …
)

// samples makes Samples of the table: checks over whole columns, units, frame.
func (l *layout) samples(t *table) *wake.Samples {
	s := &wake.Samples{File: l.name, N: t.n, Dropped: t.dropped, Ignored: l.ignored}
	l.counts(t)
	for slot, q := range l.quantity {
		s.Col[q] = t.cols[slot]
	}
	for q, c := range l.cols {
		if c.present && c.field < 0 {
			s.Col[q] = slices.Repeat([]float64{c.value}, s.N)
		}
	}
	l.constants(s)
	l.units(s)
	l.ranges(s, t)
	l.opt.Frame.Convert(s)
	s.Warnings = l.doubts
	if l.d.startLine > 0 {
		s.LineOf = t.line(l.d.startLine)
	}
	return s
}

func (l *layout) counts(t *table) {
	all := t.n + t.dropped
	if d := l.d.declared; d > 0 && d != all {
		refuse(l.name, l.d.declaredLine, 0, fmt.Sprintf("the file declares %d rows and has %d", d, all), "export the plane again, or mend the number")
	}
	if all == 0 {
		refuse(l.name, l.d.startLine, 0, "no rows", "export the plane again")
	}
	worst, most := 0, 0
	for slot, n := range t.lost {
		if n > most {
			worst, most = slot, n
		}
	}
	if t.n == 0 {
		q := l.quantity[worst]
		l.refuse(l.cols[q].field, fmt.Sprintf("all %d rows lack a value; %s has none in %d of them", all, q, most), "export the plane again, or leave the column out")
	}
	if 2*t.dropped > all {
		q := l.quantity[worst]
		l.doubt("many-dropped", fmt.Sprintf("%d of %d rows were left out for missing values, %d of them for %s", t.dropped, all, most, q),
			"export only the plane's own samples, or leave the column out")
	}
}

func isConstant(v []float64) bool {
	return !slices.ContainsFunc(v, func(x float64) bool { return x != v[0] })
}

// constants looks for columns that never change: a fault of the export more often
// than a flow. For v, w and the pressures that is a doubt; for u, and for two of
// the coordinates, it cannot be.
func (l *layout) constants(s *wake.Samples) {
	if s.N >= 3 {
		var still []wake.Quantity
		for q := wake.X; q <= wake.Z; q++ {
			if isConstant(s.Col[q]) {
				still = append(still, q)
			}
		}
		if len(still) >= 2 {
			last := still[len(still)-1]
			l.refuse(l.cols[last].field, fmt.Sprintf("%s and %s are constant (%g and %g): the samples lie on a line", still[0], still[1], s.Col[still[0]][0], s.Col[still[1]][0]), "export a plane, or name the coordinates with --column")
		}
	}
	if s.N <= constantOver || l.opt.Uniform {
		return
	}
	// u is the component that the frame turns fore and aft.
	aft := wake.U
	for a := wake.AxisX; a <= wake.AxisZ; a++ {
		if ours, _ := l.opt.Frame.Axis(a); ours == wake.AxisX {
			aft = wake.U + wake.Quantity(a)
		}
	}
	for q := wake.U; q <= wake.Cpt; q++ {
		if c := l.cols[q]; c.present && c.field >= 0 && isConstant(s.Col[q]) {
			text := fmt.Sprintf("%s is %g in all %d rows", q, s.Col[q][0], s.N)
			if q == aft {
				l.refuse(c.field, text, fmt.Sprintf("check the export, or name another column with --column %s=\"NAME\"", q))
			}
			l.doubt("constant-column", text, "check the export")
		}
	}
}

func (l *layout) units(s *wake.Samples) {
	var kinematic []string
	for i := range l.cols {
		q, c := wake.Quantity(i), &l.cols[i]
		if !c.present {
			continue
		}
		if c.kinematic {
			if !(l.opt.Density > 0) {
				l.refuse(l.cols[q].field, fmt.Sprintf("%s is a pressure over density (%s) and the density is not known", q, c.Unit), "give it with --density")
			}
			kinematic = append(kinematic, q.String())
		}
		if c.Factor != 1 {
			for j, x := range s.Col[q] {
				s.Col[q][j] = wake.Scale(x, c.Factor)
			}
		}
		s.Source[q] = c.Source
		if c.kinematic {
			s.Source[q].Factor *= l.opt.Density
			for j := range s.Col[q] {
				s.Col[q][j] *= l.opt.Density
			}
		}
		if c.field < 0 {
			s.Source[q].Factor = 1
		}
	}
	if len(kinematic) > 0 {
		l.doubt("kinematic-pressure", fmt.Sprintf("%s given over density: multiplied by %g kg/m3", strings.Join(kinematic, " and "), l.opt.Density),
			"check that the density is the solver's")
	}
}

// ranges refuses values that cannot be: beyond the bounds, or a density that is not
// positive.
func (l *layout) ranges(s *wake.Samples, t *table) {
	var least, most [wake.NumQuantities]float64
	var row [wake.NumQuantities]int
	grid.Parallel(len(row), func(q int) {
		least[q], most[q] = -maxValue, maxValue
		switch q := wake.Quantity(q); {
		case q <= wake.Z:
			least[q], most[q] = -maxPosition, maxPosition
		case q == wake.Rho, q == wake.Area:
			least[q] = math.SmallestNonzeroFloat64
		}
		row[q] = slices.IndexFunc(s.Col[q], func(x float64) bool { return !(least[q] <= x && x <= most[q]) })
	})
	for i, at := range row {
		if at < 0 {
			continue
		}
		q := wake.Quantity(i)
		x := s.Col[q][at]
		if what := map[wake.Quantity]string{wake.Rho: "density", wake.Area: "area"}[q]; what != "" && !(x > 0) {
			l.refuseRow(t, q, at, fmt.Sprintf("the %s is %g %s", what, x, q.Unit()), "a positive "+what+" is expected: check the field, or leave the column out")
		}
		l.refuseRow(t, q, at, fmt.Sprintf("%s is %g %s", q, x, q.Unit()), fmt.Sprintf("a size up to %g is expected: check the field and the unit", most[q]))
	}
}

// refuseRow refuses a row: with its line where rows are lines, else with its
// number.
func (l *layout) refuseRow(t *table, q wake.Quantity, row int, text, cure string) {
	e := &wake.InputError{File: l.name, Text: text, Cure: cure}
	switch {
	case l.cols[q].field < 0: // one value for all rows, by an option
	case l.d.startLine > 0:
		e.Line, e.Column = t.line(l.d.startLine)(row), l.cols[q].field+1
	default:
		e.Text += fmt.Sprintf(" in row %d", row+1)
	}
	wake.Stop(e)
}

// line makes the function that finds the line of a sample: they follow each other from first
// on, but for the lines that were passed.
func (t *table) line(first int) func(int) int {
	passed := t.passed
	return func(i int) int {
		return first + i + sort.Search(len(passed), func(k int) bool { return passed[k]-k > first+i })
	}
}
