package render

import (
	"cmp"
	"image/color"
	"math"

	"github.com/fogleman/gg"

	"wakeledger/grid"
)

// Spots are the positions of samples of one kind.
type Spots struct {
	Name string
	At   []grid.Point
}

// spotInks has a colour a kind; the shapes differ too, for readers without colours.
var spotInks = [4]color.RGBA{chartLine, {190, 122, 22, 255}, chartAlarm, {62, 110, 62, 255}}

func drawSpot(g *gg.Context, p pt, r float64, kind int) {
	kind %= len(spotInks)
	c, width := spotInks[kind], max(1, r/2.5)
	square := []pt{{p.x - r, p.y - r}, {p.x + r, p.y - r}, {p.x + r, p.y + r}, {p.x - r, p.y + r}}
	switch kind {
	case 0:
		disc(g, c, p, r)
	case 1:
		ring(g, c, width, p, 1.25*r)
	case 2:
		stroke(g, c, width, nil, []pt{square[0], square[2]}, []pt{square[3], square[1]})
	default:
		outline(g, c, width, square)
	}
}

func boundsOf(spots []Spots) (b grid.Box, n int) {
	b = grid.EmptyBox()
	for _, s := range spots {
		for _, p := range s.At {
			b, n = b.Extend(p), n+1
		}
	}
	return b, n
}

// spotsBox holds all spots with a margin, and the ground where it is near.
func spotsBox(spots []Spots, ground bool) grid.Box {
	box, _ := boundsOf(spots)
	pad := cmp.Or(max(box.Width(), box.Height())*0.04, 0.1)
	box.Min.X, box.Min.Y, box.Max.X, box.Max.Y = box.Min.X-pad, box.Min.Y-pad, box.Max.X+pad, box.Max.Y+pad
	if ground && box.Min.Y < 0.2*box.Height() {
		box.Min.Y = min(0, box.Min.Y+pad)
	}
	return box
}

// spots draws the panel's spots, at most as large as a third of their distance if they
// were shared out evenly.
func (d *painter) spots(spots []Spots) {
	b, k := boundsOf(spots)
	n := float64(k)
	spacing := max(math.Sqrt(b.Area()/n), max(b.Width(), b.Height())/n) * float64(d.w) / d.box.Width()
	r := max(1.5, min(0.3*d.em, 0.3*spacing))
	for kind, s := range spots {
		for _, at := range s.At {
			if p := d.at(at); d.edges().grown(r).holds(p) {
				drawSpot(d.gg, p, r, kind)
			}
		}
	}
}
