package grid

import (
	"math"
	"slices"
)

// Limits of coverage.
const (
	// maxProbes is how many probes are laid over a window at most.
	maxProbes = 1 << 22
	// leastGap is the number of probes below which a gap is not told from the
	// rounding of a seam.
	leastGap = 2
)

// Coverage tells, from a raster of probes over the window of a set of polygons,
// which parts no polygon covers and which parts several do. Each probe says
// exactly how many polygons it lies in; a side belongs to one of the two polygons
// that it separates.
type Coverage struct {
	// Gaps are the connected regions without polygons, in the order of their first
	// probe from below. Area and Box are to within a probe along the rim; gaps of a
	// single probe are passed over.
	Gaps []Gap
	// Overlap is the area that is covered more than once, each further cover counted.
	Overlap float64
	// Probe is the area that a probe represents.
	Probe float64
}

// Cover lays probes half of h apart, or further where they would be more than
// four million, over the bounds of the polygons and counts. h must be positive.
func (c *CellSet) Cover(h float64) Coverage {
	box := c.bounds(c.Index)
	w, t := box.Width(), box.Height()
	if !(h > 0 && w > 0 && t > 0) {
		return Coverage{}
	}
	step := math.Max(h/2, math.Sqrt(w*t/maxProbes))
	nx, ny := max(1, int(math.Min(w/step, maxProbes))), max(1, int(math.Min(t/step, maxProbes)))
	for nx*ny > maxProbes { // a very narrow window
		nx, ny = (nx+1)/2, (ny+1)/2
	}
	dx, dy := w/float64(nx), t/float64(ny)
	count := make([]uint8, nx*ny)
	var xs []float64
	for e := range c.Len() {
		ids := c.Polygon(e)
		b := c.bounds(ids)
		j0, j1 := firstProbe(b.Min.Y, box.Min.Y, dy, ny), firstProbe(b.Max.Y, box.Min.Y, dy, ny)
		for j := j0; j < j1; j++ {
			y := box.Min.Y + (float64(j)+0.5)*dy
			xs = xs[:0]
			a := c.Corners[ids[len(ids)-1]]
			for _, id := range ids {
				b := c.Corners[id]
				if (a.Y <= y) != (b.Y <= y) {
					xs = append(xs, crossing(a, b, y))
				}
				a = b
			}
			slices.Sort(xs)
			for k := 0; k+1 < len(xs); k += 2 {
				row := count[j*nx : (j+1)*nx]
				for i := firstProbe(xs[k], box.Min.X, dx, nx); i < firstProbe(xs[k+1], box.Min.X, dx, nx); i++ {
					if row[i] < math.MaxUint8 {
						row[i]++
					}
				}
			}
		}
	}
	out := Coverage{Probe: dx * dy}
	more := 0
	for _, n := range count {
		if n > 1 {
			more += int(n) - 1
		}
	}
	out.Overlap = float64(more) * out.Probe
	open := Fill(len(count), func(k int) bool { return count[k] == 0 })
	x := Fill(nx+1, func(i int) float64 { return box.Min.X + float64(i)*dx })
	y := Fill(ny+1, func(j int) float64 { return box.Min.Y + float64(j)*dy })
	groups(nx, ny, open, func(probes []int32) {
		if len(probes) >= leastGap {
			g := gapOf(probes, x, y)
			g.Area = float64(len(probes)) * dx * dy
			out.Gaps = append(out.Gaps, g)
		}
	})
	return out
}

// firstProbe is the number of the first probe at or behind v.
func firstProbe(v, origin, step float64, n int) int {
	k := math.Ceil((v-origin)/step - 0.5)
	return int(math.Min(math.Max(k, 0), float64(n)))
}

// Covered marks the polygons that lie on an earlier one: those whose interior
// point, the centroid of their largest triangle, is inside an earlier polygon that
// is not itself marked. Polygons that cross themselves are not looked at.
func (c *CellSet) Covered() []bool {
	n := c.Len()
	marked := make([]bool, n)
	box := c.bounds(c.Index)
	side := int(math.Sqrt(float64(n))) + 1
	place := func(p Point) (int, int) {
		x, y := int((p.X-box.Min.X)/box.Width()*float64(side)), int((p.Y-box.Min.Y)/box.Height()*float64(side))
		return min(max(x, 0), side-1), min(max(y, 0), side-1)
	}
	if !(box.Area() > 0) {
		return marked
	}
	bucket := make([][]int32, side*side)
	var tri []int32
	for e := range n {
		p, t, ok := c.interior(e, tri)
		tri = t
		if !ok {
			continue
		}
		x, y := place(p)
		if slices.ContainsFunc(bucket[y*side+x], func(f int32) bool { return c.Holds(int(f), p) }) {
			marked[e] = true
			continue
		}
		b := c.Bounds(e)
		x0, y0 := place(b.Min)
		x1, y1 := place(b.Max)
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				bucket[y*side+x] = append(bucket[y*side+x], int32(e))
			}
		}
	}
	return marked
}
