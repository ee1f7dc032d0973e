package render

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"

	"github.com/fogleman/gg"

	"wakeledger/grid"
)

// Spot is the position of a sample; Kind is an index into the panel's kinds.
type Spot struct {
	At   grid.Point
	Kind int
}

// spotInks has a colour a kind; the shapes differ too, for readers without colours.
var spotInks = []color.RGBA{chartLine, {190, 122, 22, 255}, chartAlarm, {62, 110, 62, 255}, {110, 74, 134, 255}, {90, 90, 90, 255}}

// maxKinds is how many kinds can be told apart.
const maxKinds = 6

func drawSpot(g *gg.Context, p pt, r float64, kind int) {
	c, width := spotInks[kind%maxKinds], max(1, r/2.5)
	square := []pt{{p.x - r, p.y - r}, {p.x + r, p.y - r}, {p.x + r, p.y + r}, {p.x - r, p.y + r}}
	switch kind % maxKinds {
	case 0:
		disc(g, c, p, r)
	case 1:
		ring(g, c, width, p, 1.25*r)
	case 2:
		stroke(g, c, width, nil, []pt{square[0], square[2]}, []pt{square[3], square[1]})
	case 3:
		outline(g, c, width, square)
	case 4:
		area(g, c, []pt{{p.x, p.y - 1.4*r}, {p.x + 1.2*r, p.y + 0.7*r}, {p.x - 1.2*r, p.y + 0.7*r}})
	default:
		area(g, c, square)
	}
}

func checkSpots(spots []Spot, kinds []string) error {
	if len(spots) == 0 || len(kinds) > maxKinds {
		return fmt.Errorf("map of %d positions of %d kinds: at least one, and up to %d kinds, are possible", len(spots), len(kinds), maxKinds)
	}
	for _, s := range spots {
		if s.Kind < 0 || s.Kind >= len(kinds) {
			return fmt.Errorf("position of kind %d at (%g, %g): one of %d kinds is needed", s.Kind, s.At.X, s.At.Y, len(kinds))
		}
	}
	return nil
}

// spotsBox holds all spots with a margin, and the ground where it is near.
func spotsBox(spots []Spot, ground bool) grid.Box {
	box := grid.EmptyBox()
	for _, s := range spots {
		box = box.Extend(s.At)
	}
	pad := max(box.Width(), box.Height()) * 0.04
	if pad == 0 {
		pad = 0.1
	}
	box.Min.X, box.Min.Y, box.Max.X, box.Max.Y = box.Min.X-pad, box.Min.Y-pad, box.Max.X+pad, box.Max.Y+pad
	if ground && box.Min.Y < 0.2*box.Height() {
		box.Min.Y = min(0, box.Min.Y+pad)
	}
	return box
}

// spots draws the panel's spots, at most as large as a third of their distance if they
// were shared out evenly.
func (d *painter) spots(spots []Spot) {
	b := grid.EmptyBox()
	for _, s := range spots {
		b = b.Extend(s.At)
	}
	n := float64(len(spots))
	spacing := max(math.Sqrt(b.Area()/n), max(b.Width(), b.Height())/n) * float64(d.w) / d.box.Width()
	r := max(1.5, min(0.3*d.em, 0.3*spacing))
	for _, s := range spots {
		if p := d.at(s.At); d.edges().grown(r).holds(p) {
			drawSpot(d.gg, p, r, s.Kind)
		}
	}
}

// spotEntries are the legend of the kinds that occur.
func spotEntries(p *Panel) []entry {
	var out []entry
	for k, name := range p.Kinds {
		if slices.ContainsFunc(p.Spots, func(s Spot) bool { return s.Kind == k }) {
			out = append(out, entry{name, func(c *canvas, r image.Rectangle) {
				drawSpot(gg.NewContextForRGBA(c.img), pt{float64(r.Min.X+r.Max.X) / 2, float64(r.Min.Y+r.Max.Y) / 2}, 0.32*float64(c.em), k)
			}})
		}
	}
	return out
}
