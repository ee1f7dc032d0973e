package render

// placer finds room for texts: inside an area, without touching what was placed
// before.
type placer struct {
	area  frame
	taken []frame
}

func (p *placer) free(f frame) bool {
	if !f.within(p.area) {
		return false
	}
	for _, t := range p.taken {
		if f.meets(t) {
			return false
		}
	}
	return true
}

// take books a frame.
func (p *placer) take(f frame) { p.taken = append(p.taken, f) }

// put books the first free place for a text of w × h among the upper left corners
// in want, and failing these the free place nearest to the first of them. It says
// false when the area is full.
func (p *placer) put(w, h float64, want ...pt) (pt, bool) {
	for _, c := range want {
		if f := (frame{c.x, c.y, c.x + w, c.y + h}); p.free(f) {
			p.take(f)
			return c, true
		}
	}
	best, found, least := pt{}, false, 0.0
	step := max(h/2, 1)
	for y := p.area.y0; y+h <= p.area.y1; y += step {
		for x := p.area.x0; x+w <= p.area.x1; x += step {
			d := (x-want[0].x)*(x-want[0].x) + (y-want[0].y)*(y-want[0].y)
			if found && d >= least {
				continue
			}
			if p.free(frame{x, y, x + w, y + h}) {
				best, found, least = pt{x, y}, true, d
			}
		}
	}
	if found {
		p.take(frame{best.x, best.y, best.x + w, best.y + h})
	}
	return best, found
}
