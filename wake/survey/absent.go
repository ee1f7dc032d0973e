package survey

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

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
	// fewStill zeros may be the flow's where the nearest other sample has less than
	// this part of the greatest speed.
	fewStill    = 16
	nearlyStill = 0.1
)

// leaveOut leaves out the samples with a value that means none, and says so.
func leaveOut(s *wake.Samples) {
	keep := make([]int32, s.N) // as drop wants it: −1 goes
	gone := 0
	mark := func(is func(i int) bool, code, what, cure string) {
		first, n := -1, 0
		for i := range keep {
			if keep[i] < 0 || !is(i) {
				continue
			}
			if keep[i] = -1; first < 0 {
				first = i
			}
			n++
		}
		if n == 0 {
			return
		}
		gone += n
		where, at := s.File, fmt.Sprintf("the first at (%.4g, %.4g, %.4g) m", s.Col[wake.X][first], s.Col[wake.Y][first], s.Col[wake.Z][first])
		if s.LineOf != nil {
			where += ":" + strconv.Itoa(s.LineOf(first))
		}
		s.Warnings = append(s.Warnings, wake.Warning{Code: code, Where: where, Text: fmt.Sprintf("%d of %d samples left out, %s: %s", n, s.N, at, what), Cure: cure})
	}
	for q := wake.U; q < wake.NumQuantities; q++ {
		col := s.Col[q]
		if col == nil {
			continue
		}
		for {
			x, ok := fill(col, keep, s.Source[q].Factor)
			if !ok {
				break
			}
			mark(func(i int) bool { return col[i] == x }, "missing-value", fmt.Sprintf("%s = %g %s lies far off all other values and is read as no value", q, x, q.Unit()),
				"write nan for a missing value")
		}
	}
	if zero := stillness(s, keep); zero != nil {
		mark(func(i int) bool { return zero[i] }, "no-flow", "velocity and pressures are exactly zero, as inside a body or where a value is missing",
			"export the flow alone, or write nan for a missing value")
	}
	if gone > 0 {
		drop(s, keep)
	}
}

// fill finds the least or the greatest value of a column if it means none. factor
// took the value as written to SI.
func fill(col []float64, keep []int32, factor float64) (float64, bool) {
	// The two least and the two greatest values, each once.
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	var low, high, n int
	for i, x := range col {
		if keep[i] < 0 {
			continue
		}
		n++
		switch {
		case x < lo[0]:
			lo, low = [2]float64{x, lo[0]}, 1
		case x == lo[0]:
			low++
		case x < lo[1]:
			lo[1] = x
		}
		switch {
		case x > hi[0]:
			hi, high = [2]float64{x, hi[0]}, 1
		case x == hi[0]:
			high++
		case x > hi[1]:
			hi[1] = x
		}
	}
	// What is left without the extremes.
	wide := hi[1] - lo[1]
	if !(wide >= 0) {
		return 0, false
	}
	for _, c := range []struct {
		x, gap float64
		n      int
	}{{lo[0], lo[1] - lo[0], low}, {hi[0], hi[0] - hi[1], high}} {
		custom := customary(c.x/factor) && c.gap > fillGap*wide
		if 2*c.n < n && (custom || c.n >= fillRepeats && wide > 0 && c.gap > fillFar*wide) {
			return c.x, true
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
func stillness(s *wake.Samples, keep []int32) []bool {
	if s.Col[wake.U] == nil {
		return nil
	}
	var zero []bool
	told, pressure := 0, false // columns that vary, a pressure among them
	for _, q := range []wake.Quantity{wake.U, wake.V, wake.W, wake.P, wake.Pt, wake.Cp, wake.Cpt} {
		col := s.Col[q]
		if col == nil || isConstant(col) {
			continue
		}
		told++
		pressure = pressure || q >= wake.P
		if zero == nil {
			zero = make([]bool, s.N)
			for i := range zero {
				zero[i] = keep[i] >= 0
			}
		}
		for i, x := range col {
			zero[i] = zero[i] && x == 0
		}
	}
	if told < 2 || !slices.Contains(zero, true) {
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
			if still && len(side) > 1 {
				for _, i := range side {
					zero[i] = false
				}
			}
		}
	}
	return beside(s, zero)
}

// beside takes back the few zeros that a flow may have reached: those whose nearest
// other sample is nearly still. More than fewStill zeros, exact in all that flows, are
// no chance.
func beside(s *wake.Samples, zero []bool) []bool {
	speed := func(i int) (v float64) {
		for _, q := range []wake.Quantity{wake.U, wake.V, wake.W} {
			if s.Col[q] != nil {
				v = math.Hypot(v, s.Col[q][i])
			}
		}
		return v
	}
	var at []int
	fast := 0.0
	for i := range zero {
		if zero[i] {
			at = append(at, i)
		} else {
			fast = max(fast, speed(i))
		}
	}
	if len(at) > fewStill {
		return zero
	}
	for _, i := range at {
		near, least := -1, math.Inf(1)
		for j := range zero {
			d := math.Hypot(math.Hypot(s.Col[wake.X][j]-s.Col[wake.X][i], s.Col[wake.Y][j]-s.Col[wake.Y][i]), s.Col[wake.Z][j]-s.Col[wake.Z][i])
			if !zero[j] && d < least {
				near, least = j, d
			}
		}
		zero[i] = near >= 0 && speed(near) > nearlyStill*fast
	}
	return zero
}
