package render

import (
	"fmt"
	"image"
	"math"

	"wakeledger/grid"
)

// page is what maps and sheets are laid out and drawn as: panels of one view, row by
// row, cols in each. A map has its colour bar on the right; a sheet has bars below, of
// the columns but the last and of the last.
type page struct {
	Title, Subtitle, Footer string
	View                    View
	Theme                   Theme
	Text                    float64
	panels                  []*Panel
	cols                    int
	quantities              []Quantity // of the bars
	painted                 *Painted
	box                     grid.Box
}

// layout is where everything of a page goes.
type layout struct {
	size    image.Point
	plots   []image.Rectangle
	heads   [][]string // headings of the panels
	strip   int
	axes    axes
	left    int // of the Y label
	bars    []bar
	head    []block
	foot    block
	legendY int
	missing bool // some panel has a value that is not finite
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

// canvas makes the page's canvas and finds its box.
func (p *page) canvas(size image.Point) (*canvas, error) {
	if err := checkSize(size); err != nil {
		return nil, err
	}
	var err error
	if p.box, err = p.View.box(p.panels[0]); err != nil {
		return nil, err
	}
	wide := size.X
	if p.cols > 1 {
		wide = size.X * 4 / 5
	}
	return newCanvas(p.Theme, wide, size.Y, p.Text), nil
}

func (p *page) draw(size image.Point) (*image.RGBA, error) {
	c, err := p.canvas(size)
	if err != nil {
		return nil, err
	}
	defer c.release()
	l, err := p.lay(c, size)
	if err != nil {
		return nil, err
	}
	if p.cols > 1 && p.equalArrows(l.plots[0], c) {
		// The legend has an entry more.
		if l, err = p.lay(c, size); err != nil {
			return nil, err
		}
	}
	c.paper(l.size.X, l.size.Y)
	body := false
	for i, q := range p.panels {
		b, err := p.painted.paint(q, p.View, p.box, c.part(l.plots[i]), c)
		if err != nil {
			return nil, fmt.Errorf("row %d, column %d: %w", i/p.cols+1, i%p.cols+1, err)
		}
		body = body || b
	}
	p.around(c, l, body)
	return c.img, nil
}

// around draws everything round the plots.
func (p *page) around(c *canvas, l *layout, body bool) {
	for i := range p.panels {
		r := l.plots[i]
		last := i+p.cols >= len(p.panels)
		c.drawAxes(r, [4]float64{p.box.Min.X, p.box.Max.X, p.box.Min.Y, p.box.Max.Y}, l.axes, l.strip, last, i%p.cols == 0)
		c.write(block{c.bold, l.heads[i], c.theme.Ink}, r.Min.X, r.Min.Y-c.em/3-len(l.heads[i])*c.bold.line)
		if last {
			c.centred(l.axes.xLab, r, r.Max.Y+l.strip+c.xAxisHeight(nil))
		}
		if i%p.cols == 0 {
			c.writeUpward(l.axes.yLab, l.left, r.Min.Y, r.Max.Y)
		}
	}
	for _, b := range l.bars {
		b.draw(c)
		if b.upright {
			c.writeUpward(b.label, b.labelX, l.plots[0].Min.Y, l.plots[0].Max.Y)
		} else {
			c.centred(b.label, b.box, b.box.Max.Y+c.xAxisHeight(nil))
		}
	}
	c.frameTexts(l.head, l.foot, legendOf(p.panels, body, l.missing), l.legendY)
}

// centred writes lines from y down, in the middle of r.
func (c *canvas) centred(lines []string, r image.Rectangle, y int) {
	for _, s := range lines {
		c.say(c.text, s, r.Min.X+(r.Dx()-c.text.width(s))/2, y+(c.text.line+c.text.caps)/2, c.theme.Ink)
		y += c.text.line
	}
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

// writeUpward writes lines from bottom to top, centred between y0 and y1, the
// first line at x and the next ones to its right.
func (c *canvas) writeUpward(lines []string, x, y0, y1 int) {
	for _, s := range lines {
		w := c.text.width(s)
		c.sayUp(c.text, s, x+(c.text.line+c.text.caps)/2, (y0+y1+w)/2, c.theme.Ink)
		x += c.text.line
	}
}

// begin measures what does not depend on the size of the plots, and gives the height
// from the legend down.
func (p *page) begin(c *canvas, size image.Point) (l *layout, footer int) {
	l = &layout{size: size}
	inner := size.X - 2*c.margin()
	l.head = c.head(p.Title, inner, p.Subtitle, p.View.From)
	l.foot = block{c.note, c.note.wrap(p.Footer, inner), c.theme.Faint}
	for k := range p.quantities {
		l.bars = append(l.bars, bar{scale: p.panels[k*(p.cols-1)].Scale, upright: p.cols == 1})
	}
	body := false
	for i, q := range p.panels {
		u, o, m := q.beyond()
		if l.bars != nil {
			b := &l.bars[i%p.cols/max(p.cols-1, 1)]
			b.under, b.over = b.under || u, b.over || o
		}
		l.missing, body = l.missing || m, body || p.View.Body && q.mayHaveBody()
	}
	if stripWanted(p.View, p.box) {
		l.strip = c.em * 4 / 5
	}
	footer = c.margin() + l.foot.height() + len(c.arrange(legendOf(p.panels, body, l.missing), inner))*c.legendRow()
	if len(l.foot.lines) > 0 {
		footer += c.em / 2
	}
	return l, footer
}

// lay measures the texts and gives the plots what is left. The numbers on the axes
// depend on the plots' size and that on the numbers' width, so it goes round a few
// times; three are enough for the widths to settle.
func (p *page) lay(c *canvas, size image.Point) (*layout, error) {
	l, footer := p.begin(c, size)
	mg, em, box := c.margin(), c.em, p.box
	rows := len(p.panels) / p.cols
	inner := size.X - 2*mg
	ratio := box.Height() / box.Width()
	gap := em * 3 / 2 // at least; numbers of neighbouring panels must not touch
	pw := inner * 3 / 4 / p.cols
	ph := int(float64(pw) * ratio)
	for range 3 {
		l.axes.x, l.axes.y = c.xTicks(box.Min.X, box.Max.X, pw), c.yTicks(box.Min.Y, box.Max.Y, ph)
		l.axes.xLab = c.text.wrap(p.View.X, max(pw, 6*em))
		l.axes.yLab = c.text.wrap(p.View.Y, max(ph, 6*em))
		gap = max(gap, c.widest(l.axes.x)+em*3/4)
		left := len(l.axes.yLab)*c.text.line + em/2 + c.widest(l.axes.y) + em/3 + c.tick() + c.hair()
		// The last number of the last panel may stand out by half of itself.
		right := c.widest(l.axes.x) / 2
		heading := p.headings(c, l, pw)
		lead := em
		if heading > 0 {
			lead = em / 2
		}
		// Upright labels that are longer than the plot is high need room above it.
		long := max(0, block{f: c.text, lines: l.axes.yLab}.width()-ph)
		below, barsHigh := l.strip+c.xAxisHeight(l.axes.xLab), 0
		for k := range l.bars {
			b := &l.bars[k]
			if b.upright {
				b.label = c.text.wrap(p.quantities[k].String(), max(ph, 8*em))
				long = max(long, block{f: c.text, lines: b.label}.width()-ph)
				right = b.wide(c)
			} else {
				wide := pw
				if k == 0 {
					wide = (p.cols-1)*(pw+gap) - gap
				}
				b.label = c.text.wrap(p.quantities[k].String(), wide)
				barsHigh = max(barsHigh, barThick(c)+c.xAxisHeight(b.label)+em)
			}
		}
		if p.cols == 1 {
			below = max(below, long/2)
		}
		below += em
		top := mg + heightOf(l.head) + lead + max(0, long/2-heading)
		rowGap := l.strip + c.tick() + em

		availW := (inner - left - right - (p.cols-1)*gap) / p.cols
		availH := int(0.95 * float64(size.X))
		if size.Y > 0 {
			availH = (size.Y-top-below-barsHigh-footer-(rows-1)*rowGap)/rows - heading
		}
		if least := 7 * em / 2; availW < least || availH < least {
			return nil, fmt.Errorf("picture of %d × %d pixels with %d rows: its texts leave %d × %d pixels for a panel, at least %d each are needed: make the picture larger or the texts shorter",
				size.X, size.Y, rows, max(availW, 0), max(availH, 0), least)
		}
		fw := min(float64(availW), float64(availH)/ratio)
		pw, ph = max(int(fw), 1), max(int(math.Round(fw*ratio)), 1)
		// A hair-thin plane is drawn at least some pixels wide; the scales of its axes
		// then differ, which the numbers show.
		pw, ph = max(pw, min(2*em, availW)), max(ph, min(2*em, availH))
		// Plots and bars stand in the middle of the page.
		x0 := mg + left + p.cols*(availW-pw)/2
		l.left = x0 - left
		l.plots = l.plots[:0]
		y := top
		for i := range p.panels {
			if i%p.cols == 0 && i > 0 {
				y += heading + ph + rowGap
			}
			x := x0 + i%p.cols*(pw+gap)
			l.plots = append(l.plots, image.Rect(x, y+heading, x+pw, y+heading+ph))
		}
		y += heading + ph
		below = max(below, l.placeBars(c, p.cols, y+below, size.Y == 0, size.Y-footer))
		if size.Y == 0 {
			l.size.Y = max(y+below+barsHigh+footer, minHeight)
		}
		l.legendY = l.size.Y - footer
	}
	l.centre(c)
	return l, nil
}

// headings wraps the headings of the panels and gives the room above each plot.
func (p *page) headings(c *canvas, l *layout, pw int) int {
	l.heads = nil
	most := 0
	for _, q := range p.panels {
		h := c.bold.wrap(q.Heading, pw)
		l.heads = append(l.heads, h)
		most = max(most, len(h))
	}
	if p.cols == 1 && most == 0 {
		return 0
	}
	return most*c.bold.line + c.em/3
}

// placeBars places the bars beside the plot or from y down, and gives the room below the
// plot that an upright one needs. A bar shorter than its tips and a few numbers grows
// beyond the plot, where free says so or as far as bottom.
func (l *layout) placeBars(c *canvas, cols, y int, free bool, bottom int) (below int) {
	for k := range l.bars {
		b := &l.bars[k]
		if b.upright {
			r := l.plots[0]
			x := r.Max.X + c.em*5/4
			b.box = image.Rect(x, r.Min.Y, x+barThick(c), r.Max.Y)
			b.labelX = r.Max.X + b.wide(c) - len(b.label)*c.text.line
			if least := 2*c.tip() + 4*c.em; r.Dy() < least && (free || r.Min.Y+least+c.em <= bottom) {
				b.box.Max.Y = r.Min.Y + least
				below = least - r.Dy() + c.em
			}
			continue
		}
		x0, x1 := l.plots[0].Min.X, l.plots[cols-2].Max.X
		if k == 1 {
			x0, x1 = l.plots[cols-1].Min.X, l.plots[cols-1].Max.X
		}
		// The names of the tips stand beside the bar.
		if b.under {
			x0 += c.small.width(underText) - c.em/3
		}
		if b.over {
			x1 -= c.small.width(overText) - c.em/3
		}
		// A bar much longer than it need be is no easier to read.
		if most := 40 * c.em; x1-x0 > most {
			x0, x1 = (x0+x1-most)/2, (x0+x1+most)/2
		}
		b.box = image.Rect(x0, y, x1, y+barThick(c))
	}
	return below
}

// centre keeps, on a page that is higher than a map needs, the legend with the map and
// both in the middle of what is left.
func (l *layout) centre(c *canvas) {
	if len(l.plots) > 1 {
		return
	}
	slack := l.legendY - (l.plots[0].Max.Y + l.strip + c.xAxisHeight(l.axes.xLab) + c.em)
	if slack <= 2*c.em || len(l.bars) > 0 && l.bars[0].box.Max.Y > l.plots[0].Max.Y {
		return
	}
	down := image.Pt(0, slack/2)
	l.plots[0] = l.plots[0].Add(down)
	for k := range l.bars {
		l.bars[k].box = l.bars[k].box.Add(down)
	}
	l.legendY -= slack - slack/2
}

// groundGrain is the part of the height by which the window may miss the ground:
// less than a pixel, and more than the rounding of printed coordinates.
const groundGrain = 1e-3

// stripWanted reports whether the ground lies at the lower border of the picture,
// so that it is hatched below the plot.
func stripWanted(v View, box grid.Box) bool {
	return v.Ground && math.Abs(box.Min.Y) <= groundGrain*box.Height()
}

// equalArrows gives all arrows of the page that leave their factor to the picture
// the least of those that fit, so that they can be compared, lets the legend tell the
// factor of all, and says whether there are any.
func (p *page) equalArrows(plot image.Rectangle, c *canvas) bool {
	d := &painter{w: plot.Dx(), h: plot.Dy(), box: p.box, em: float64(c.em)}
	least := math.MaxInt
	each := func(f func(a *Arrow)) {
		for _, q := range p.panels {
			for k := range q.Arrows {
				if q.Arrows[k].Magnify == 0 || q.Arrows[k].told {
					f(&q.Arrows[k])
				}
			}
		}
	}
	each(func(a *Arrow) {
		if a.From != a.To {
			factor, _, _ := d.magnify(*a)
			least = min(least, factor)
		}
	})
	if least < math.MaxInt {
		each(func(a *Arrow) { a.Magnify = least })
	}
	any := false
	for _, q := range p.panels {
		for k := range q.Arrows {
			a := &q.Arrows[k]
			a.told, any = a.Magnify > 0, any || a.Magnify > 0
		}
	}
	return any
}
