package render

import (
	"image"
	"image/color"
	"math"

	"github.com/fogleman/gg"
)

// bar is the colour bar of a quantity: the colours of a scale along box, upward or to the
// right, with a tip at each end behind which values lie.
type bar struct {
	of          string // the quantity
	scale       Scale
	under, over bool
	upright     bool
	box         image.Rectangle
	label       []string
	labelX      int // of an upright label
}

const underText, overText = "below", "above"

func (c *canvas) tip() int { return c.em * 3 / 2 }

func (c *canvas) barThick() int { return c.em * 5 / 4 }

// wide is the room that an upright bar takes beside a plot, with its texts.
func (b *bar) wide(c *canvas) int {
	w := 0
	for k := range b.scale.Levels {
		w = max(w, c.small.width(b.scale.text(k)))
	}
	if b.under {
		w = max(w, c.small.width(underText))
	}
	if b.over {
		w = max(w, c.small.width(overText))
	}
	return c.em*5/4 + c.barThick() + c.hair() + c.tick() + c.em/3 + w + c.em/2 + len(b.label)*c.text.line
}

// turned exchanges the axes of an upright bar's places, which are first given along it and
// across.
func (b *bar) turned(along0, across0, along1, across1 int) image.Rectangle {
	if b.upright {
		along0, across0, along1, across1 = across0, along0, across1, along1
	}
	return image.Rect(along0, across0, along1, across1)
}

// body is the part of the bar between the tips, from its low end to its high one, and what is
// the step upward along it.
func (b *bar) body(c *canvas) (r image.Rectangle, low, high, up int) {
	r = b.box
	low, high, up = r.Min.X, r.Max.X, 1
	if b.upright {
		low, high, up = r.Max.Y, r.Min.Y, -1
	}
	if b.under {
		low += up * c.tip()
	}
	if b.over {
		high -= up * c.tip()
	}
	across := [2]int{r.Min.Y, r.Max.Y}
	if b.upright {
		across = [2]int{r.Min.X, r.Max.X}
	}
	return b.turned(low, across[0], high, across[1]), low, high, up
}

// draw paints the bar and its texts; ticks whose numbers would touch are left
// without a number, evenly.
func (b *bar) draw(c *canvas) {
	body, low, high, up := b.body(c)
	long := (high - low) * up
	if long < 2 {
		return
	}
	s := b.scale
	inner, outer := body.Min.Y, body.Max.Y
	if b.upright {
		inner, outer = body.Min.X, body.Max.X
	}
	pos := func(k int) int { return int(math.Round(s.at(s.Levels[k]) * float64(long))) }
	for k := range len(s.Levels) - 1 {
		c.fill(b.turned(low+up*pos(k), inner, low+up*pos(k+1), outer), s.bandColor(k))
	}
	c.border(body, c.theme.Ink)

	t, n, gap := c.hair(), c.tick(), c.hair()+int(math.Round(float64(c.em)/5))
	g := gg.NewContextForRGBA(c.img)
	for _, e := range []struct {
		on       bool
		col      color.RGBA
		end, out int
		text     string
	}{{b.under, s.Map.Under, low, -up, underText}, {b.over, s.Map.Over, high, up, overText}} {
		if !e.on {
			continue
		}
		// A triangle beyond the end, with its name behind it or beside an upright one.
		foot, point, middle := e.end+e.out*gap, e.end+e.out*(c.tip()-c.em/3), float64(inner+outer)/2
		corners := []pt{{float64(foot), float64(inner)}, {float64(foot), float64(outer)}, {float64(point), middle}}
		at := image.Pt(e.end+e.out*c.tip(), (inner+outer+c.small.caps)/2)
		if e.out < 0 {
			at.X -= c.small.width(e.text)
		}
		if b.upright {
			for i, p := range corners {
				corners[i] = pt{p.y, p.x}
			}
			at = image.Pt(outer+t+n+c.em/3, e.end+e.out*(c.tip()*4/5)+c.small.caps/2)
		}
		area(g, e.col, corners)
		outline(g, c.theme.Ink, float64(t), corners)
		c.say(c.small, e.text, at.X, at.Y, c.theme.Faint)
	}

	for k, every := 0, b.every(c, pos); k < len(s.Levels); k++ {
		p, text := low+up*pos(k), s.text(k)
		tick := b.turned(p-t/2, outer+t, p-t/2+t, outer+t+n)
		c.fill(tick, c.theme.Ink)
		if !b.named(k, every) {
			continue
		}
		if b.upright {
			c.say(c.small, text, tick.Max.X+c.em/3, p+c.small.caps/2, c.theme.Ink)
		} else {
			c.say(c.small, text, p-c.small.width(text)/2, tick.Max.Y+c.em/3+c.small.caps, c.theme.Ink)
		}
	}
}

// named reports whether level k carries its number when every n-th does. On a
// scale about 0 they are counted from the middle outward, so that both arms agree.
func (b *bar) named(k, every int) bool {
	n := len(b.scale.Levels)
	if b.scale.Lo == -b.scale.Hi && n%2 == 0 && k >= n/2 {
		k = n - 1 - k
	}
	return k%every == 0
}

// every finds the smallest n for which numbers at every n-th level do not touch.
func (b *bar) every(c *canvas, pos func(k int) int) int {
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
			p := pos(k)
			ok = p-last >= half+lastHalf
			last, lastHalf = p, half
		}
		if ok {
			return n
		}
	}
	return max(1, len(s.Levels)-1)
}
