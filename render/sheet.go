package render

import (
	"errors"
	"fmt"
	"image"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
)

// Row is one comparison: what was changed from, what it was changed to, and the
// change, variant minus baseline.
type Row struct{ Baseline, Variant, Difference Panel }

// Compare adds to the variant's panel what shows the change: the baseline's wake
// outline, dashed, and an arrow from the baseline's centroid to the variant's with
// its length. word follows the length, "inboard" say. Without centroids there is no
// arrow.
func (r *Row) Compare(outline []isoline.Line, centroids *[2]grid.Point, word string) {
	if len(outline) > 0 {
		r.Variant.Outlines = append(slices.Clone(r.Variant.Outlines), Outline{Lines: outline, Name: "wake outline of the baseline", Dashed: true})
	}
	if centroids == nil {
		return
	}
	r.Baseline.Markers = append(slices.Clone(r.Baseline.Markers), Marker{At: centroids[0], Name: "centroid, baseline", Open: true})
	r.Variant.Markers = append(slices.Clone(r.Variant.Markers),
		Marker{At: centroids[0], Name: "centroid, baseline", Open: true}, Marker{At: centroids[1], Name: "centroid, variant"})
	r.Variant.Arrows = append(slices.Clone(r.Variant.Arrows), Arrow{From: centroids[0], To: centroids[1], Label: word})
}

// Sheet shows comparisons, one a row: baseline, variant, difference. The first
// two columns share one scale and colour bar, the third has its own. All panels
// show the same part of the plane.
type Sheet struct {
	Title, Subtitle, Footer string
	Quantity, Difference    Quantity
	View                    View
	Rows                    []Row
	Theme                   Theme
	// Text is the least size of plain text in pixels, as a picture for print needs
	// it; 0 leaves it to the size of the page.
	Text float64
}

func (s *Sheet) panels() []*Panel {
	var out []*Panel
	for i := range s.Rows {
		r := &s.Rows[i]
		out = append(out, &r.Baseline, &r.Variant, &r.Difference)
	}
	return out
}

// check names the first thing that cannot be drawn, and where it is.
func (s *Sheet) check() error {
	if len(s.Rows) == 0 {
		return errors.New("sheet without rows: at least one comparison is needed")
	}
	for i, p := range s.panels() {
		name := fmt.Sprintf("row %d, column %d", i/3+1, i%3+1)
		if err := p.check(); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		first := &s.Rows[0].Baseline
		if i%3 == 2 {
			first = &s.Rows[0].Difference
		}
		if !slices.Equal(p.Scale.Levels, first.Scale.Levels) || p.Scale.Map.Name != first.Scale.Map.Name {
			return fmt.Errorf("%s: scale %g…%g differs from %g…%g in the first row: panels that share a colour bar need one scale",
				name, p.Scale.Lo, p.Scale.Hi, first.Scale.Lo, first.Scale.Hi)
		}
	}
	return nil
}

// sheetLayout is where everything of a sheet goes.
type sheetLayout struct {
	size         image.Point
	plots        []image.Rectangle // three a row
	heads        [][]string        // headings of the panels
	strip        int
	axes         axes
	left         int
	bars         [2]bar
	barBox       [2]image.Rectangle
	barLab       [2][]string
	head         []block
	foot         block
	legendY      int
	headingLines int
}

// DrawSheet lays out and draws a sheet; size is as for Draw. The view's box is that
// of the first baseline where it is not set.
func DrawSheet(s Sheet, size image.Point) (*image.RGBA, error) {
	if err := checkSize(size); err != nil {
		return nil, err
	}
	if err := s.check(); err != nil {
		return nil, err
	}
	// The arrows' factors are set here and not in the caller's panels.
	s.Rows = slices.Clone(s.Rows)
	for _, p := range s.panels() {
		p.Arrows = slices.Clone(p.Arrows)
	}
	box, err := s.View.box(s.Rows[0].Baseline.Mesh)
	if err != nil {
		return nil, err
	}
	c := newCanvas(s.Theme, size.X*4/5, size.Y, s.Text)
	l, err := laySheet(c, &s, box, size)
	if err != nil {
		return nil, err
	}
	if s.equalArrows(l.plots[0], box, c) {
		// The legend has an entry more.
		if l, err = laySheet(c, &s, box, size); err != nil {
			return nil, err
		}
	}
	c.paper(l.size.X, l.size.Y)

	body := false
	for i, p := range s.panels() {
		r := l.plots[i]
		img, b, err := paintPanel(p, s.View, box, r.Dx(), r.Dy(), c)
		if err != nil {
			return nil, fmt.Errorf("row %d, column %d: %w", i/3+1, i%3+1, err)
		}
		c.put(img, r.Min)
		body = body || b
	}
	c.sheetPage(l, &s, box, body)
	return c.img, nil
}

// equalArrows gives all arrows of the sheet that leave their factor to the picture
// the least of those that fit, so that they can be compared, and says whether there
// are any.
func (s *Sheet) equalArrows(plot image.Rectangle, box grid.Box, c *canvas) bool {
	d := &painter{w: plot.Dx(), h: plot.Dy(), box: box, em: float64(c.em)}
	least := math.MaxInt
	each := func(f func(a *Arrow)) {
		for _, p := range s.panels() {
			for k := range p.Arrows {
				if p.Arrows[k].Magnify == 0 || p.Arrows[k].told {
					f(&p.Arrows[k])
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
	if least == math.MaxInt {
		return false
	}
	each(func(a *Arrow) { a.Magnify, a.told = least, true })
	return true
}

// sheetPage draws everything round the plots.
func (c *canvas) sheetPage(l *sheetLayout, s *Sheet, box grid.Box, body bool) {
	panels := s.panels()
	missing := false
	for i, p := range panels {
		r := l.plots[i]
		_, _, m := p.beyond()
		missing = missing || m
		last := i+3 >= len(panels)
		c.drawAxes(r, limits(box), l.axes, l.strip, last, i%3 == 0)
		c.write(block{c.bold, l.heads[i], c.theme.Ink}, r.Min.X, r.Min.Y-c.em/3-len(l.heads[i])*c.bold.line)
		if last {
			y := r.Max.Y + l.strip + c.xAxisHeight(nil)
			for _, line := range l.axes.xLab {
				c.say(c.text, line, r.Min.X+(r.Dx()-c.text.width(line))/2, y+(c.text.line+c.text.caps)/2, c.theme.Ink)
				y += c.text.line
			}
		}
		if i%3 == 0 {
			c.writeUpward(l.axes.yLab, l.left, r.Min.Y, r.Max.Y)
		}
	}
	for k, b := range l.bars {
		b.draw(c, l.barBox[k])
		y := l.barBox[k].Max.Y + c.hair() + c.tick() + c.em/3 + c.small.line
		for _, line := range l.barLab[k] {
			c.say(c.text, line, (l.barBox[k].Min.X+l.barBox[k].Max.X-c.text.width(line))/2, y+(c.text.line+c.text.caps)/2, c.theme.Ink)
			y += c.text.line
		}
	}
	c.frameTexts(l.head, l.foot, legendOf(panels, body, missing), l.legendY)
}

func laySheet(c *canvas, s *Sheet, box grid.Box, size image.Point) (*sheetLayout, error) {
	l := &sheetLayout{size: size}
	mg, em := c.margin(), c.em
	inner := size.X - 2*mg
	l.head = c.head(s.Title, inner, s.Subtitle, s.View.From)
	l.foot = block{c.note, c.note.wrap(s.Footer, inner), c.theme.Faint}
	panels := s.panels()
	l.bars[0] = bar{scale: panels[0].Scale}
	l.bars[1] = bar{scale: panels[2].Scale}
	missing, body := false, false
	for i, p := range panels {
		u, o, m := p.beyond()
		b := &l.bars[i%3/2]
		b.under, b.over, missing = b.under || u, b.over || o, missing || m
		body = body || s.View.Body && p.mayHaveBody()
	}
	rows := len(c.arrange(legendOf(panels, body, missing), inner).rows)
	if stripWanted(s.View, box) {
		l.strip = em * 4 / 5
	}
	footer := mg + l.foot.height() + rows*c.legendRow()
	if len(l.foot.lines) > 0 {
		footer += em / 2
	}
	n := len(s.Rows)
	ratio := box.Height() / box.Width()
	gap := em * 3 / 2 // at least; numbers of neighbouring panels must not touch
	pw := inner / 4
	ph := int(float64(pw) * ratio)
	for range 3 {
		l.axes.x, l.axes.y = c.xTicks(box.Min.X, box.Max.X, pw), c.yTicks(box.Min.Y, box.Max.Y, ph)
		l.axes.xLab = c.text.wrap(s.View.X, max(pw, 6*em))
		l.axes.yLab = c.text.wrap(s.View.Y, max(ph, 5*em))
		gap = max(gap, c.widest(l.axes.x)+em*3/4)
		left := len(l.axes.yLab)*c.text.line + em/2 + c.widest(l.axes.y) + em/3 + c.tick() + c.hair()
		// The last number of the last panel may stand out by half of itself.
		right := c.widest(l.axes.x) / 2
		l.heads, l.headingLines = nil, 0
		for _, p := range panels {
			h := c.bold.wrap(p.Heading, pw)
			l.heads = append(l.heads, h)
			l.headingLines = max(l.headingLines, len(h))
		}
		heading := l.headingLines*c.bold.line + em/3
		rowGap := l.strip + c.tick() + em
		upright := max(0, (textsWidth(c, l.axes.yLab)-ph)/2-heading)
		top := mg + heightOf(l.head) + em/2 + upright

		// Below the last row: numbers and labels of X, the bars, their numbers, labels.
		barThick := em * 5 / 4
		l.barLab[0] = c.text.wrap(s.Quantity.String(), 2*pw+gap)
		l.barLab[1] = c.text.wrap(s.Difference.String(), pw)
		below := l.strip + c.xAxisHeight(l.axes.xLab) + em
		barsH := barThick + c.hair() + c.tick() + em/3 + c.small.line + max(len(l.barLab[0]), len(l.barLab[1]))*c.text.line + em

		availW := (inner - left - right - 2*gap) / 3
		availH := int(0.95 * float64(size.X))
		if size.Y > 0 {
			availH = (size.Y-top-below-barsH-footer-(n-1)*rowGap)/n - heading
		}
		if availW < 3*em || availH < 3*em {
			return nil, fmt.Errorf("sheet of %d × %d pixels with %d rows: its texts leave %d × %d pixels for a panel, at least %d each are needed: make the sheet larger or the texts shorter",
				size.X, size.Y, n, max(availW, 0), max(availH, 0), 3*em)
		}
		fw := min(float64(availW), float64(availH)/ratio)
		pw, ph = max(int(fw), 1), max(int(math.Round(fw*ratio)), 1)
		pw, ph = max(pw, min(2*em, availW)), max(ph, min(2*em, availH))

		x0 := mg + left + (3*availW-3*pw)/2
		l.left = x0 - left
		l.plots = l.plots[:0]
		y := top
		for range n {
			y += heading
			for k := range 3 {
				x := x0 + k*(pw+gap)
				l.plots = append(l.plots, image.Rect(x, y, x+pw, y+ph))
			}
			y += ph + rowGap
		}
		y += below - rowGap
		for k := range l.barBox {
			a, b := l.plots[0].Min.X, l.plots[1].Max.X
			if k == 1 {
				a, b = l.plots[2].Min.X, l.plots[2].Max.X
			}
			// The names of the tips stand beside the bar.
			if l.bars[k].under {
				a += c.small.width(underText) - c.em/3
			}
			if l.bars[k].over {
				b -= c.small.width(overText) - c.em/3
			}
			// A bar much longer than it need be is no easier to read.
			if most := 40 * em; b-a > most {
				a, b = (a+b-most)/2, (a+b+most)/2
			}
			l.barBox[k] = image.Rect(a, y, b, y+barThick)
		}
		if size.Y == 0 {
			l.size.Y = max(y+barsH+footer, minHeight)
		}
		l.legendY = l.size.Y - footer
	}
	return l, nil
}
