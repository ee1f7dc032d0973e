package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wakeledger/wake/survey/rake"
)

// RakeCharts show a log of a rake: its tubes row by row, where there is one, and where the samples
// lie. name is that of the log.
func RakeCharts(r *rake.Result, name string) (out []*Chart) {
	add := func(d *Chart, name, what, caption string) {
		d.Name, d.Title, d.Caption = name, clean(cmp.Or(r.Title, "Rake survey"))+": "+what, caption
		out = append(out, d)
	}
	if len(r.Tubes) > 0 && len(r.WindOff) > 1 {
		add(tubesChart(r.Tubes, r.WindOff), "tubes", "tubes as read", clean(name)+", zeros subtracted: (pressure − p_ref)/q, each row over its own dynamic pressure. A tube that does not follow its neighbours is judged by three tests: response to the wind, spread and lag, distance from the median of its neighbours.")
	}
	add(positionsChart(r), "positions", "positions", fmt.Sprintf("%s: %d positions of the rake, %d of them repeated; %d samples kept, %d readings missing or left out",
		clean(name), r.Rows.Places, r.Rows.Repeated, r.Counts.Kept, r.Counts.Missing+r.Counts.Outside))
	return out
}

// sample is a sign of the key with what it means.
type sample struct {
	words string
	draw  func(x, y float64)
}

// key writes samples from the left.
func (d *Chart) key(samples []sample) {
	x := 8.0
	for _, s := range samples {
		s.draw(x, 14)
		d.text("", x+30, 19, "start", s.words)
		x += 52 + 7.8*float64(textWidth(s.words))
	}
}

// tubesChart sets the tubes below one another, on one scale, each over the median of its neighbours.
func tubesChart(tubes []rake.TubeReport, off []bool) *Chart {
	const left, right, top, high, pitch = 50.0, 790.0, 40.0, 46.0, 54.0
	var lo, hi float64
	for _, s := range tubes {
		for _, v := range s.Values {
			if v-v == 0 {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	if !(hi > lo) {
		hi = lo + 1
	}
	d := &Chart{Width: figureWidth, Height: top + pitch*float64(len(tubes)) + 40}
	line := func(class string) func(x, y float64) {
		return func(x, y float64) { d.line(class, x, y, x+24, y) }
	}
	const tube, fault, around = "curve solid s1", "curve solid s2", "around"
	key := []sample{{"tube", line(tube)}, {"median of up to four neighbours", line(around)}, {"wind off", func(x, y float64) { d.rect("shade", x, y-7, x+24, y+7) }}}
	if slices.ContainsFunc(tubes, func(s rake.TubeReport) bool { return s.State != "good" }) {
		key = append(key, sample{"at fault or doubtful", line(fault)})
	}
	d.key(key)
	rows := float64(len(off))
	x := scale1{1, rows, tickStep(max(rows/8, 1)), left, right}
	for k, s := range tubes {
		from := top + pitch*float64(k)
		y := scale1{lo - (hi-lo)/20, hi + (hi-lo)/20, tickStep((hi - lo) / 2), from + high, from}
		for i, b := range off {
			if b {
				d.rect("shade", x.inside(float64(i)+0.5), from, x.inside(float64(i)+1.5)+0.5, from+high)
			}
		}
		label, class, note := "", tube, ""
		if k == len(tubes)-1 {
			label = "row of the log"
		}
		if s.State != "good" {
			class, note = fault, s.State
		}
		d.axes(x, y, label)
		d.runs(around, s.Around, x, y)
		d.runs(class, s.Values, x, y)
		d.text("head", right+12, from+high/2, "start", Shorten(s.Name, 12))
		d.text("", right+12, from+high/2+16, "start", Shorten(note, 14))
	}
	return d
}

// runs draws values over 1, 2, 3, … as lines that break where one is not finite.
func (d *Chart) runs(class string, values []float64, x, y scale1) {
	var run [][2]float64
	for i := range len(values) + 1 {
		if i < len(values) && values[i]-values[i] == 0 {
			run = append(run, [2]float64{x.at(float64(i + 1)), y.inside(values[i])})
			continue
		}
		if len(run) == 1 { // a value alone
			run = append(run, [2]float64{run[0][0] + 2, run[0][1]})
		}
		if run != nil {
			d.path(class, run...)
		}
		run = nil
	}
}

// positionsChart shows how the samples lie, with one scale for both axes: several lines, which lie
// one behind the other, as seen from above.
func positionsChart(r *rake.Result) *Chart {
	const left, wide, top, high, kinds = 60.0, 820.0, 56.0, 560.0, 4
	labels, lines := [2]string{"y, m (to the vehicle's right)", "z, m"}, r.Kind == "line" && len(r.Lines) > 1
	if lines {
		labels = [2]string{"x, m (aft)", labels[0]}
	}
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	var places [kinds][][2]float64
	for _, s := range r.Samples {
		at := [2]float64{s.Y, s.Z}
		if lines {
			at = [2]float64{s.X, s.Y}
		}
		kind := map[string]int{"reversed": 2, "filled": 3}[s.State]
		if kind == 0 && s.Readings > 1 {
			kind = 1
		}
		places[kind] = append(places[kind], at)
		for k, v := range at {
			lo[k], hi[k] = min(lo[k], v), max(hi[k], v)
		}
	}
	if !lines && lo[1] < 0.2*(hi[1]-lo[1]) {
		lo[1] = min(lo[1], 0) // the ground
	}
	n, size := float64(len(r.Samples)), [2]float64{hi[0] - lo[0], hi[1] - lo[1]}
	spacing := max(math.Sqrt(size[0]*size[1]/n), max(size[0], size[1])/n)
	pad := cmp.Or(max(size[0], size[1])*0.04, 0.1)
	unit := min(wide/(size[0]+2*pad), high/(size[1]+2*pad))
	var axis [2]scale1
	for k, from := range [2]float64{left, top + (size[1]+2*pad)*unit} {
		axis[k] = scale1{lo[k] - pad, hi[k] + pad, tickStep((max(size[0], size[1]) + 2*pad) / 10), from, from + (size[k]+2*pad)*unit}
	}
	x, y := axis[0], axis[1]
	y.b = top
	d := &Chart{Width: figureWidth, Height: y.a + 48}
	d.axes(x, y, labels[0])
	d.text("tick-label", 2, top-6, "start", labels[1])
	if !lines && y.lo <= 0 {
		d.line("zero", x.a, y.at(0), x.b, y.at(0))
	}
	sign := func(kind int, x, y, r float64) {
		switch kind {
		case 0:
			d.disc("dot s1", x, y, r)
		case 1:
			d.disc("mark open s2", x, y, 1.2*r)
		case 2:
			d.line("bar s5", x-r, y-r, x+r, y+r)
			d.line("bar s5", x-r, y+r, x+r, y-r)
		case 3:
			d.rect("mark open s4", x-r, y-r, x+r, y+r)
		}
	}
	var key []sample
	for kind, at := range places {
		for _, p := range at {
			sign(kind, x.at(p[0]), y.at(p[1]), max(1.5, min(4.5, 0.3*spacing*unit)))
		}
		if len(at) > 0 {
			words := [kinds]string{"measured once", "measured more than once", "reversed or across the tube", "filled from neighbours"}[kind]
			key = append(key, sample{words, func(x, y float64) { sign(kind, x+12, y, 4.5) }})
		}
	}
	d.key(key)
	return d
}
