package survey

import (
	"fmt"
	"math"

	"wakeledger/wake"
)

// Bounds on values in SI: far beyond what a vehicle's wake holds, and small enough
// that no product or sum of a later stage overflows.
const (
	maxPosition = 1e9  // m
	maxValue    = 1e18 // m/s, Pa, kg/m3, …
)

// ranges refuses values that cannot be: beyond the bounds, or a density that is not
// positive.
func (f *finisher) ranges(s *wake.Samples) error {
	for i, col := range s.Col {
		q, limit := wake.Quantity(i), maxValue
		if q <= wake.Z {
			limit = maxPosition
		}
		for row, x := range col {
			if !(math.Abs(x) <= limit) {
				return f.errorIn(q, row, fmt.Sprintf("%s is %g %s", q, x, q.Unit()), fmt.Sprintf("a size up to %g is expected: check the field and the unit", limit))
			}
			if q == wake.Rho && !(x > 0) {
				return f.errorIn(q, row, fmt.Sprintf("the density is %g kg/m3", x), "a positive density is expected: check the field, or leave the column out")
			}
		}
	}
	return nil
}

// errorIn is an error in a row: with its line where rows are lines, else with its
// number.
func (f *finisher) errorIn(q wake.Quantity, row int, text, cure string) error {
	e := &wake.InputError{File: f.name, Text: text, Cure: cure}
	switch {
	case f.cols[q].field < 0: // one value for all rows, by an option
	case f.d.startLine > 0:
		e.Line, e.Column = lineOf(f.d.startLine, f.table.jumps)(row), f.cols[q].field+1
	default:
		e.Text += fmt.Sprintf(" in row %d", row+1)
	}
	return e
}
