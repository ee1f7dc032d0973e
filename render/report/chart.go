package report

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Chart is a chart of the page for a picture of its own: its shapes stand in a box of
// Width × Height units, of which a line of plain text is 14 high.
type Chart struct {
	// Name is fit for a file.
	Name, Title, Caption string
	Width, Height        float64
	Shapes               []Shape
}

// figureView is a finished chart.
type figureView struct {
	Title, Caption string
	SVG            template.HTML
	drawing        *drawing
}

// figure finishes a drawing; words say what is seen.
func (d *drawing) figure(title, caption, words string) *figureView {
	return &figureView{title, caption, d.svg(words), d}
}

func (f *figureView) chart(name string) Chart {
	return Chart{Name: name, Title: f.Title, Caption: f.Caption, Width: f.drawing.w, Height: f.drawing.h, Shapes: f.drawing.shapes}
}

// Charts are those of the page, in its order, with that of each station where it has
// one.
func Charts(o *study.Outcome) []Chart {
	var out []Chart
	if f := storyFigure(o); f != nil {
		out = append(out, f.chart("where-the-change-is"))
	}
	for _, f := range newFigures(o) {
		out = append(out, f.chart(strings.ReplaceAll(strings.ToLower(f.Title), " ", "-")))
	}
	for i, st := range o.Stations {
		if f := profileFigure(o, st); f != nil {
			f.Title += ", " + stationTitle(st)
			out = append(out, f.chart(fmt.Sprintf("%02d_profiles", i+1)))
		}
	}
	return out
}

// figureWidth is that of most charts, on a narrow screen they scroll; narrowWidth that of those
// which it shows whole.
const figureWidth, narrowWidth = 900, 450

// newFigures draws the charts of a study that its results allow.
func newFigures(o *study.Outcome) []*figureView {
	return slices.DeleteFunc(slices.Concat(termsFigures(o), regionsFigures(o), forceFigures(o), []*figureView{pathFigure(o), edgeFigure(o)}), func(f *figureView) bool { return f == nil })
}

// row is a line of a chart whose rows have one scale. Nothing is drawn in a heading.
type row struct {
	h                   float64
	class, label, value string
	said                string // what is seen in it, where that is not label and value
	draw                func(d *drawing, s scale1, y float64)
}

// headRow begins a group of rows.
func headRow(label string) row { return row{h: 29, class: "head", label: Shorten(label, 60)} }

// rowChart is how rows are set: below a key, with the labels left of the scale and the values right
// of it.
type rowChart struct {
	title, caption string
	width, top     float64
	scale          scale1
	key            func(d *drawing)
}

// chartHeight is how high a chart gets before the next one is begun: some six pages of rows, and far
// less than a picture can be.
const chartHeight = 6000

// figures draws rows in as many charts as they need.
func (c rowChart) figures(rows []row) (out []*figureView) {
	var head []row
	for len(rows) > 0 {
		n, h := 0, c.top
		for ; n < len(rows) && h < chartHeight; n++ {
			if h += rows[n].h; rows[n].class == "head" {
				head = rows[n : n+1]
			}
		}
		out = append(out, c.figure(rows[:n], h))
		if rows = rows[n:]; len(rows) > 0 && rows[0].class != "head" {
			rows = slices.Concat(head, rows)
		}
	}
	for i, f := range out {
		if len(out) > 1 {
			f.Title += fmt.Sprintf(" %d of %d", i+1, len(out))
		}
	}
	return out
}

func (c rowChart) figure(rows []row, h float64) *figureView {
	d := &drawing{w: c.width, h: h + 34}
	if c.key != nil {
		c.key(d)
	}
	c.scale.ticks(func(at float64, label string) { d.text("tick-label", at, h+18, "middle", label) })
	y, words, group := c.top, "", ""
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
		if r.label != "" {
			d.text(r.class, x, y+r.h/2+5, "start", r.label)
		}
		if r.value != "" {
			d.text("value", c.width-4, y+r.h/2+5, "end", r.value)
			r.said = r.label + ": " + r.value
		}
		if r.said != "" {
			words += group + r.said + ". "
		}
		y += r.h
	}
	return d.figure(c.title, c.caption, words)
}

// legend writes the signs of configurations from x on.
func (d *drawing) legend(o *study.Outcome, which []int, x float64) {
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
func (d *drawing) interval(s scale1, k int, c *compare.Delta, y float64) {
	lo, mid, hi := s.at(c.Interval[0]), s.at(c.DragArea), s.at(c.Interval[1])
	if c.Verdict != uncertainty.NotJudged {
		d.line(series("bar", k), lo, y, hi, y)
		d.mark(k, c.Verdict != uncertainty.Resolved, mid, y)
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
