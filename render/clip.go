package render

import (
	"image"
	"math"
)

// pt is a place in pixels, x to the right and y down.
type pt struct{ x, y float64 }

func (p pt) finite() bool { return p.x-p.x == 0 && p.y-p.y == 0 }

// frame is a rectangle in pixels.
type frame struct{ x0, y0, x1, y1 float64 }

func (f frame) holds(p pt) bool { return p.x >= f.x0 && p.x <= f.x1 && p.y >= f.y0 && p.y <= f.y1 }

func (f frame) grown(d float64) frame { return frame{f.x0 - d, f.y0 - d, f.x1 + d, f.y1 + d} }

// rect is the frame in whole pixels.
func (f frame) rect() image.Rectangle {
	return image.Rect(int(math.Floor(f.x0)), int(math.Floor(f.y0)), int(math.Ceil(f.x1)), int(math.Ceil(f.y1)))
}

func (f frame) meets(g frame) bool {
	return f.x0 < g.x1 && g.x0 < f.x1 && f.y0 < g.y1 && g.y0 < f.y1
}

func (f frame) within(g frame) bool {
	return f.x0 >= g.x0 && f.x1 <= g.x1 && f.y0 >= g.y0 && f.y1 <= g.y1
}

// clip returns the parts of a polyline that lie in f. Points that are not finite
// break the line. The path library does not return from vertices that are not
// finite or very far away, so everything passes through here first.
func (f frame) clip(line []pt, closed bool) [][]pt {
	if closed && len(line) > 1 {
		line = append(line[:len(line):len(line)], line[0])
	}
	var out [][]pt
	whole := false // the last part may go on
	for i := 1; i < len(line); i++ {
		a, b, ok := f.segment(line[i-1], line[i])
		if !ok || a == b {
			whole = whole && ok
			continue
		}
		n := len(out) - 1
		if !whole || out[n][len(out[n])-1] != a {
			out, n = append(out, []pt{a}), n+1
		}
		out[n], whole = append(out[n], b), true
	}
	return out
}

// segment clips a segment: Liang & Barsky, ACM Trans. Graphics 3(1) 1 (1984).
func (f frame) segment(a, b pt) (pt, pt, bool) {
	dx, dy := b.x-a.x, b.y-a.y
	if dx-dx != 0 || dy-dy != 0 { // nor are the ends finite, or they are too far apart
		return a, b, false
	}
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{{-dx, a.x - f.x0}, {dx, f.x1 - a.x}, {-dy, a.y - f.y0}, {dy, f.y1 - a.y}} {
		p, q := e[0], e[1]
		switch {
		case p == 0:
			if q < 0 {
				return a, b, false
			}
		case p < 0:
			t0 = max(t0, q/p)
		default:
			t1 = min(t1, q/p)
		}
	}
	if !(t0 <= t1) {
		return a, b, false
	}
	at := func(t float64) pt {
		// Rounding may leave the frame by a hair after a far clip.
		return pt{min(max(a.x+t*dx, f.x0), f.x1), min(max(a.y+t*dy, f.y0), f.y1)}
	}
	c, d := a, b
	if t0 > 0 {
		c = at(t0)
	}
	if t1 < 1 {
		d = at(t1)
	}
	return c, d, true
}

// thin leaves out points closer than d to the one kept before; ends are kept.
func thin(line []pt, d float64) []pt {
	if len(line) < 3 {
		return line
	}
	out := line[:1:1]
	for _, p := range line[1 : len(line)-1] {
		if q := out[len(out)-1]; math.Hypot(p.x-q.x, p.y-q.y) >= d {
			out = append(out, p)
		}
	}
	return append(out, line[len(line)-1])
}

func pathLength(line []pt) float64 {
	s := 0.0
	for i := 1; i < len(line); i++ {
		s += math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)
	}
	return s
}
