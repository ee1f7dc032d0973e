package report

import (
	"fmt"
	"math"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// changesWidth is that of a chart which a narrow screen shows whole.
const changesWidth = figureWidth / 2

// changesFigure draws the changes of drag area with their intervals, one line for each station and
// variant, over a common scale with zero in it; nil when there is no change to draw.
func changesFigure(o *study.Outcome) *figureView {
	type change struct {
		label         string
		configuration int
		d             *compare.Delta
	}
	var changes []change
	lo, hi := 0.0, 0.0
	for _, st := range stationsInOrder(o) {
		if st.Comparison == nil {
			continue
		}
		names := stationNames(o, st)
		for i, v := range st.Comparison.Variants {
			if d := v.Delta; d != nil && i < len(st.Variants) {
				changes = append(changes, change{names[i+1] + ", " + clean(st.Name), configurationIndex(o, st.Variants[i]), d})
				lo, hi = min(lo, d.Interval[0], d.DragArea), max(hi, d.Interval[1], d.DragArea)
			}
		}
	}
	if len(changes) == 0 || !(hi > lo) {
		return nil
	}
	const row, bar = 40.0, 28.0
	d := &drawing{w: changesWidth, h: row*float64(len(changes)) + 28}
	s := newScale1(lo, hi, 5, 24, changesWidth-24)
	words := ""
	for i, x := range changes {
		y := row * float64(i)
		s.ticks(tickLabel, func(at float64, label string) {
			d.line("tick", at, y+bar-9, at, y+bar+9)
			if i == len(changes)-1 {
				d.text("tick-label", at, y+row+16, "middle", label)
			}
		})
		d.line("zero", s.at(0), y+bar-9, s.at(0), y+bar+9)
		value := share{delta: x.d.DragArea, expanded: x.d.Expanded, atLeast: x.d.Verdict == uncertainty.NotJudged}.amount(decimalsFor(x.d.Expanded, areaDecimals))
		d.text("", 0, y+14, "start", Shorten(x.label, 32))
		d.text("value", changesWidth, y+14, "end", value)
		d.interval(s, max(x.configuration, 0), x.d, y+bar)
		words += x.label + ": " + value + ". "
	}
	f := d.figure("Changes of drag", "Change of drag area against the baseline, m², with its interval of 95 % coverage. "+signsWords, words)
	f.SVG = `<div class="narrow">` + f.SVG + `</div>`
	return f
}

// signsWords say what the signs of intervals mean.
const signsWords = "A full sign: resolved. A hollow one: not resolved. A hollow one with a dot, on a broken line with open ends: not judged, since a category of errors is missing and the ± is that at least."

// interval draws a change with its interval and the sign of its verdict.
func (d *drawing) interval(s scale1, k int, c *compare.Delta, y float64) {
	series := fmt.Sprintf(" s%d", k%seriesClasses)
	lo, mid, hi := s.at(c.Interval[0]), s.at(c.DragArea), s.at(c.Interval[1])
	if c.Verdict != uncertainty.NotJudged {
		d.line("bar"+series, lo, y, hi, y)
		d.mark(k, c.Verdict != uncertainty.Resolved, mid, y)
		return
	}
	d.line("bar least"+series, lo, y, hi, y)
	// The ends are seen beside the sign, however short the line is.
	for _, end := range [][2]float64{{min(lo, mid-11), 4}, {max(hi, mid+11), -4}} {
		d.line("open-end"+series, end[0]+end[1], y-4, end[0], y)
		d.line("open-end"+series, end[0]+end[1], y+4, end[0], y)
	}
	d.mark(k, true, mid, y)
	d.disc("dot"+series, mid, y, 1.8)
}

// tickStep returns the 1-2-5 step that is the least one not below x; x > 0.
func tickStep(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x {
			return m * p
		}
	}
	return 10 * p
}

// tickLabel prints a multiple of step with the decimals that step needs.
func tickLabel(x, step float64) string {
	d := min(max(0, int(-math.Floor(math.Log10(step)+1e-9))), maxDecimals)
	if math.Abs(x) < step/2 {
		return "0"
	}
	return signed(x, d)
}
