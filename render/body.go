package render

import (
	"math"
	"slices"

	"wakeledger/grid"
)

// bodyMask marks the pixels inside the hull of the mesh that no element covers:
// a body that the plane cuts, or a part that was not surveyed. Slivers that are
// thinner than about four pixels, which the rim of a triangulation is full of, are
// left out.
func bodyMask(s *Sampler) []bool {
	mask, bare := make([]bool, s.W*s.H), s.bare()
	left, right := hull(s.mesh)
	any := false
	for j := range s.H {
		x0, ok := across(left, s.y(j))
		x1, also := across(right, s.y(j))
		if !ok || !also {
			continue
		}
		k := float64(s.W) / s.Box.Width()
		i0, i1 := span((x0-s.Box.Min.X)*k-0.5, (x1-s.Box.Min.X)*k-0.5, 0, s.W)
		for i := i0; i <= i1; i++ {
			mask[j*s.W+i] = bare[j*s.W+i]
			any = any || mask[j*s.W+i]
		}
	}
	if any {
		dropSlivers(mask, s.W, s.H)
	}
	return mask
}

// hull is the convex hull of the mesh, as its left and its right side from the lowest point to
// the highest: of a lattice the rectangle of its lines, else that of the samples, by the monotone
// chain of Andrew, Inf. Proc. Letters 9(5) 216 (1979). Only the outermost samples of each of some
// thousand bands of Y are looked at, so the hull may miss the truth by a thousandth of the height;
// it is found without sorting.
func hull(m *grid.Mesh) (left, right []grid.Point) {
	box := grid.Bounds(m.Points)
	if m.Kind == grid.KindLattice {
		x, y := m.Lattice.X, m.Lattice.Y
		box = grid.Box{Min: grid.Point{X: x[0], Y: y[0]}, Max: grid.Point{X: x[len(x)-1], Y: y[len(y)-1]}}
		return []grid.Point{box.Min, {X: box.Min.X, Y: box.Max.Y}}, []grid.Point{{X: box.Max.X, Y: box.Min.Y}, box.Max}
	}
	if !(box.Height() > 0) {
		return nil, nil
	}
	const bands = 2048
	ends := make([][2]grid.Point, bands)
	for k := range ends {
		ends[k] = [2]grid.Point{{X: math.Inf(1)}, {X: math.Inf(-1)}}
	}
	low, high := m.Points[0], m.Points[0]
	for _, p := range m.Points {
		e := &ends[min(int((p.Y-box.Min.Y)/box.Height()*bands), bands-1)]
		if p.X < e[0].X {
			e[0] = p
		}
		if p.X > e[1].X {
			e[1] = p
		}
		if p.Y < low.Y {
			low = p
		}
		if p.Y > high.Y {
			high = p
		}
	}
	add := func(side []grid.Point, p grid.Point, turn float64) []grid.Point {
		for n := len(side); n > 1 && !(turn*grid.TriangleArea(side[n-2], side[n-1], p) > 0); n-- {
			side = side[:n-1]
		}
		return append(side, p)
	}
	left, right = append(left, low), append(right, low)
	for _, e := range append(ends, [2]grid.Point{high, high}) {
		if e[0].X <= e[1].X {
			left, right = add(left, e[0], -1), add(right, e[1], 1)
		}
	}
	return left, right
}

// across is where the line Y = y cuts a side of a hull.
func across(side []grid.Point, y float64) (x float64, ok bool) {
	for i := 1; i < len(side); i++ {
		if a, b := side[i-1], side[i]; a.Y <= y && y <= b.Y && a.Y < b.Y {
			return a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X), true
		}
	}
	return 0, false
}

// dropSlivers removes the connected parts of a mask that hold no 5 × 5 block.
func dropSlivers(mask []bool, w, h int) {
	// Where five in a row end; then five such rows.
	keep, run := make([]bool, len(mask)), make([]uint8, len(mask))
	var grow []int
	for j := range h {
		n := 0
		for i := range w {
			k := j*w + i
			if n++; !mask[k] {
				n = 0
			}
			if n < 5 {
				continue
			}
			run[k] = 1
			if j > 0 {
				run[k] = min(run[k-w]+1, 5)
			}
			if run[k] == 5 {
				keep[k] = true
				grow = append(grow, k)
			}
		}
	}
	for len(grow) > 0 {
		k := grow[len(grow)-1]
		grow = grow[:len(grow)-1]
		for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
			x, y := k%w+d[0], k/w+d[1]
			if q := y*w + x; x >= 0 && x < w && y >= 0 && y < h && mask[q] && !keep[q] {
				keep[q] = true
				grow = append(grow, q)
			}
		}
	}
	copy(mask, keep)
}

// NearBody tells the places that lie no further than about d from a body that the mesh leaves
// free, or in it.
func NearBody(m *grid.Mesh, d float64) func(p grid.Point) bool {
	const most = 2000 // pixels a side
	box := m.Window()
	w, h := min(int(2*box.Width()/d), most)+1, min(int(2*box.Height()/d), most)+1
	s := NewSampler(m.NodalMesh(), box, w, h)
	body, kx, ky := s.body(), float64(w)/box.Width(), float64(h)/box.Height()
	return func(p grid.Point) bool {
		x0, x1 := span((p.X-d-box.Min.X)*kx-0.5, (p.X+d-box.Min.X)*kx-0.5, 0, w)
		y0, y1 := span((box.Max.Y-p.Y-d)*ky-0.5, (box.Max.Y-p.Y+d)*ky-0.5, 0, h)
		for y := y0; y <= y1; y++ {
			if x0 <= x1 && slices.Contains(body[y*w+x0:y*w+x1+1], true) {
				return true
			}
		}
		return false
	}
}
