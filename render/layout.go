package render

import (
	"fmt"
	"image"
	"math"
	"slices"

	"wakeledger/grid"
)

// layout is where everything of a page goes.
type layout struct {
	surround
	room
	size    image.Point
	box     grid.Box
	plots   []image.Rectangle
	bars    []bar
	strip   int
	legendY int
	missing bool // some panel has a value that is not finite
}

// room is what the texts round plots of some size take.
type room struct {
	heads       [][]string // headings of the panels
	axes        axes
	gap         int // between panels
	left        int // of each row
	right       int
	heading     int // above each plot
	from, below int // of the rows
	barsHigh    int
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

// lay checks a page, makes its canvas and gives the plots what its texts leave. The numbers
// on the axes depend on the plots' size and that on the numbers' width, so it goes round a
// few times; three are enough for the widths to settle.
func (p *Page) lay(size image.Point) (*canvas, *layout, error) {
	p.Columns = max(p.Columns, 1)
	if len(p.Panels) == 0 || p.Panels[0] == nil || len(p.Panels)%p.Columns != 0 {
		return nil, nil, fmt.Errorf("picture of %d panels in %d columns: full rows are needed, and a panel to begin with", len(p.Panels), p.Columns)
	}
	if err := checkSize(size); err != nil {
		return nil, nil, err
	}
	l := &layout{size: size}
	for i, q := range p.Panels {
		if q == nil {
			continue
		}
		if err := l.add(q); err != nil {
			return nil, nil, fmt.Errorf("row %d, column %d: %w", i/p.Columns+1, i%p.Columns+1, err)
		}
	}
	box, err := p.View.box(p.Panels[0])
	if err != nil {
		return nil, nil, err
	}
	l.box = box
	wide := size.X
	if p.Columns > 1 {
		wide = size.X * 4 / 5
	}
	c := newCanvas(p.Theme, wide, size.Y, p.Text)
	if p.View.stripWanted(box) {
		l.strip = c.em * 4 / 5
	}
	seen := shown{missing: l.missing}
	for _, q := range p.Panels {
		if q != nil {
			seen.body, seen.left = seen.body || len(q.Mesh.Gaps) > 0, seen.left || len(q.Whole) > 0
		}
	}
	l.surround = c.surround(size.X, p.Title, p.Footer, legendOf(p.Panels, seen), p.Subtitle, p.View.From)
	ratio := box.Height() / box.Width()
	pw := (size.X - 2*c.margin()) * 3 / 4 / p.Columns
	ph := int(float64(pw) * ratio)
	for range 3 {
		p.measure(c, l, pw, ph)
		if pw, ph, err = p.place(c, l, size, ratio); err != nil {
			c.release()
			return nil, nil, err
		}
	}
	l.centre(c)
	return c, l, nil
}

// add checks a panel and gives it the bar of its quantity.
func (l *layout) add(q *Panel) error {
	if err := q.check(); err != nil {
		return err
	}
	k := slices.IndexFunc(l.bars, func(b bar) bool { return b.of == q.Quantity })
	if k < 0 {
		k = len(l.bars)
		l.bars = append(l.bars, bar{of: q.Quantity, scale: q.Scale})
	}
	b := &l.bars[k]
	if !slices.Equal(q.Scale.Levels, b.scale.Levels) || q.Scale.Map.Name != b.scale.Map.Name {
		return fmt.Errorf("scale %g…%g differs from %g…%g of a panel before: panels that share a colour bar need one scale", q.Scale.Lo, q.Scale.Hi, b.scale.Lo, b.scale.Hi)
	}
	under, over, missing := q.beyond()
	b.under, b.over, l.missing = b.under || under, b.over || over, l.missing || missing
	return nil
}

// measure finds the room that texts take round plots of pw × ph pixels.
func (p *Page) measure(c *canvas, l *layout, pw, ph int) {
	em, box := c.em, l.box
	r := room{gap: max(l.gap, em*3/2)}
	r.axes = axes{
		x: c.xTicks(box.Min.X, box.Max.X, pw), y: c.yTicks(box.Min.Y, box.Max.Y, ph),
		xLab: c.text.wrap(p.View.X, max(pw, 6*em)), yLab: c.text.wrap(p.View.Y, max(ph, 6*em)),
	}
	// Numbers of neighbouring panels must not touch.
	r.gap = max(r.gap, c.widest(r.axes.x)+em*3/4)
	r.left = len(r.axes.yLab)*c.text.line + em/2 + c.widest(r.axes.y) + em/3 + c.tick() + c.hair()
	// The last number of the last panel may stand out by half of itself.
	r.right = c.widest(r.axes.x) / 2
	most := 0
	for _, q := range p.Panels {
		var h []string
		if q != nil {
			h = c.bold.wrap(q.Heading, pw)
		}
		r.heads, most = append(r.heads, h), max(most, len(h))
	}
	lead := em
	if p.Columns > 1 || most > 0 {
		r.heading, lead = most*c.bold.line+em/3, em/2
	}
	// Upright labels that are longer than the plot is high need room above it.
	long := max(0, c.widestLine(r.axes.yLab)-ph)
	r.below = l.strip + c.xAxisHeight(r.axes.xLab)
	for k := range l.bars {
		b := &l.bars[k]
		if b.upright = p.Columns == 1; b.upright {
			b.label = c.text.wrap(b.of, max(ph, 8*em))
			long = max(long, c.widestLine(b.label)-ph)
			r.right = b.wide(c)
			continue
		}
		wide := (p.Columns-1)*(pw+r.gap) - r.gap
		switch aside := p.aside(); {
		case aside && k == 0:
			wide = pw - min(r.left, pw/2)
		case !aside && k == 1:
			wide = pw
		}
		b.label = c.text.wrap(b.of, wide)
		if !p.aside() || k > 0 {
			r.barsHigh = max(r.barsHigh, c.barThick()+c.xAxisHeight(b.label)+em)
		}
	}
	if p.Columns == 1 {
		r.below = max(r.below, long/2)
	}
	r.below += em
	r.from = l.surround.top(c) - c.em + lead + max(0, long/2-r.heading)
	l.room = r
}

// place gives the plots the room that is left and places them, the bars and the legend.
func (p *Page) place(c *canvas, l *layout, size image.Point, ratio float64) (pw, ph int, err error) {
	em, cols, rows := c.em, p.Columns, len(p.Panels)/p.Columns
	free := size.Y == 0 // the height of the page follows
	rowGap := l.strip + c.tick() + em
	availW := (size.X - 2*c.margin() - l.left - l.right - (cols-1)*l.gap) / cols
	availH := int(0.95 * float64(size.X))
	if !free {
		availH = (size.Y-l.from-l.below-l.barsHigh-l.under-(rows-1)*rowGap)/rows - l.heading
	}
	if least := 7 * em / 2; availW < least || availH < least {
		return 0, 0, fmt.Errorf("picture of %d × %d pixels with %d rows: its texts leave %d × %d pixels for a panel, at least %d each are needed: make the picture larger or the texts shorter",
			size.X, size.Y, rows, max(availW, 0), max(availH, 0), least)
	}
	fw := min(float64(availW), float64(availH)/ratio)
	pw, ph = max(int(fw), 1), max(int(math.Round(fw*ratio)), 1)
	// A hair-thin plane is drawn at least some pixels wide; the scales of its axes
	// then differ, which the numbers show.
	pw, ph = max(pw, min(2*em, availW)), max(ph, min(2*em, availH))
	// Plots and bars stand in the middle of the page.
	x0 := c.margin() + l.left + cols*(availW-pw)/2
	l.plots = l.plots[:0]
	for i := range p.Panels {
		x, y := x0+i%cols*(pw+l.gap), l.from+l.heading+i/cols*(l.heading+ph+rowGap)
		l.plots = append(l.plots, image.Rect(x, y, x+pw, y+ph))
	}
	y := l.plots[len(l.plots)-1].Max.Y
	bottom := size.Y - l.under
	if free {
		bottom = math.MaxInt
	}
	below := max(l.below, l.placeBars(c, p, y+l.below, bottom))
	if free {
		l.size.Y = max(y+below+l.barsHigh+l.under, minHeight)
	}
	l.legendY = l.size.Y - l.under
	return pw, ph, nil
}

// placeBars places the bars beside the plot or from y down, and gives the room below the
// plot that an upright one needs. A bar shorter than its tips and a few numbers grows
// beyond the plot, as far as bottom.
func (l *layout) placeBars(c *canvas, p *Page, y, bottom int) (below int) {
	// The first bar is as wide as all columns but the last, or as the first where it stands aside.
	split, aside := p.Columns-1, p.aside()
	if aside {
		split = 1
	}
	for k := range l.bars {
		b := &l.bars[k]
		if b.upright {
			r := l.plots[0]
			x := r.Max.X + c.em*5/4
			b.box = image.Rect(x, r.Min.Y, x+c.barThick(), r.Max.Y)
			b.labelX = r.Max.X + b.wide(c) - len(b.label)*c.text.line
			if least := 2*c.tip() + 4*c.em; r.Dy() < least && r.Min.Y+least+c.em <= bottom {
				b.box.Max.Y = r.Min.Y + least
				below = least - r.Dy() + c.em
			}
			continue
		}
		y, x0, x1 := y, l.plots[0].Min.X, l.plots[split-1].Max.X
		switch {
		case k == 1:
			x0, x1 = l.plots[split].Min.X, l.plots[p.Columns-1].Max.X
		case aside:
			y = l.plots[0].Max.Y + l.strip + c.xAxisHeight(l.axes.xLab) + c.em
			x1 = l.plots[1].Min.X - l.left - c.em
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
		b.box = image.Rect(x0, y, x1, y+c.barThick())
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

// around draws everything round the plots.
func (p *Page) around(c *canvas, l *layout, seen shown) {
	for i, q := range p.Panels {
		if q == nil {
			continue
		}
		r := l.plots[i]
		low, outer := p.free(i+p.Columns), i%p.Columns == 0 || p.free(i-1)
		c.drawAxes(r, [4]float64{l.box.Min.X, l.box.Max.X, l.box.Min.Y, l.box.Max.Y}, l.axes, l.strip, low, outer)
		c.write(block{c.bold, l.heads[i], c.theme.Ink}, r.Min.X, r.Min.Y-c.em/3-len(l.heads[i])*c.bold.line)
		if low {
			c.centred(l.axes.xLab, r, r.Max.Y+l.strip+c.xAxisHeight(nil))
		}
		if outer {
			c.writeUpward(l.axes.yLab, r.Min.X-l.left, r.Min.Y, r.Max.Y)
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
	c.legend(legendOf(p.Panels, seen), l.width, l.legendY)
}
