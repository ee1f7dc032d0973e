package render

import (
	"fmt"
	"image"
	"math"

	"wakeledger/grid"
)

// Map is one picture of one field.
type Map struct {
	// Title says what is shown, Subtitle where and of what, Footer how: reference
	// state, method, file. All three are wrapped to the page.
	Title, Subtitle, Footer string
	Quantity                Quantity
	View                    View
	Panel
	// Theme is that of the page; the zero Theme stands for Light.
	Theme Theme
	// Text is the least size of plain text in pixels, as a picture for print needs
	// it; 0 leaves it to the size of the page.
	Text float64
}

// The pages that are drawn. Below these the texts do not leave room for a map.
const (
	minWidth, minHeight = 480, 300
	maxSide             = 16000
)

func checkSize(size image.Point) error {
	if !(size.X >= minWidth && size.X <= maxSide) || size.Y != 0 && !(size.Y >= minHeight && size.Y <= maxSide) {
		return fmt.Errorf("picture of %d × %d pixels: width %d to %d and height %d to %d are possible, or height 0 for a fitting one",
			size.X, size.Y, minWidth, maxSide, minHeight, maxSide)
	}
	return nil
}

// Draw lays out and draws a map of the given size in pixels; with height 0 the
// page is as high as the map needs. Both axes have the same scale.
//
// The plane's X runs to the right and Y up. Values that are NaN or infinite have
// the colour for missing values, those beyond the scale the colours for that;
// pixels without an element are paper, or hatched where View.Body says so.
//
// Errors: a size that leaves no room, a field that does not fit the mesh, an empty
// box, a scale or a mark that is not finite.
func Draw(m Map, size image.Point) (*image.RGBA, error) {
	if err := checkSize(size); err != nil {
		return nil, err
	}
	if err := m.check(); err != nil {
		return nil, err
	}
	box, err := m.View.box(m.Mesh)
	if err != nil {
		return nil, err
	}
	c := newCanvas(m.Theme, size.X, size.Y, m.Text)
	l, err := layMap(c, &m, box, size)
	if err != nil {
		return nil, err
	}
	c.paper(l.size.X, l.size.Y)

	img, body, err := paintPanel(&m.Panel, m.View, box, l.plot.Dx(), l.plot.Dy(), c)
	if err != nil {
		return nil, err
	}
	c.put(img, l.plot.Min)
	c.mapPage(l, &m, box, body)
	return c.img, nil
}

// mapPage draws everything round the plot.
func (c *canvas) mapPage(l *mapLayout, m *Map, box grid.Box, body bool) {
	c.drawAxes(l.plot, limits(box), l.axes, l.strip, true, true)
	y := l.plot.Max.Y + l.strip + c.xAxisHeight(nil)
	for _, s := range l.axes.xLab {
		c.say(c.text, s, l.plot.Min.X+(l.plot.Dx()-c.text.width(s))/2, y+(c.text.line+c.text.caps)/2, c.theme.Ink)
		y += c.text.line
	}
	c.writeUpward(l.axes.yLab, l.left, l.plot.Min.Y, l.plot.Max.Y)
	l.bar.draw(c, l.barBox)
	c.writeUpward(l.barLab, l.barLabX, l.plot.Min.Y, l.plot.Max.Y)

	_, _, missing := m.beyond()
	c.frameTexts(l.head, l.foot, legendOf([]*Panel{&m.Panel}, body, missing), l.legendY)
}

// frameTexts writes what stands above and below the plots.
func (c *canvas) frameTexts(head []block, foot block, entries []entry, legendY int) {
	y, size := c.margin(), c.img.Rect.Max
	for _, b := range head {
		y = c.write(b, c.margin(), y)
	}
	c.write(foot, c.margin(), size.Y-c.margin()-foot.height())
	c.drawLegend(c.arrange(entries, size.X-2*c.margin()), c.margin(), legendY)
}

func limits(b grid.Box) [4]float64 { return [4]float64{b.Min.X, b.Max.X, b.Min.Y, b.Max.Y} }

// writeUpward writes lines from bottom to top, centred between y0 and y1, the
// first line at x and the next ones to its right.
func (c *canvas) writeUpward(lines []string, x, y0, y1 int) {
	for _, s := range lines {
		w := c.text.width(s)
		c.sayUp(c.text, s, x+(c.text.line+c.text.caps)/2, (y0+y1+w)/2, c.theme.Ink)
		x += c.text.line
	}
}

// mapLayout is where everything of a map goes.
type mapLayout struct {
	size    image.Point
	plot    image.Rectangle
	strip   int
	axes    axes
	left    int // of the Y label
	bar     bar
	barBox  image.Rectangle
	barLab  []string
	barLabX int
	head    []block
	foot    block
	legendY int
}

// layMap measures the texts and gives the plot what is left. The numbers on the
// axes hang on the plot's size and the plot's size on their width, so it goes
// round a few times; three are enough for the widths to settle.
func layMap(c *canvas, m *Map, box grid.Box, size image.Point) (*mapLayout, error) {
	l := &mapLayout{size: size}
	mg, em := c.margin(), c.em
	inner := size.X - 2*mg
	l.head = c.head(m.Title, inner, m.Subtitle, m.View.From)
	l.foot = block{c.note, c.note.wrap(m.Footer, inner), c.theme.Faint}
	under, over, missing := m.beyond()
	l.bar = bar{scale: m.Scale, under: under, over: over, upright: true}
	rows := len(c.arrange(legendOf([]*Panel{&m.Panel}, m.View.Body && m.mayHaveBody(), missing), inner).rows)
	if stripWanted(m.View, box) {
		l.strip = c.em * 4 / 5
	}
	head := mg + heightOf(l.head) + em
	footer := mg + l.foot.height()
	if len(l.foot.lines) > 0 {
		footer += em / 2
	}
	footer += rows * c.legendRow()

	ratio := box.Height() / box.Width()
	pw, ph := inner*3/4, inner/2
	for range 3 {
		// Upright labels that are longer than the plot is high need room above it.
		long := max(0, max(textsWidth(c, l.axes.yLab), textsWidth(c, l.barLab))-ph)
		top := head + long/2
		l.axes.x, l.axes.y = c.xTicks(box.Min.X, box.Max.X, pw), c.yTicks(box.Min.Y, box.Max.Y, ph)
		l.axes.xLab = c.text.wrap(m.View.X, max(pw, 8*em))
		l.axes.yLab = c.text.wrap(m.View.Y, max(ph, 6*em))
		l.barLab = c.text.wrap(m.Quantity.String(), max(ph, 8*em))
		left := len(l.axes.yLab)*c.text.line + em/2 + c.widest(l.axes.y) + em/3 + c.tick() + c.hair()
		right := em*5/4 + em*5/4 + c.hair() + c.tick() + em/3 + l.bar.textWidth(c) + em/2 + len(l.barLab)*c.text.line
		// Half a number may stand out over the plot's end, on the right the bar is there.
		below := max(l.strip+c.xAxisHeight(l.axes.xLab), long/2) + em
		availW := inner - left - right
		availH := int(0.95 * float64(size.X))
		if size.Y > 0 {
			availH = size.Y - top - below - footer
		}
		if availW < 4*em || availH < 4*em {
			return nil, fmt.Errorf("picture of %d × %d pixels: its texts leave %d × %d pixels for the map, at least %d each are needed: make the picture larger or the texts shorter",
				size.X, size.Y, max(availW, 0), max(availH, 0), 4*em)
		}
		fw := min(float64(availW), float64(availH)/ratio)
		pw, ph = max(int(fw), 1), max(int(math.Round(fw*ratio)), 1)
		// A hair-thin plane is drawn at least some pixels wide; the scales of its axes
		// then differ, which the numbers show.
		pw, ph = max(pw, min(2*em, availW)), max(ph, min(2*em, availH))
		// Map and bar stand in the middle of the page.
		x := mg + left + (availW-pw)/2
		l.left = x - left
		l.plot = image.Rect(x, top, x+pw, top+ph)
		bx := l.plot.Max.X + em*5/4
		l.barBox = image.Rect(bx, top, bx+em*5/4, top+ph)
		l.barLabX = l.barBox.Max.X + c.hair() + c.tick() + em/3 + l.bar.textWidth(c) + em/2
		// A bar shorter than its tips and a few numbers grows beyond the plot.
		if least := 2*c.tip() + 4*em; ph < least && (size.Y == 0 || top+least+em <= size.Y-footer) {
			l.barBox.Max.Y = top + least
			below = max(below, least-ph+em)
		}
		if size.Y == 0 {
			l.size.Y = max(top+ph+below+footer, minHeight)
		}
		l.legendY = l.size.Y - footer
	}
	// On a page that is higher than the map needs, the legend stays with the map and
	// both stand in the middle of what is left.
	if slack := l.legendY - (l.plot.Max.Y + l.strip + c.xAxisHeight(l.axes.xLab) + em); slack > 2*em && l.barBox.Max.Y <= l.plot.Max.Y {
		down := image.Pt(0, slack/2)
		l.plot, l.barBox = l.plot.Add(down), l.barBox.Add(down)
		l.legendY -= slack - slack/2
	}
	return l, nil
}

func textsWidth(c *canvas, lines []string) int {
	return block{f: c.text, lines: lines}.width()
}

// groundGrain is the part of the height by which the window may miss the ground:
// less than a pixel, and more than the rounding of printed coordinates.
const groundGrain = 1e-3

// stripWanted reports whether the ground lies at the lower border of the picture,
// so that it is hatched below the plot.
func stripWanted(v View, box grid.Box) bool {
	return v.Ground && math.Abs(box.Min.Y) <= groundGrain*box.Height()
}
