package grid

import "math"

// Locator finds the element that a point lies in and interpolates there.
type Locator struct {
	m      *Mesh
	fx, fy lineFinder
	// Buckets of triangles: those whose bounds touch bucket b are
	// list[start[b]:start[b+1]].
	box         Box
	nx, ny      int
	start, list []int32
}

// NewLocator prepares a mesh of node support.
func NewLocator(m *Mesh) *Locator {
	l := &Locator{m: m}
	if m.Kind == KindLattice {
		l.fx, l.fy = newLineFinder(m.Lattice.X), newLineFinder(m.Lattice.Y)
		return l
	}
	l.box = Bounds(m.Points)
	n := max(1, len(m.Triangles)/3/2)
	aspect := math.Sqrt(l.box.Width() / l.box.Height())
	side := math.Sqrt(float64(n))
	l.nx, l.ny = max(1, min(n, int(side*aspect))), max(1, min(n, int(side/aspect)))
	l.start = make([]int32, l.nx*l.ny+1)
	each := func(do func(b int, t int32)) {
		for t := 0; t < len(m.Triangles); t += 3 {
			box := m.triangleBox(int32(t))
			x0, y0 := l.bucket(box.Min)
			x1, y1 := l.bucket(box.Max)
			for y := y0; y <= y1; y++ {
				for x := x0; x <= x1; x++ {
					do(y*l.nx+x, int32(t))
				}
			}
		}
	}
	each(func(b int, _ int32) { l.start[b+1]++ })
	for b := range l.nx * l.ny {
		l.start[b+1] += l.start[b]
	}
	l.list = make([]int32, l.start[l.nx*l.ny])
	fill := append([]int32(nil), l.start...)
	each(func(b int, t int32) {
		l.list[fill[b]] = t
		fill[b]++
	})
	return l
}

func (l *Locator) bucket(p Point) (x, y int) {
	x = int((p.X - l.box.Min.X) / l.box.Width() * float64(l.nx))
	y = int((p.Y - l.box.Min.Y) / l.box.Height() * float64(l.ny))
	return min(max(x, 0), l.nx-1), min(max(y, 0), l.ny-1)
}

// Share is the part that a sample has in the value at a point.
type Share struct {
	Sample int32
	Weight float64
}

// onBorder is how far outside an element, as a part of its size, a point still
// counts as inside, so that points on a common border are never lost to rounding.
const onBorder = 1e-9

// At gives the shares of the samples in the value at p, with n of them used:
// bilinear on a lattice, linear on triangles. ok is false where no element
// covers p. The lowest element wins where several touch p.
func (l *Locator) At(p Point) (shares [4]Share, n int, ok bool) {
	if l.m.Kind == KindLattice {
		return l.onLattice(p)
	}
	if !l.box.Contains(p) {
		return shares, 0, false
	}
	x, y := l.bucket(p)
	b := y*l.nx + x
	for _, t := range l.list[l.start[b]:l.start[b+1]] {
		if s, ok := l.m.inTriangle(t, p); ok {
			return s, 3, true
		}
	}
	return shares, 0, false
}

// inTriangle gives the shares of the corners of a triangle, at place t of the list, in the value
// at p.
func (m *Mesh) inTriangle(t int32, p Point) (shares [4]Share, ok bool) {
	ids := m.Triangles[t : t+3]
	a, b, c := m.Points[ids[0]], m.Points[ids[1]], m.Points[ids[2]]
	whole := TriangleArea(a, b, c)
	w1, w2 := TriangleArea(a, p, c)/whole, TriangleArea(a, b, p)/whole
	w0 := 1 - w1 - w2
	return [4]Share{{ids[0], w0}, {ids[1], w1}, {ids[2], w2}}, w0 >= -onBorder && w1 >= -onBorder && w2 >= -onBorder
}

// triangleBox is the box of the triangle at place t of the list.
func (m *Mesh) triangleBox(t int32) Box {
	a, b, c := m.Points[m.Triangles[t]], m.Points[m.Triangles[t+1]], m.Points[m.Triangles[t+2]]
	return Box{Min: Point{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y)}, Max: Point{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y)}}
}

func (l *Locator) onLattice(p Point) (shares [4]Share, n int, ok bool) {
	a := l.m.Lattice
	i, s, ok1 := interval(a.X, l.fx, p.X)
	j, t, ok2 := interval(a.Y, l.fy, p.Y)
	if !ok1 || !ok2 {
		return shares, 0, false
	}
	// A point on a line belongs to either side; take one that is complete.
	for c := range 4 {
		ci, cj, cs, ct := i-c&1, j-c>>1, s, t
		if ci < i {
			if s > onBorder || ci < 0 {
				continue
			}
			cs = 1
		}
		if cj < j {
			if t > onBorder || cj < 0 {
				continue
			}
			ct = 1
		}
		if !a.Full(ci, cj) {
			continue
		}
		return [4]Share{
			{a.At(ci, cj), (1 - cs) * (1 - ct)}, {a.At(ci+1, cj), cs * (1 - ct)},
			{a.At(ci, cj+1), (1 - cs) * ct}, {a.At(ci+1, cj+1), cs * ct},
		}, 4, true
	}
	return shares, 0, false
}

// interval finds i with a[i] ≤ v ≤ a[i+1] and the part s of the way.
func interval(a []float64, f lineFinder, v float64) (i int, s float64, ok bool) {
	last := len(a) - 1
	slack := onBorder * (a[last] - a[0])
	if !(v >= a[0]-slack && v <= a[last]+slack) {
		return 0, 0, false
	}
	i = f.find(v)
	if i == last || i > 0 && v < a[i] {
		i--
	}
	s = (v - a[i]) / (a[i+1] - a[i])
	if s > 1-onBorder && i+1 < last {
		return i + 1, 0, true
	}
	return i, min(max(s, 0), 1), true
}
