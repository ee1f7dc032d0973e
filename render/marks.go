package render

import (
	"cmp"
	"fmt"
	"image"
	"image/color"
	"math"
	"strings"

	"github.com/fogleman/gg"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

// NamedBox is a region. Limits beyond the picture, infinite ones too, are cut.
type NamedBox struct {
	Name string
	Box  grid.Box
}

// Marker is a point such as a centroid: a disc, or a ring when Open. Name goes to
// the legend, once for all markers that share it.
type Marker struct {
	At   grid.Point
	Name string
	Open bool
}

// Outline is a set of lines such as the border of a wake.
type Outline struct {
	Lines []isoline.Line
	Name  string
	Style Style
}

// Style is how lines are drawn.
type Style int

// The styles of lines: of a wake, of that of the baseline beside it, of the vehicle's
// silhouette, of the spread about a centroid.
const (
	Wake Style = iota
	Baseline
	Silhouette
	Spread
	region
)

// styles have the widths of stroke and halo: an em over per and over edge, but no less than
// least and 1.
var styles = [...]struct {
	c                color.RGBA
	alpha            float64
	per, least, edge float64
	dash             []float64 // in ems
}{
	Wake:       {markInk, 1, 7, 1.5, 14, nil},
	Baseline:   {markInk, 1, 7, 1.5, 14, []float64{0.6, 0.35}},
	Silhouette: {color.RGBA{70, 74, 80, 255}, 1, 7, 1.5, 14, nil},
	Spread:     {markInk, 1, 11, 1, 14, []float64{0.15, 0.25}},
	region:     {markInk, 0.9, 12, 1, 12, nil},
}

func (s Style) ink(em float64) ink {
	t := styles[s]
	k := ink{c: t.c, halo: markHalo, alpha: t.alpha, width: max(t.least, em/t.per), edge: max(1, em/t.edge)}
	for _, l := range t.dash {
		k.dash = append(k.dash, l*em)
	}
	return k
}

// Ellipse is the outline of a spread: semi are its half axes, the first turned by tilt
// degrees from X toward Y.
func Ellipse(centre grid.Point, semi [2]float64, tilt float64, name string) Outline {
	line := isoline.Line{Points: make([]grid.Point, 120), Closed: true}
	st, ct := math.Sincos(tilt * math.Pi / 180)
	for i := range line.Points {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(len(line.Points)))
		u, v := semi[0]*c, semi[1]*s
		line.Points[i] = grid.Point{X: centre.X + u*ct - v*st, Y: centre.Y + u*st + v*ct}
	}
	return Outline{Lines: []isoline.Line{line}, Name: name, Style: Spread}
}

// Arrow shows a shift, with a text such as "24 mm inboard". Magnify, if more than 1, is how
// much longer than true it is drawn, which the legend says.
type Arrow struct {
	From, To grid.Point
	Text     string
	Magnify  int
	// Open draws the shaft broken and the head hollow: a shift that is not resolved.
	Open bool
}

// name is the arrow's in the legend, empty where it needs none.
func (a Arrow) name() string {
	s := ""
	if a.Open {
		s = "shift not resolved"
	}
	if a.Magnify > 1 {
		return fmt.Sprintf("%s (arrow ×%d)", cmp.Or(s, "shift"), a.Magnify)
	}
	return s
}

func (d *painter) outline(o Outline) { d.strokes(o.Lines, o.Style.ink(d.em)) }

// shown is the part of a region that the picture shows, in pixels.
func (d *painter) shown(b NamedBox) (frame, bool) {
	c := b.Box.Intersect(d.box)
	if c.Empty() {
		return frame{}, false
	}
	lo, hi := d.at(grid.Point{X: c.Min.X, Y: c.Max.Y}), d.at(grid.Point{X: c.Max.X, Y: c.Min.Y})
	return frame{lo.x, lo.y, hi.x, hi.y}, true
}

func (d *painter) boxLines(b NamedBox) {
	if f, ok := d.shown(b); ok {
		d.stroke([]pt{{f.x0, f.y0}, {f.x1, f.y0}, {f.x1, f.y1}, {f.x0, f.y1}}, true, region.ink(d.em))
	}
}

// boxName writes the name on a plate: in a corner of the region if it fits there,
// else outside, as near as there is room.
func (d *painter) boxName(b NamedBox) {
	f, ok := d.shown(b)
	if !ok || strings.TrimSpace(b.Name) == "" {
		return
	}
	pad := math.Round(0.3 * d.em)
	w, h := float64(d.bold.width(b.Name))+2*pad, float64(d.bold.caps)+2*pad
	gap := max(2, d.em/6)
	inside := []pt{{f.x0 + gap, f.y0 + gap}, {f.x1 - w - gap, f.y0 + gap}, {f.x0 + gap, f.y1 - h - gap}, {f.x1 - w - gap, f.y1 - h - gap}}
	outside := []pt{{f.x0, f.y0 - h - gap}, {f.x1 - w, f.y0 - h - gap}, {f.x0, f.y1 + gap}, {f.x1 - w, f.y1 + gap}, {f.x1 + gap, f.y0}, {f.x0 - w - gap, f.y0}}
	want := append(inside, outside...)
	if w+2*gap > f.x1-f.x0 || h+2*gap > f.y1-f.y0 {
		want = outside
	}
	d.plate(b.Name, d.bold, w, h, pad, want)
}

// plate writes a text on a light ground, at the first free of the wanted places.
// When the whole panel is taken the text is left out: on a panel that small it
// would hide the field.
func (d *painter) plate(s string, f *face, w, h, pad float64, want []pt) {
	at, ok := d.place.put(w, h, want...)
	if !ok {
		return
	}
	x, y := int(at.x+0.5), int(at.y+0.5)
	for j := y; j < y+int(h); j++ {
		for i := x; i < x+int(w); i++ {
			if image.Pt(i, j).In(d.img.Rect) {
				d.img.SetRGBA(i, j, over(d.img.RGBAAt(i, j), markHalo, 0.82))
			}
		}
	}
	d.texts = append(d.texts, image.Rect(x, y, x+int(w), y+int(h)))
	f.write(d.img, s, x+int(pad), y+int(pad)+f.caps, markInk)
}

func markerRadius(em float64) float64 { return max(4, 0.36*em) }

func (d *painter) bookMarker(m Marker) {
	if p, r := d.at(m.At), markerRadius(d.em); d.edges().holds(p) {
		d.place.take(frame{p.x, p.y, p.x, p.y}.grown(r))
	}
}

// marker draws one; markers that stand together may cover each other, texts may not
// cover them.
func (d *painter) marker(m Marker) {
	if p := d.at(m.At); d.edges().holds(p) {
		drawMarker(d.gg, p, markerRadius(d.em), m.Open)
	}
}

// drawMarker draws a disc or a ring with a cross through it.
func drawMarker(g *gg.Context, p pt, r float64, open bool) {
	disc(g, markHalo, p, r+max(1, r/4))
	if open {
		w := max(1.2, r/3.2)
		g.DrawCircle(p.x, p.y, r-w/2)
		stroke(g, markInk, w, nil)
		return
	}
	disc(g, markInk, p, r)
	stroke(g, markHalo, max(1, r/4), nil, []pt{{p.x - r*0.72, p.y}, {p.x + r*0.72, p.y}})
	stroke(g, markHalo, max(1, r/4), nil, []pt{{p.x, p.y - r*0.72}, {p.x, p.y + r*0.72}})
}

// ends are those of an arrow as it is drawn.
func (d *painter) ends(a Arrow) (tail, head pt) {
	tail, head = d.at(a.From), d.at(a.To)
	m := float64(max(1, a.Magnify))
	return tail, pt{tail.x + m*(head.x-tail.x), tail.y + m*(head.y-tail.y)}
}

func (d *painter) bookArrow(a Arrow) {
	if p, q, ok := d.edges().segment(d.ends(a)); ok {
		d.place.take(frame{min(p.x, q.x), min(p.y, q.y), max(p.x, q.x), max(p.y, q.y)}.grown(0.4 * d.em))
	}
}

func (d *painter) arrow(a Arrow) {
	p, q := d.ends(a)
	if d.edges().holds(p) && d.edges().holds(q) && math.Hypot(q.x-p.x, q.y-p.y) >= 1 {
		drawArrow(d.gg, p, q, d.em, a.Open)
	}
	m := pt{(p.x + q.x) / 2, (p.y + q.y) / 2}
	if !m.finite() {
		return
	}
	pad, gap := math.Round(0.25*d.em), 0.6*d.em
	w, h := float64(d.bold.width(a.Text))+2*pad, float64(d.bold.caps)+2*pad
	d.plate(a.Text, d.bold, w, h, pad, []pt{
		{m.x - w/2, min(p.y, q.y) - h - gap}, {m.x - w/2, max(p.y, q.y) + gap},
		{max(p.x, q.x) + gap, m.y - h/2}, {min(p.x, q.x) - gap - w, m.y - h/2},
	})
}

// drawArrow draws a shaft and a head that never is longer than the shaft.
// With open the shaft is broken and the head hollow.
func drawArrow(g *gg.Context, p, q pt, em float64, open bool) {
	length := math.Hypot(q.x-p.x, q.y-p.y)
	ux, uy := (q.x-p.x)/length, (q.y-p.y)/length
	headLen := min(0.95*em, 0.6*length)
	half := 0.42 * headLen
	b := pt{q.x - ux*headLen, q.y - uy*headLen}
	shaft, head := []pt{p, b}, []pt{q, {b.x - uy*half, b.y + ux*half}, {b.x + uy*half, b.y - ux*half}}
	edge, width := max(1.5, em/8), max(1.5, em/6.5)
	stroke(g, markHalo, width+2*edge, nil, shaft)
	outline(g, markHalo, 2*edge, head)
	area(g, markHalo, head)
	if open {
		stroke(g, markInk, width, []float64{0.45 * em, 0.3 * em}, shaft)
		area(g, markHalo, head)
		outline(g, markInk, 0.7*width, head)
		return
	}
	stroke(g, markInk, width, nil, shaft)
	area(g, markInk, head)
}
