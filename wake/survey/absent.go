package survey

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
)

// Values that mean none. Loggers, converters and solvers write a number where they
// have no value: -999, 9999, the end of an integer's range (common practice, no source),
// or zero in all that flows, as inside a body. Integrated, each is a wake of its own.
const (
	// fillGap: a value that is written for none by custom lies off all others by this
	// part of their range; fillFar: another one, where it is repeated fillRepeats times
	// exactly, by this many ranges. Values of a flow go over into each other, so that its
	// extremes lie off the others by a small part of the range.
	fillGap     = 0.5
	fillFar     = 10
	fillRepeats = 3
)

// leaveOut leaves out the samples with a value that means none, and says so.
func leaveOut(s *wake.Samples) {
	gone := make([]bool, s.N)
	mark := func(is func(i int) bool, code, what, cure string) {
		first, n := -1, 0
		for i := range gone {
			if gone[i] || !is(i) {
				continue
			}
			if gone[i] = true; first < 0 {
				first = i
			}
			n++
		}
		if n == 0 {
			return
		}
		where, at := s.File, fmt.Sprintf("the first at (%.4g, %.4g, %.4g) m", s.Col[wake.X][first], s.Col[wake.Y][first], s.Col[wake.Z][first])
		if line := s.Line(first); line > 0 {
			where += ":" + strconv.Itoa(line)
		}
		s.Warnings = append(s.Warnings, wake.Doubt(code, where, cure, "%d of %d samples left out, %s: %s", n, s.N, at, what))
	}
	// Mostly there are none, which all columns are searched for side by side.
	var some [wake.NumQuantities]bool
	grid.Parallel(int(wake.NumQuantities-wake.U), func(k int) {
		q := wake.U + wake.Quantity(k)
		_, some[q] = fill(s.Col[q], gone, s.Source[q].Factor)
	})
	for q := wake.U; q < wake.NumQuantities && slices.Contains(some[:], true); q++ {
		col := s.Col[q]
		for x, ok := fill(col, gone, s.Source[q].Factor); ok; x, ok = fill(col, gone, s.Source[q].Factor) {
			mark(func(i int) bool { return col[i] == x }, "missing-value", fmt.Sprintf("%s = %g %s lies far off all other values and is read as no value", q, x, q.Unit()),
				"write nan for a missing value")
		}
	}
	if zero := stillness(s, gone); zero != nil {
		mark(func(i int) bool { return zero[i] }, "no-flow", "velocity and pressures are exactly zero, as inside a body or where a value is missing",
			"export the flow alone, or write nan for a missing value")
	}
	if slices.Contains(gone, true) {
		drop(s, func(i int) bool { return gone[i] })
	}
}

type extreme struct {
	x, next float64
	n       int
}

func (e *extreme) add(v float64) {
	switch {
	case v < e.x:
		*e = extreme{v, e.x, 1}
	case v == e.x:
		e.n++
	default:
		e.next = v
	}
}

// fill finds the least or the greatest value of a column if it means none. factor
// took the value as written to SI.
func fill(col []float64, gone []bool, factor float64) (float64, bool) {
	low, n := extreme{x: math.Inf(1), next: math.Inf(1)}, 0
	high := low // of the negative values
	for i, v := range col {
		if gone[i] {
			continue
		}
		n++
		if v <= low.next {
			low.add(v)
		}
		if -v <= high.next {
			high.add(-v)
		}
	}
	high.x, high.next = -high.x, -high.next
	wide := high.next - low.next // what is left without the extremes
	if !(wide >= 0) {
		return 0, false
	}
	for _, e := range []extreme{low, high} {
		gap := math.Abs(e.next - e.x)
		custom := customary(e.x/factor) && gap > fillGap*wide
		if 2*e.n < n && (custom || e.n >= fillRepeats && wide > 0 && gap > fillFar*wide) {
			return e.x, true
		}
	}
	return 0, false
}

// customary reports whether a number is one that is written for no value: three
// nines or more and nothing else, the end of an integer's range, or 1e10 and beyond.
func customary(x float64) bool {
	x = math.Abs(x)
	switch x {
	case 1<<15 - 1, 1 << 15, 1<<31 - 1, 1 << 31:
		return true
	}
	// Single precision keeps seven digits.
	text := strings.TrimRight(strings.Replace(strconv.FormatFloat(x, 'f', -1, 32), ".", "", 1), "0")
	return x >= 1e10 || len(text) >= 3 && strings.Trim(text, "9") == ""
}

// stillness marks the samples where all that flows is exactly zero; nil for none. Where no
// pressure tells a wall from a missing value, a side of the window that is zero as a
// whole is a wall.
func stillness(s *wake.Samples, gone []bool) []bool {
	zero := grid.Fill(s.N, func(i int) bool { return !gone[i] })
	told, pressure := 0, false // columns that vary, a pressure among them
	for _, q := range []wake.Quantity{wake.U, wake.V, wake.W, wake.P, wake.Pt, wake.Cp, wake.Cpt} {
		col := s.Col[q]
		if col == nil || isConstant(col) {
			continue
		}
		told++
		pressure = pressure || q >= wake.P
		some := false
		for i, x := range col {
			zero[i] = zero[i] && x == 0
			some = some || zero[i]
		}
		if !some {
			return nil
		}
	}
	if s.Col[wake.U] == nil || told < 2 {
		return nil
	}
	for q := wake.X; q <= wake.Z && !pressure; q++ {
		col := s.Col[q]
		for _, end := range []float64{slices.Min(col), slices.Max(col)} {
			var side []int
			still := true
			for i, x := range col {
				if x == end {
					side = append(side, i)
					still = still && zero[i]
				}
			}
			for _, i := range side {
				zero[i] = zero[i] && !(still && len(side) > 1)
			}
		}
	}
	return zero
}
