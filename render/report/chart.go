package report

import (
	"fmt"
	"slices"
	"strings"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Charts are those of the page, in its order, with that of each station where it has
// one, and with their names.
func Charts(o *study.Outcome) []*Chart {
	out := newFigures(o)
	for _, f := range out {
		f.Name = strings.ReplaceAll(strings.ToLower(f.Title), " ", "-")
	}
	for i, st := range o.Stations {
		if f := profileFigure(o, st); f != nil {
			f.Name, f.Title = fmt.Sprintf("%02d_profiles", i+1), f.Title+", "+stationTitle(st)
			out = append(out, f)
		}
	}
	return out
}

// figureWidth is that of most charts, on a narrow screen they scroll; narrowWidth that of the one
// which it shows whole.
const figureWidth, narrowWidth = 900, 450

// newFigures draws the charts of a study that its results allow, first where the change is.
func newFigures(o *study.Outcome) []*Chart {
	all := []*Chart{storyFigure(o), termsFigure(o), regionsFigure(o), forceFigure(o), pathFigure(o), edgeFigure(o)}
	return slices.DeleteFunc(all, func(f *Chart) bool { return f == nil })
}

// row is a line of a chart whose rows have one scale. Nothing is drawn in a heading.
type row struct {
	h                   float64
	class, label, value string
	said                string // what is seen in it, where that is not label and value
	draw                func(d *Chart, s scale1, y float64)
}

// headRow begins a group of rows.
func headRow(label string) row { return row{h: 29, class: "head", label: Shorten(label, 60)} }

// rowChart is how rows are set: below a key, with the labels left of the scale and the values right
// of it.
type rowChart struct {
	title, caption string
	width          float64
	scale          scale1
	key            func(d *Chart)
}

// keyHeight is that of the key.
const keyHeight = 34

func (c rowChart) figure(rows []row) *Chart {
	h := float64(keyHeight)
	for _, r := range rows {
		h += r.h
	}
	d := &Chart{Title: c.title, Caption: c.caption, Width: c.width, Height: h + 34}
	c.key(d)
	c.scale.ticks(func(at float64, label string) { d.text("tick-label", at, h+18, "middle", label) })
	y, group := float64(keyHeight), ""
	for _, r := range rows {
		x := 0.0
		if r.draw != nil {
			c.scale.ticks(func(at float64, _ string) { d.line("tick", at, y, at, y+r.h) })
			r.draw(d, c.scale, y+r.h/2)
			if zero := c.scale.at(0); c.scale.lo <= 0 && c.scale.hi >= 0 {
				d.line("zero", zero, y, zero, y+r.h)
			}
			x = 16
		}
		if r.class == "head" {
			group = r.label + ", "
		}
		d.text(r.class, x, y+r.h/2+5, "start", r.label)
		if r.value != "" {
			d.text("value", c.width-4, y+r.h/2+5, "end", r.value)
			r.said = r.label + ": " + r.value
		}
		if r.said != "" {
			d.words += group + r.said + ". "
		}
		y += r.h
	}
	return d
}

// legend writes the signs of configurations from x on.
func (d *Chart) legend(o *study.Outcome, which []int, x float64) {
	slices.Sort(which)
	for _, k := range slices.Compact(which) {
		d.mark(k, false, x, 14)
		name := Shorten(clean(o.Configurations[k].Name), 28)
		d.text("", x+11, 19, "start", name)
		x += 38 + 7.8*float64(textWidth(name))
	}
}

func configurationIndex(o *study.Outcome, name string) int {
	return slices.IndexFunc(o.Configurations, func(c study.ConfigurationOutcome) bool { return c.Name == name })
}

// signsWords say what the signs of intervals mean.
const signsWords = "A full sign: resolved. A hollow one: not resolved. A hollow one with a dot, on a broken line with open ends: not judged, since a category of errors is missing and the ± is that at least."

// interval draws a change with its interval and the sign of its verdict.
func (d *Chart) interval(s scale1, c change, y float64) {
	k, lo, mid, hi := c.configuration, s.at(c.lo), s.at(c.delta), s.at(c.hi)
	if c.verdict != uncertainty.NotJudged {
		d.line(series("bar", k), lo, y, hi, y)
		d.mark(k, c.verdict != uncertainty.Resolved, mid, y)
		return
	}
	d.line(series("bar least", k), lo, y, hi, y)
	// The ends are seen beside the sign, however short the line is.
	for _, end := range [][2]float64{{min(lo, mid-11), 4}, {max(hi, mid+11), -4}} {
		d.path(series("open-end", k), [2]float64{end[0] + end[1], y - 4}, [2]float64{end[0], y}, [2]float64{end[0] + end[1], y + 4})
	}
	d.mark(k, true, mid, y)
	d.disc(series("dot", k), mid, y, 1.8)
}
