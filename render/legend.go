package render

import (
	"image"
	"image/color"
	"slices"

	"github.com/fogleman/gg"
)

// entry is one item of the legend: a sample that is drawn into a rectangle and a
// text.
type entry struct {
	text string
	draw func(c *canvas, r image.Rectangle)
}

func (c *canvas) swatch() (w, gap, after int) { return c.em * 2, c.em / 2, c.em * 8 / 5 }

// arrange puts entries in rows of at most w pixels.
func (c *canvas) arrange(es []entry, w int) (rows [][]entry) {
	sw, gap, after := c.swatch()
	x := w + 1
	for _, e := range es {
		// The legend has one line an entry: a text wider than the page is shortened.
		for c.small.width(e.text) > w-sw-gap && len(e.text) > 4 {
			r := []rune(e.text)
			e.text = string(r[:max(1, len(r)*9/10-1)]) + "…"
		}
		need := sw + gap + c.small.width(e.text)
		if x+after+need > w {
			rows = append(rows, nil)
			x = -after
		}
		x += after + need
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
	}
	return rows
}

func (c *canvas) legendRow() int { return c.em * 3 / 2 }

// legend draws the entries from y down.
func (c *canvas) legend(es []entry, width, y int) {
	sw, gap, after := c.swatch()
	for _, row := range c.arrange(es, width) {
		x, top := c.margin(), y+(c.legendRow()-c.em)/2
		for _, e := range row {
			e.draw(c, image.Rect(x, top, x+sw, top+c.em))
			x += sw + gap
			c.say(c.small, e.text, x, y+(c.legendRow()+c.small.caps)/2, c.theme.Ink)
			x += c.small.width(e.text) + after
		}
		y += c.legendRow()
	}
}

// legendGround is a piece of map-like ground under the legend's lines.
var legendGround = color.RGBA{240, 239, 234, 255}

// onLine draws a mark from p to q, the middles of the sample's sides.
func onLine(draw func(g *gg.Context, p, q pt, em float64)) func(c *canvas, r image.Rectangle) {
	return func(c *canvas, r image.Rectangle) {
		y := float64(r.Min.Y+r.Max.Y) / 2
		draw(gg.NewContextForRGBA(c.img), pt{float64(r.Min.X), y}, pt{float64(r.Max.X), y}, float64(c.em))
	}
}

// onGround does so on a piece of map-like ground, so that it looks as it does there.
func onGround(draw func(g *gg.Context, p, q pt, em float64)) func(c *canvas, r image.Rectangle) {
	return func(c *canvas, r image.Rectangle) {
		c.fill(r, legendGround)
		onLine(draw)(c, r)
	}
}

// line draws a plain piece of the stroke.
func (k ink) line(g *gg.Context, p, q pt) { stroke(g, k.c, k.width, k.dash, []pt{p, q}) }

// legendOf lists what the marks of the panels mean, once each, and the colours without
// a value that are seen.
func legendOf(panels []*Panel, seen shown) []entry {
	var out []entry
	add := func(name string, draw func(c *canvas, r image.Rectangle)) {
		if name != "" && !slices.ContainsFunc(out, func(e entry) bool { return e.text == name }) {
			out = append(out, entry{name, draw})
		}
	}
	lines := func(p *Panel, spread bool) {
		for _, o := range p.Outlines {
			if (o.Style == Spread) == spread {
				add(o.Name, onGround(func(g *gg.Context, p, q pt, em float64) { o.Style.ink(em).line(g, p, q) }))
			}
		}
	}
	middle := func(p, q pt) pt { return pt{(p.x + q.x) / 2, p.y} }
	for _, p := range panels {
		if p == nil {
			continue
		}
		if v := p.Vectors; v != nil {
			// A vector of length Full.
			add(v.Name, onGround(func(g *gg.Context, p, q pt, em float64) { drawVector(g, p, pt{p.x + fullLength*em, p.y}, em) }))
		}
		lines(p, false)
		for _, a := range p.Arrows {
			add(a.name(), onGround(func(g *gg.Context, p, q pt, em float64) {
				drawArrow(g, pt{p.x + 2, p.y}, pt{q.x - 2, q.y}, em, a.Open)
			}))
		}
		for _, m := range p.Markers {
			add(m.Name, onLine(func(g *gg.Context, p, q pt, em float64) { drawMarker(g, middle(p, q), markerRadius(em), m.Open) }))
		}
		lines(p, true)
	}
	for _, e := range []struct {
		on   bool
		name string
		of   func(em float64) hatching
	}{{seen.body, "no samples: body or not surveyed", bodyHatch}, {seen.left, "samples left out: not all configurations have them", leftHatch}} {
		if e.on {
			add(e.name, func(c *canvas, r image.Rectangle) {
				e.of(float64(c.em)).over(c.img, r, nil)
				c.border(r.Inset(c.hair()), bodyEdge)
			})
		}
	}
	if seen.missing {
		add("value missing", func(c *canvas, r image.Rectangle) { c.fill(r, noData) })
	}
	return out
}
