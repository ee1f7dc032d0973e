package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// Chart is a chart of the page, and for a picture of its own: its shapes stand in a box of
// Width × Height units, of which a line of plain text is 14 high. Colours and strokes are classes
// of the page's style, so that charts follow it into the dark and onto paper.
type Chart struct {
	// Name is fit for a file.
	Name, Title, Caption string
	Width, Height        float64
	Shapes               []Shape
	words                string // what is seen
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

func (d *Chart) path(class string, pts ...[2]float64) {
	d.Shapes = append(d.Shapes, Shape{Class: class, Points: pts})
}

func (d *Chart) line(class string, x1, y1, x2, y2 float64) {
	d.path(class, [2]float64{x1, y1}, [2]float64{x2, y2})
}

// area fills the outline through points.
func (d *Chart) area(class string, pts ...[2]float64) {
	d.Shapes = append(d.Shapes, Shape{Class: class, Points: pts, Filled: true})
}

func (d *Chart) rect(class string, x1, y1, x2, y2 float64) {
	d.area(class, [2]float64{x1, y1}, [2]float64{x2, y1}, [2]float64{x2, y2}, [2]float64{x1, y2})
}

func (d *Chart) disc(class string, x, y, r float64) {
	d.Shapes = append(d.Shapes, Shape{Class: class, Points: [][2]float64{{x, y}}, Filled: true, R: r})
}

// text writes s, if there is any; anchor is start, middle or end.
func (d *Chart) text(class string, x, y float64, anchor, s string) {
	if s != "" {
		d.Shapes = append(d.Shapes, Shape{Class: class, Points: [][2]float64{{x, y}}, Text: clean(s), Anchor: anchor})
	}
}

// mark sets the sign of configuration k: a disc, a square, a diamond, a triangle,
// in turn, so that colour is not needed to tell them apart.
func (d *Chart) mark(k int, open bool, x, y float64) {
	class := series("mark", k)
	if open {
		class += " open"
	}
	switch k % 4 {
	case 0:
		d.disc(class, x, y, 4.6)
	case 1:
		d.rect(class, x-4.4, y-4.4, x+4.4, y+4.4)
	case 2:
		d.area(class, [2]float64{x, y - 6}, [2]float64{x + 6, y}, [2]float64{x, y + 6}, [2]float64{x - 6, y})
	default:
		d.area(class, [2]float64{x, y - 6}, [2]float64{x + 6, y + 4}, [2]float64{x - 6, y + 4})
	}
}

// series is a class in the colour of configuration k, of which the style has six.
func series(class string, k int) string { return fmt.Sprintf("%s s%d", class, k%6) }

// Narrow tells a chart that a narrow screen shows whole.
func (d *Chart) Narrow() bool { return d.Width == narrowWidth }

// SVG writes the shapes.
func (d *Chart) SVG() template.HTML {
	place := func(x float64) string {
		return strings.TrimSuffix(strconv.FormatFloat(x, 'f', 1, 64), ".0")
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %s %s" width="%[1]s" height="%[2]s" role="img" aria-label="%s">`, place(d.Width), place(d.Height), html.EscapeString(clean(d.words)))
	for _, s := range d.Shapes {
		x, y := place(s.Points[0][0]), place(s.Points[0][1])
		switch {
		case s.Text != "":
			fmt.Fprintf(&b, `<text class="%s" x="%s" y="%s" text-anchor="%s">%s</text>`, s.Class, x, y, s.Anchor, html.EscapeString(s.Text))
		case s.R > 0:
			fmt.Fprintf(&b, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, s.Class, x, y, place(s.R))
		default:
			fmt.Fprintf(&b, `<path class="%s" d="M%s %s`, s.Class, x, y)
			for _, p := range s.Points[1:] {
				b.WriteString("L" + place(p[0]) + " " + place(p[1]))
			}
			b.WriteString(map[bool]string{true: "z"}[s.Filled] + `"/>`)
		}
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// scale1 maps lo…hi to the places a…b of a drawing, with ticks at multiples of step.
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

// inside is the place of x, or the end of the scale that it lies beyond.
func (s scale1) inside(x float64) float64 { return s.at(min(max(x, s.lo), s.hi)) }

// ticks calls f for each multiple of the step within the limits, with its text.
func (s scale1) ticks(f func(at float64, label string)) {
	for k := math.Ceil(s.lo/s.step - 1e-9); k <= math.Floor(s.hi/s.step+1e-9); k++ {
		f(s.at(k*s.step), tickLabel(k*s.step, s.step))
	}
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
	if math.Abs(x) < step/2 {
		return "0"
	}
	return fixed(x, min(max(0, int(-math.Floor(math.Log10(step)+1e-9))), maxDecimals))
}

// axes draws the grid of a panel between two scales, with the numbers of the upright one and, where it has a label,
// those of the level one.
func (d *Chart) axes(x, y scale1, label string) {
	x.ticks(func(at float64, number string) {
		d.line("tick", at, y.b, at, y.a)
		if label != "" {
			d.text("tick-label", at, y.a+18, "middle", number)
		}
	})
	y.ticks(func(at float64, number string) {
		d.line("tick", x.a, at, x.b, at)
		d.text("tick-label end", x.a-8, at+5, "end", number)
	})
	d.text("tick-label", (x.a+x.b)/2, y.a+38, "middle", label)
}
