package render

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"github.com/fogleman/gg"
)

// canvas is the page that maps and sheets are laid out on, with its faces. em is
// the size of plain text in pixels and the measure of all distances.
type canvas struct {
	img   *image.RGBA
	theme Theme
	em    int
	// title, text and bold are for the page, small and smallBold for ticks and for
	// labels on the map, note for the footer.
	title, text, bold, small, smallBold, note *face
	// said has the room that each text took, so that tests can see whether texts
	// touch or leave the page.
	said []image.Rectangle
	// onMap has the same for the texts on each panel, in its own pixels, with the
	// marks that texts must leave free.
	onMap [][]image.Rectangle
}

// say writes s with its baseline starting at (x, y).
func (c *canvas) say(f *face, s string, x, y int, k color.RGBA) {
	c.said = append(c.said, image.Rect(x, y-f.caps, x+f.width(s), y+f.caps/4))
	f.write(c.img, s, x, y, k)
}

// sayUp writes s upward, its baseline at x, from y up.
func (c *canvas) sayUp(f *face, s string, x, y int, k color.RGBA) {
	c.said = append(c.said, image.Rect(x-f.caps, y-f.width(s), x+f.caps/4, y))
	f.writeUp(c.img, s, x, y, k)
}

// minText is the smallest size of text, in pixels, that is sharp and legible.
const minText = 11

// newCanvas makes the faces for a page of the given size; the image is made once
// the height is known. Text, if it is not 0, is the least size of text, in pixels.
func newCanvas(t Theme, w, h int, text float64) *canvas {
	if t == (Theme{}) {
		t = Light
	}
	size := float64(w) / 96
	if h > 0 {
		size = min(size, float64(h)/42)
	}
	em := max(minText, int(max(size, text)+0.5))
	part := func(f float64) int { return max(minText, int(f*float64(em)+0.5)) }
	regular, bold := fontFiles()
	return &canvas{
		theme: t, em: em,
		title: newFace(bold, part(1.35)), text: newFace(regular, em), bold: newFace(bold, em),
		small: newFace(regular, part(0.88)), smallBold: newFace(bold, part(0.88)), note: newFace(regular, part(0.82)),
	}
}

// release gives the faces back; nothing is written after it.
func (c *canvas) release() {
	for _, f := range []*face{c.title, c.text, c.bold, c.small, c.smallBold, c.note} {
		f.release()
	}
}

func (c *canvas) paper(w, h int) {
	c.img = image.NewRGBA(image.Rect(0, 0, w, h))
	c.fill(c.img.Rect, c.theme.Paper)
}

func (c *canvas) fill(r image.Rectangle, k color.Color) {
	draw.Draw(c.img, r, image.NewUniform(k), image.Point{}, draw.Src)
}

// part is the part of the page in r as a picture of its own, whose edges clip everything.
func (c *canvas) part(r image.Rectangle) *image.RGBA {
	return &image.RGBA{Pix: c.img.Pix[c.img.PixOffset(r.Min.X, r.Min.Y):], Stride: c.img.Stride, Rect: image.Rectangle{Max: r.Size()}}
}

// hair is the width of the thinnest lines.
func (c *canvas) hair() int { return max(1, c.em/14) }

// border draws a rectangle's outline just outside r.
func (c *canvas) border(r image.Rectangle, k color.RGBA) {
	t := c.hair()
	o := r.Inset(-t)
	for _, e := range []image.Rectangle{
		image.Rect(o.Min.X, o.Min.Y, o.Max.X, r.Min.Y), image.Rect(o.Min.X, r.Max.Y, o.Max.X, o.Max.Y),
		image.Rect(o.Min.X, r.Min.Y, r.Min.X, r.Max.Y), image.Rect(r.Max.X, r.Min.Y, o.Max.X, r.Max.Y),
	} {
		c.fill(e, k)
	}
}

// block is some lines of text in one face.
type block struct {
	f     *face
	lines []string
	ink   color.RGBA
}

func (b block) height() int { return len(b.lines) * b.f.line }

func (b block) width() int {
	w := 0
	for _, s := range b.lines {
		w = max(w, b.f.width(s))
	}
	return w
}

// write draws the lines from (x, y) down and returns the y below them.
func (c *canvas) write(b block, x, y int) int {
	for _, s := range b.lines {
		c.say(b.f, s, x, y+(b.f.line+b.f.caps)/2, b.ink)
		y += b.f.line
	}
	return y
}

// margin is the empty border of the page.
func (c *canvas) margin() int { return c.em * 5 / 4 }

// head is the title and what stands below it.
func (c *canvas) head(title string, w int, lines ...string) []block {
	out := []block{{c.title, c.title.wrap(title, w), c.theme.Ink}}
	for _, s := range lines {
		out = append(out, block{c.text, c.text.wrap(s, w), c.theme.Faint})
	}
	return out
}

func heightOf(bs []block) int {
	h := 0
	for _, b := range bs {
		h += b.height()
	}
	return h
}

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
		// A text wider than the page is cut into lines; the legend has one line an
		// entry, so it is shortened with an ellipsis.
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

func (c *canvas) drawLegend(rows [][]entry, x0, y int) {
	sw, gap, after := c.swatch()
	for _, row := range rows {
		x, top := x0, y+(c.legendRow()-c.em)/2
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

// onGround draws a mark from p to q, the middles of the sample's sides, on a piece of
// map-like ground, so that it looks as it does there.
func onGround(draw func(g *gg.Context, p, q pt, em float64)) func(c *canvas, r image.Rectangle) {
	return func(c *canvas, r image.Rectangle) {
		c.fill(r, legendGround)
		y := float64(r.Min.Y+r.Max.Y) / 2
		draw(gg.NewContextForRGBA(c.img), pt{float64(r.Min.X), y}, pt{float64(r.Max.X), y}, float64(c.em))
	}
}

// line draws a plain piece of the stroke.
func (k ink) line(g *gg.Context, p, q pt) {
	stroke(g, k.c, k.width, k.dash, []pt{p, q})
}

// legendOf lists what the marks of the panels mean, once each. body and missing
// say whether such colours occur.
func legendOf(panels []*Panel, body, missing bool) []entry {
	var out []entry
	seen := map[string]bool{"": true}
	add := func(name string, draw func(c *canvas, r image.Rectangle)) {
		if !seen[name] {
			seen[name] = true
			out = append(out, entry{name, draw})
		}
	}
	for _, p := range panels {
		out = append(out, spotEntries(p)...)
		if v := p.Vectors; v != nil {
			// A vector of length Full.
			add(v.Name, onGround(func(g *gg.Context, p, q pt, em float64) { drawVector(g, p, pt{p.x + fullLength*em, p.y}, em) }))
		}
		for _, o := range p.Outlines {
			add(o.Name, onGround(func(g *gg.Context, p, q pt, em float64) { o.ink(em).line(g, p, q) }))
		}
		for _, a := range p.Arrows {
			if name := a.name(); name != "" {
				add(name, onGround(func(g *gg.Context, p, q pt, em float64) {
					drawArrow(g, pt{p.x + 2, p.y}, pt{q.x - 2, q.y}, em, a.Open)
				}))
			}
		}
		for _, m := range p.Markers {
			add(m.Name, func(c *canvas, r image.Rectangle) {
				drawMarker(gg.NewContextForRGBA(c.img), pt{float64(r.Min.X+r.Max.X) / 2, float64(r.Min.Y+r.Max.Y) / 2}, max(4, 0.36*float64(c.em)), m.Open)
			})
		}
		for _, e := range p.Ellipses {
			add(e.Name, onGround(func(g *gg.Context, p, q pt, em float64) { ellipseInk(em).line(g, p, q) }))
		}
	}
	if body {
		add("no samples: body or not surveyed", func(c *canvas, r image.Rectangle) {
			hatch(c.img, r, bodyShades(float64(c.em), r.Min.X+r.Min.Y, r.Max.X+r.Max.Y))
			c.border(r.Inset(c.hair()), bodyEdge)
		})
	}
	if missing {
		add("value missing", func(c *canvas, r image.Rectangle) { c.fill(r, noData) })
	}
	return out
}

// axes is what a plot's border shows.
type axes struct {
	x, y       []Tick
	xLab, yLab []string
}

func (c *canvas) tick() int { return max(3, c.em*2/5) }

// xTicks and yTicks choose as many ticks as there is room for. A window that
// misses a round number by less than a pixel still has its tick.
func (c *canvas) xTicks(lo, hi float64, pixels int) []Tick {
	grain := (hi - lo) / float64(pixels+1) / 2
	lo, hi = lo-grain, hi+grain
	for most := 12; most >= 1; most-- {
		t := Ticks(lo, hi, most)
		if len(t) < 2 {
			return t
		}
		if step := (t[1].At - t[0].At) / (hi - lo) * float64(pixels); step >= float64(c.widest(t)+c.em*4/3) {
			return t
		}
	}
	return nil
}

func (c *canvas) yTicks(lo, hi float64, pixels int) []Tick {
	grain := (hi - lo) / float64(pixels+1) / 2
	return Ticks(lo-grain, hi+grain, max(1, min(10, pixels/(3*c.em))))
}

func (c *canvas) widest(ts []Tick) int {
	w := 0
	for _, t := range ts {
		w = max(w, c.small.width(t.Text))
	}
	return w
}

// drawAxes draws border, ticks and their numbers round the plot r. strip is the
// height of the ground strip below it, which the ticks of X stand under.
func (c *canvas) drawAxes(r image.Rectangle, box [4]float64, a axes, strip int, xText, yText bool) {
	c.border(r, c.theme.Ink)
	if strip > 0 {
		hatchGround(c.img, image.Rect(r.Min.X-c.hair(), r.Max.Y, r.Max.X+c.hair(), r.Max.Y+strip), c.em, c.theme)
	}
	n, t := c.tick(), c.hair()
	base := r.Max.Y + strip
	if strip == 0 {
		base += t
	}
	for _, k := range a.x {
		x := r.Min.X + int(math.Round((k.At-box[0])/(box[1]-box[0])*float64(r.Dx())))
		c.fill(image.Rect(x-t/2, base, x-t/2+t, base+n), c.theme.Ink)
		if xText {
			c.say(c.small, k.Text, x-c.small.width(k.Text)/2, base+n+c.em/3+c.small.caps, c.theme.Ink)
		}
	}
	for _, k := range a.y {
		y := r.Max.Y - int(math.Round((k.At-box[2])/(box[3]-box[2])*float64(r.Dy())))
		c.fill(image.Rect(r.Min.X-t-n, y-t/2, r.Min.X-t, y-t/2+t), c.theme.Ink)
		if yText {
			c.say(c.small, k.Text, r.Min.X-t-n-c.em/3-c.small.width(k.Text), y+c.small.caps/2, c.theme.Ink)
		}
	}
}

// xAxisHeight is what ticks, their numbers and the label of X need below a plot.
func (c *canvas) xAxisHeight(label []string) int {
	return c.hair() + c.tick() + c.em/3 + c.small.line + len(label)*c.text.line
}

// bar is a colour bar: the colours of a scale along box, upward or to the right,
// with a tip at each end behind which values lie.
type bar struct {
	scale       Scale
	under, over bool
	upright     bool
	box         image.Rectangle
	label       []string
	labelX      int // of an upright label
}

func (c *canvas) tip() int { return c.em * 3 / 2 }

func barThick(c *canvas) int { return c.em * 5 / 4 }

// wide is the room that an upright bar takes beside a plot, with its texts.
func (b bar) wide(c *canvas) int {
	return c.em*5/4 + barThick(c) + c.hair() + c.tick() + c.em/3 + b.textWidth(c) + c.em/2 + len(b.label)*c.text.line
}

// body is the part of the bar between the tips.
func (b bar) body(c *canvas) image.Rectangle {
	lo, hi := 0, 0
	if b.under {
		lo = c.tip()
	}
	if b.over {
		hi = c.tip()
	}
	r := b.box
	if b.upright {
		return image.Rect(r.Min.X, r.Min.Y+hi, r.Max.X, r.Max.Y-lo)
	}
	return image.Rect(r.Min.X+lo, r.Min.Y, r.Max.X-hi, r.Max.Y)
}

const underText, overText = "below", "above"

// textWidth is the width of the widest text beside an upright bar.
func (b bar) textWidth(c *canvas) int {
	texts := block{f: c.small}
	for k := range b.scale.Levels {
		texts.lines = append(texts.lines, b.scale.text(k))
	}
	if b.under {
		texts.lines = append(texts.lines, underText)
	}
	if b.over {
		texts.lines = append(texts.lines, overText)
	}
	return texts.width()
}

// draw paints the bar and its texts; ticks whose numbers would touch are left
// without a number, evenly.
func (b bar) draw(c *canvas) {
	body := b.body(c)
	long := body.Dx()
	if b.upright {
		long = body.Dy()
	}
	if long < 2 {
		return
	}
	s := b.scale
	shade := s.shader()
	for k := range long {
		r := image.Rect(body.Min.X+k, body.Min.Y, body.Min.X+k+1, body.Max.Y)
		if b.upright {
			r = image.Rect(body.Min.X, body.Max.Y-1-k, body.Max.X, body.Max.Y-k)
		}
		c.fill(r, shade.color(s.Lo+(float64(k)+0.5)/float64(long)*(s.Hi-s.Lo)))
	}
	c.border(body, c.theme.Ink)
	b.tips(c, body)

	t, n := c.hair(), c.tick()
	pos := func(v float64) int { return int(math.Round((v - s.Lo) / (s.Hi - s.Lo) * float64(long))) }
	for k, every := 0, b.every(c, pos); k < len(s.Levels); k++ {
		text := s.text(k)
		p := body.Min.X + pos(s.Levels[k])
		tick := image.Rect(p-t/2, body.Max.Y+t, p-t/2+t, body.Max.Y+t+n)
		at := image.Pt(p-c.small.width(text)/2, tick.Max.Y+c.em/3+c.small.caps)
		if b.upright {
			p = body.Max.Y - pos(s.Levels[k])
			tick = image.Rect(body.Max.X+t, p-t/2, body.Max.X+t+n, p-t/2+t)
			at = image.Pt(tick.Max.X+c.em/3, p+c.small.caps/2)
		}
		c.fill(tick, c.theme.Ink)
		if b.named(k, every) {
			c.say(c.small, text, at.X, at.Y, c.theme.Ink)
		}
	}
}

// named reports whether level k carries its number when every n-th does. On a
// scale about 0 they are counted from the middle outward, so that both arms agree.
func (b bar) named(k, every int) bool {
	n := len(b.scale.Levels)
	if b.scale.Lo == -b.scale.Hi && n%2 == 0 && k >= n/2 {
		k = n - 1 - k
	}
	return k%every == 0
}

// every finds the smallest n for which numbers at every n-th level do not touch.
func (b bar) every(c *canvas, pos func(float64) int) int {
	s := b.scale
	for n := 1; n < len(s.Levels); n++ {
		last, lastHalf, ok := math.MinInt/2, 0, true
		for k := 0; k < len(s.Levels) && ok; k++ {
			if !b.named(k, n) {
				continue
			}
			half := c.small.caps * 3 / 4
			if !b.upright {
				half = c.small.width(s.text(k))/2 + c.em/3
			}
			p := pos(s.Levels[k])
			ok = p-last >= half+lastHalf
			last, lastHalf = p, half
		}
		if ok {
			return n
		}
	}
	return max(1, len(s.Levels)-1)
}

// tips draws the triangles for values beyond the scale and names them.
func (b bar) tips(c *canvas, body image.Rectangle) {
	h, gap := c.tip()-c.em/3, c.hair()+int(math.Round(float64(c.em)/5))
	g := gg.NewContextForRGBA(c.img)
	for _, e := range []struct {
		on   bool
		col  color.RGBA
		sign int
		text string
	}{{b.under, b.scale.Map.Under, -1, underText}, {b.over, b.scale.Map.Over, 1, overText}} {
		if !e.on {
			continue
		}
		// A triangle beyond the right or the left end, or the upper or the lower.
		end, at := body.Max.X, image.Pt(body.Max.X+c.tip(), (body.Min.Y+body.Max.Y+c.small.caps)/2)
		if e.sign < 0 {
			end, at.X = body.Min.X, body.Min.X-c.tip()-c.small.width(e.text)
		}
		corners := []pt{{float64(end + e.sign*gap), float64(body.Min.Y)}, {float64(end + e.sign*gap), float64(body.Max.Y)}, {float64(end + e.sign*h), float64(body.Min.Y+body.Max.Y) / 2}}
		if b.upright {
			end = body.Min.Y
			if e.sign < 0 {
				end = body.Max.Y
			}
			at = image.Pt(body.Max.X+c.hair()+c.tick()+c.em/3, end-e.sign*(c.tip()*4/5)+c.small.caps/2)
			corners = []pt{{float64(body.Min.X), float64(end - e.sign*gap)}, {float64(body.Max.X), float64(end - e.sign*gap)}, {float64(body.Min.X+body.Max.X) / 2, float64(end - e.sign*h)}}
		}
		area(g, e.col, corners)
		outline(g, c.theme.Ink, float64(c.hair()), corners)
		c.say(c.small, e.text, at.X, at.Y, c.theme.Faint)
	}
}
