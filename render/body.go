package render

import (
	"cmp"
	"slices"

	"wakeledger/grid"
)

// bodyMask marks the pixels inside the hull of the mesh that no element covers:
// a body that the plane cuts, or a part that was not surveyed. Slivers that are
// thinner than about four pixels, which the rim of a triangulation is full of, are
// left out.
func bodyMask(s *Sampler) []bool {
	mask, bare := make([]bool, s.W*s.H), s.bare()
	hull := meshHull(s.mesh)
	if len(hull) < 3 {
		return mask
	}
	any := false
	b := s.Box
	for j := range s.H {
		y := b.Max.Y - (float64(j)+0.5)*b.Height()/float64(s.H)
		x0, x1, ok := chord(hull, y)
		if !ok {
			continue
		}
		k := float64(s.W) / b.Width()
		i0, i1 := span((x0-b.Min.X)*k-0.5, (x1-b.Min.X)*k-0.5, 0, s.W)
		for i := i0; i <= i1; i++ {
			if bare[j*s.W+i] {
				mask[j*s.W+i] = true
				any = true
			}
		}
	}
	if any {
		dropSlivers(mask, s.W, s.H)
	}
	return mask
}

// meshHull is the convex hull of the mesh, anticlockwise: of a lattice the rectangle
// of its lines, else that of the samples. Only the outermost
// samples of each of some thousand bands of Y are looked at, so the hull may miss
// the truth by a thousandth of the height; it is found without sorting all samples.
func meshHull(m *grid.Mesh) []grid.Point {
	if m.Kind == grid.KindLattice {
		x, y := m.Lattice.X, m.Lattice.Y
		x0, x1, y0, y1 := x[0], x[len(x)-1], y[0], y[len(y)-1]
		return []grid.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
	}
	box := grid.Bounds(m.Points)
	if box.Empty() {
		return nil
	}
	const bands = 2048
	type ends struct{ left, right grid.Point }
	e := make([]ends, bands)
	used := make([]bool, bands)
	var low, high grid.Point
	for i, p := range m.Points {
		k := 0
		if h := box.Height(); h > 0 {
			k = min(int((p.Y-box.Min.Y)/h*bands), bands-1)
		}
		if !used[k] {
			used[k] = true
			e[k] = ends{p, p}
		}
		if p.X < e[k].left.X {
			e[k].left = p
		}
		if p.X > e[k].right.X {
			e[k].right = p
		}
		if i == 0 || p.Y < low.Y {
			low = p
		}
		if i == 0 || p.Y > high.Y {
			high = p
		}
	}
	pts := []grid.Point{low, high}
	for k := range e {
		if used[k] {
			pts = append(pts, e[k].left, e[k].right)
		}
	}
	return convexHull(pts)
}

// convexHull is the monotone chain of Andrew, Inf. Proc. Letters 9(5) 216 (1979).
func convexHull(pts []grid.Point) []grid.Point {
	slices.SortFunc(pts, func(a, b grid.Point) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y))
	})
	pts = slices.Compact(pts)
	if len(pts) < 3 {
		return pts
	}
	half := func(in []grid.Point) []grid.Point {
		var h []grid.Point
		for _, p := range in {
			for len(h) > 1 && !(grid.TriangleArea(h[len(h)-2], h[len(h)-1], p) > 0) {
				h = h[:len(h)-1]
			}
			h = append(h, p)
		}
		return h[:len(h)-1]
	}
	lower := half(pts)
	slices.Reverse(pts)
	return append(lower, half(pts)...)
}

// chord is where the line Y = y cuts a convex polygon.
func chord(hull []grid.Point, y float64) (x0, x1 float64, ok bool) {
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		if a.Y > b.Y {
			a, b = b, a
		}
		if !(a.Y <= y && y <= b.Y) || a.Y == b.Y {
			continue
		}
		x := a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X)
		if !ok {
			x0, x1, ok = x, x, true
		}
		x0, x1 = min(x0, x), max(x1, x)
	}
	return x0, x1, ok
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
