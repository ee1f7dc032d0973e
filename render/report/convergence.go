package report

import (
	"fmt"
	"math"
)

// Convergence shows how a time mean settles: values in their order, the mean of the
// first k of them, and the mean of all with its expanded uncertainty, nil where that is
// not known. step is the time from one to the next, s, nil where it is not known. The
// chart has no shapes where there are fewer than two values or one is not finite.
func Convergence(name string, values, running []float64, mean float64, expanded, step *float64) Chart {
	c := Chart{Title: "Time mean of the drag area, " + clean(name)}
	n := len(values)
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, v := range values {
		if i >= len(running) || v-v != 0 || running[i]-running[i] != 0 {
			return c
		}
		lo, hi = min(lo, v), max(hi, v)
	}
	if n < 2 {
		return c
	}
	unit, x := 1.0, "snapshots averaged"
	if step != nil {
		unit, x = *step, "time averaged, s"
	}
	const left, right, top, bottom = 80.0, 880.0, 66.0, 330.0
	d := &drawing{w: figureWidth, h: bottom + 44}
	xs := scale1{0, float64(n) * unit, tickStep(float64(n) * unit / 8), left, right}
	ys := newScale1(lo, hi, 6, bottom, top)
	if e := expanded; e != nil {
		a, b := ys.at(min(mean+*e, ys.hi)), ys.at(max(mean-*e, ys.lo))
		d.rect("band", left, a, right, b)
		d.rect("band", left+300, 6, left+314, 20)
		d.text("", left+320, 18, "start", "mean of all ± expanded uncertainty")
	}
	ys.ticks(plainTick, func(at float64, text string) {
		d.line("tick", left, at, right, at)
		d.text("tick-label end", left-8, at+5, "end", text)
	})
	xs.ticks(plainTick, func(at float64, text string) {
		d.line("tick", at, top, at, bottom)
		d.text("tick-label", at, bottom+18, "middle", text)
	})
	d.text("tick-label", (left+right)/2, bottom+38, "middle", x)
	d.text("head", left, top-10, "start", "drag area, m²")
	at := func(k int, v float64) [2]float64 { return [2]float64{xs.at(float64(k+1) * unit), ys.at(v)} }
	var one, run [][2]float64
	for k := range values {
		one, run = append(one, at(k, values[k])), append(run, at(k, running[k]))
	}
	d.path("value-line", one)
	d.line("zero", left, ys.at(mean), right, ys.at(mean))
	d.path("curve s1 solid", run)
	d.path("value-line", [][2]float64{{left, 13}, {left + 24, 13}})
	d.text("", left+32, 18, "start", "each")
	d.path("curve s1 solid", [][2]float64{{left + 90, 13}, {left + 114, 13}})
	d.text("", left+122, 18, "start", "mean of those so far")
	c.Width, c.Height, c.Shapes = d.w, d.h, d.shapes
	c.Caption = fmt.Sprintf("%s values, mean %s m². Where the running mean still leaves the band toward the end, the record is too short.", thousands(n), fixed(mean, 4))
	if expanded != nil {
		c.Caption = fmt.Sprintf("%s values, mean %s. Where the running mean still leaves the band toward the end, the record is too short.", thousands(n), plusMinus(mean, *expanded, areaDecimals, "m²"))
	}
	return c
}
