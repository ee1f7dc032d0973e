package render

import (
	"slices"

	"wakeledger/grid"
)

const (
	// leastOpen is the area, in squares of the sample distance, from which a gap that reaches the
	// rim is shown: the rim of a triangulation is full of smaller ones.
	leastOpen = 16
	// aboutGap is how far about a gap what has no element belongs to it, in sample distances: on a
	// lattice, elements with a missing corner are bare too.
	aboutGap = 2
)

// bodyMask marks the pixels without an element that belong to a gap of the mesh: a body that the
// plane cuts, or a part that was not surveyed.
func bodyMask(s *Sampler) []bool {
	mask, bare, h, window := make([]bool, s.W*s.H), s.bare(), s.mesh.Spacing(), s.mesh.Window()
	for _, g := range s.mesh.Gaps {
		if (g.Left || g.Right || g.Top) && g.Area < leastOpen*h*h {
			continue
		}
		x0, x1, y0, y1 := s.pixels(g.Box, aboutGap*h, window)
		for y := y0; y <= y1 && x0 <= x1; y++ {
			copy(mask[y*s.W+x0:y*s.W+x1+1], bare[y*s.W+x0:])
		}
	}
	return mask
}

// pixels are the columns and rows with their centres in a box with a margin and in the window; none
// where the first is greater than the second.
func (s *Sampler) pixels(b grid.Box, margin float64, window grid.Box) (x0, x1, y0, y1 int) {
	b = grid.Box{Min: grid.Point{X: b.Min.X - margin, Y: b.Min.Y - margin}, Max: grid.Point{X: b.Max.X + margin, Y: b.Max.Y + margin}}.Intersect(window)
	v := s.view()
	lo, hi := v.pixel(grid.Point{X: b.Min.X, Y: b.Max.Y}), v.pixel(grid.Point{X: b.Max.X, Y: b.Min.Y})
	x0, x1 = span(lo.X, hi.X, s.W)
	y0, y1 = span(lo.Y, hi.Y, s.H)
	return x0, x1, y0, y1
}

// NearBody tells the places that lie no further than about d from a body that the mesh leaves
// free, or in it.
func NearBody(m *grid.Mesh, d float64) func(p grid.Point) bool {
	const most = 2000 // pixels a side
	box := m.Window()
	w, h := min(int(2*box.Width()/d), most)+1, min(int(2*box.Height()/d), most)+1
	s := NewSampler(m.NodalMesh(), box, w, h)
	body, window := s.body(), s.mesh.Window()
	return func(p grid.Point) bool {
		x0, x1, y0, y1 := s.pixels(grid.Box{Min: p, Max: p}, d, window)
		for y := y0; y <= y1; y++ {
			if x0 <= x1 && slices.Contains(body[y*w+x0:y*w+x1+1], true) {
				return true
			}
		}
		return false
	}
}
