package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// drawing collects the elements of an inline SVG. Colours and strokes are classes
// of the page's style, so that charts follow it into the dark and onto paper.
type drawing struct {
	b    strings.Builder
	w, h float64
	// shapes are the same elements for a picture of the chart.
	shapes []Shape
}

// Shape is an element of a chart: a line through Points, a filled outline where
// Filled, a disc of radius R about the one point, or a text at it.
type Shape struct {
	// Class is that of the page's style, one or more words.
	Class  string
	Points [][2]float64
	Filled bool
	R      float64
	// Text and its Anchor: start, middle or end.
	Text, Anchor string
}

func place1(x float64) string {
	s := strconv.FormatFloat(x, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(&d.b, `<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`, class, place1(x1), place1(y1), place1(x2), place1(y2))
	d.shapes = append(d.shapes, Shape{Class: class, Points: [][2]float64{{x1, y1}, {x2, y2}}})
}

func (d *drawing) rect(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(&d.b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, place1(min(x1, x2)), place1(min(y1, y2)), place1(math.Abs(x2-x1)), place1(math.Abs(y2-y1)))
	d.shapes = append(d.shapes, Shape{Class: class, Points: [][2]float64{{x1, y1}, {x2, y1}, {x2, y2}, {x1, y2}}, Filled: true})
}

// text writes s; anchor is start, middle or end.
func (d *drawing) text(class string, x, y float64, anchor, s string) {
	fmt.Fprintf(&d.b, `<text class="%s" x="%s" y="%s" text-anchor="%s">%s</text>`, class, place1(x), place1(y), anchor, html.EscapeString(clean(s)))
	d.shapes = append(d.shapes, Shape{Class: class, Points: [][2]float64{{x, y}}, Text: clean(s), Anchor: anchor})
}

// path joins points; NaN breaks it.
func (d *drawing) path(class string, pts [][2]float64) {
	var p strings.Builder
	pen := "M"
	var run [][2]float64
	flush := func() {
		if len(run) > 1 {
			d.shapes = append(d.shapes, Shape{Class: class, Points: run})
		}
		run = nil
	}
	for _, q := range pts {
		if q[0]-q[0] != 0 || q[1]-q[1] != 0 {
			pen = "M"
			flush()
			continue
		}
		p.WriteString(pen + place1(q[0]) + " " + place1(q[1]))
		pen = "L"
		run = append(run, q)
	}
	flush()
	fmt.Fprintf(&d.b, `<path class="%s" d="%s"/>`, class, p.String())
}

// area fills the outline through points.
func (d *drawing) area(class string, pts [][2]float64) {
	var p strings.Builder
	pen := "M"
	for _, q := range pts {
		p.WriteString(pen + place1(q[0]) + " " + place1(q[1]))
		pen = "L"
	}
	fmt.Fprintf(&d.b, `<path class="%s" d="%sz"/>`, class, p.String())
	d.shapes = append(d.shapes, Shape{Class: class, Points: pts, Filled: true})
}

func (d *drawing) disc(class string, x, y, r float64) {
	fmt.Fprintf(&d.b, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, place1(x), place1(y), place1(r))
	d.shapes = append(d.shapes, Shape{Class: class, Points: [][2]float64{{x, y}}, Filled: true, R: r})
}

// mark sets the sign of configuration k: a disc, a square, a diamond, a triangle,
// in turn, so that colour is not needed to tell them apart.
func (d *drawing) mark(k int, open bool, x, y float64) {
	class := fmt.Sprintf("mark s%d", k%seriesClasses)
	if open {
		class += " open"
	}
	const r = 5.0
	switch k % 4 {
	case 0:
		d.disc(class, x, y, 4.6)
	case 1:
		d.rect(class, x-r+.6, y-r+.6, x+r-.6, y+r-.6)
	case 2:
		d.area(class, [][2]float64{{x, y - 6}, {x + 6, y}, {x, y + 6}, {x - 6, y}})
	default:
		d.area(class, [][2]float64{{x, y - 6}, {x + 6, y + 4}, {x - 6, y + 4}})
	}
}

// seriesClasses is how many colours the style has for configurations.
const seriesClasses = 6

// svg finishes the drawing; words say what is seen.
func (d *drawing) svg(words string) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-label="%s">%s</svg>`,
		place1(d.w), place1(d.h), place1(d.w), place1(d.h), html.EscapeString(clean(words)), d.b.String()))
}

// scale1 maps lo…hi to the places a…b of a drawing, with limits at ticks.
type scale1 struct{ lo, hi, step, a, b float64 }

// newScale1 widens the limits to multiples of a 1-2-5 step with about n steps.
// Limits that do not differ are given room.
func newScale1(lo, hi float64, n int, a, b float64) scale1 {
	if !(hi > lo) {
		d := max(math.Abs(lo)*0.1, 1e-6)
		lo, hi = lo-d, hi+d
	}
	step := tickStep((hi - lo) / float64(n))
	return scale1{step * math.Floor(lo/step+1e-9), step * math.Ceil(hi/step-1e-9), step, a, b}
}

func (s scale1) at(x float64) float64 { return s.a + (s.b-s.a)*(x-s.lo)/(s.hi-s.lo) }

// ticks calls f for each multiple of the step within the limits, with its text.
func (s scale1) ticks(text func(x, step float64) string, f func(at float64, label string)) {
	for k := math.Ceil(s.lo/s.step - 1e-9); k <= math.Floor(s.hi/s.step+1e-9); k++ {
		f(s.at(k*s.step), text(k*s.step, s.step))
	}
}

// plainTick is tickLabel without a plus sign.
func plainTick(x, step float64) string { return strings.TrimPrefix(tickLabel(x, step), "+") }
