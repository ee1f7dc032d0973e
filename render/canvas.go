package render

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"
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

func heightOf(bs []block) int {
	h := 0
	for _, b := range bs {
		h += len(b.lines) * b.f.line
	}
	return h
}

func (c *canvas) widestLine(lines []string) int {
	w := 0
	for _, s := range lines {
		w = max(w, c.text.width(s))
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

// centred writes lines from y down, in the middle of r.
func (c *canvas) centred(lines []string, r image.Rectangle, y int) {
	for _, s := range lines {
		c.say(c.text, s, r.Min.X+(r.Dx()-c.text.width(s))/2, y+(c.text.line+c.text.caps)/2, c.theme.Ink)
		y += c.text.line
	}
}

// writeUpward writes lines from bottom to top, centred between y0 and y1, the
// first line at x and the next ones to its right.
func (c *canvas) writeUpward(lines []string, x, y0, y1 int) {
	for _, s := range lines {
		w := c.text.width(s)
		c.sayUp(c.text, s, x+(c.text.line+c.text.caps)/2, (y0+y1+w)/2, c.theme.Ink)
		x += c.text.line
	}
}

// margin is the empty border of the page.
func (c *canvas) margin() int { return c.em * 5 / 4 }

// surround is what stands above and below the plots of a picture of some width: its title
// with lines below it, and its footer.
type surround struct {
	head []block
	foot block
	// under is the height of all that stands below the plots, from the legend down.
	under, width int
}

func (c *canvas) surround(width int, title, footer string, legend []entry, lines ...string) surround {
	s := surround{width: width - 2*c.margin(), head: []block{{c.title, nil, c.theme.Ink}}}
	s.head[0].lines = c.title.wrap(title, s.width)
	for _, l := range lines {
		s.head = append(s.head, block{c.text, c.text.wrap(l, s.width), c.theme.Faint})
	}
	s.foot = block{c.note, c.note.wrap(footer, s.width), c.theme.Faint}
	s.under = len(c.arrange(legend, s.width))*c.legendRow() + heightOf([]block{s.foot}) + c.margin()
	if len(s.foot.lines) > 0 {
		s.under += c.em / 2
	}
	return s
}

// top is where the plots may begin.
func (s *surround) top(c *canvas) int { return c.margin() + heightOf(s.head) + c.em }

// Done has pictures that nobody looks at any more, whose memory those to come take: to clear and
// touch new memory for each takes as long as to draw on it.
var Done sync.Pool

// begin makes the picture, with what surrounds its plots but for the legend.
func (c *canvas) begin(size image.Point, s surround) {
	if c.img, _ = Done.Get().(*image.RGBA); c.img == nil || cap(c.img.Pix) < 4*size.X*size.Y {
		c.img = image.NewRGBA(image.Rectangle{Max: size})
	}
	*c.img = image.RGBA{Pix: c.img.Pix[:4*size.X*size.Y], Stride: 4 * size.X, Rect: image.Rectangle{Max: size}}
	c.fill(c.img.Rect, c.theme.Paper)
	y := c.margin()
	for _, b := range s.head {
		y = c.write(b, c.margin(), y)
	}
	c.write(s.foot, c.margin(), size.Y-c.margin()-heightOf([]block{s.foot}))
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
