package render

import (
	"fmt"
	"image/color"
	"math"

	"github.com/fogleman/gg"
)

// Vectors are velocities within the plane, drawn as arrows that stand evenly on the
// page whatever the samples do. X and Y have one value a sample; where either is
// NaN or infinite there is no arrow.
type Vectors struct {
	X, Y []float64
	// Full is the length of a vector that is drawn as long as the sample in the
	// legend, and Name what the legend says of it. Pictures that share Full can be
	// compared.
	Full float64
	Name string
}

// fullLength is how long a vector of length Full is drawn, in ems: as the legend's
// swatch is wide.
const fullLength = 2

// vectorPitch is the distance between arrows, in ems: vectors of up to Full leave
// the tail of the next one free.
const vectorPitch = 2.2

// least drawn: below this part of an em an arrow is no more than its head.
const leastVector = 0.2

// vectors draws the panel's arrows, their tails at the places they belong to.
func (d *painter) vectors(v *Vectors, s *Sampler, x, y []float64) {
	dx, dy := s.Field(x), s.Field(y)
	pitch := vectorPitch * d.em
	nx, ny := max(1, int(float64(d.w)/pitch)), max(1, int(float64(d.h)/pitch))
	scale := fullLength * d.em / v.Full
	for j := range ny {
		for i := range nx {
			px := int((float64(i) + 0.5) * float64(d.w) / float64(nx))
			py := int((float64(j) + 0.5) * float64(d.h) / float64(ny))
			k := py*d.w + px
			u, w := float64(dx[k])*scale, float64(dy[k])*scale
			n := math.Hypot(u, w)
			if !(n >= leastVector*d.em && n <= math.MaxFloat32) {
				continue
			}
			p := pt{float64(px) + 0.5, float64(py) + 0.5}
			if q := (pt{p.x + u, p.y - w}); d.edges().holds(q) {
				drawVector(d.gg, p, q, d.em)
			}
		}
	}
}

// drawVector draws a thin arrow with an open head, on a halo.
func drawVector(g *gg.Context, p, q pt, em float64) {
	n := math.Hypot(q.x-p.x, q.y-p.y)
	ux, uy := (q.x-p.x)/n, (q.y-p.y)/n
	h := min(0.4*em, n/2)
	lines := [][]pt{{p, q}, {{q.x - h*(ux+uy*0.55), q.y - h*(uy-ux*0.55)}, q, {q.x - h*(ux-uy*0.55), q.y - h*(uy+ux*0.55)}}}
	stroke(g, color.NRGBA{markHalo.R, markHalo.G, markHalo.B, 150}, max(2.4, em/5), nil, lines...)
	stroke(g, markInk, max(1, em/13), nil, lines...)
}

func (v *Vectors) check(samples int) error {
	if len(v.X) != samples || len(v.Y) != samples {
		return fmt.Errorf("%d and %d components of vectors on %d samples: one each a sample is needed", len(v.X), len(v.Y), samples)
	}
	if !(v.Full > 0 && v.Full <= math.MaxFloat64) {
		return fmt.Errorf("vectors with the full length %g: a positive number is needed", v.Full)
	}
	return nil
}
