package grid

import (
	"math"
	"slices"
	"sync"
)

// Limits of lattice detection.
const (
	// lineNoise is how far samples of one line may lie apart, as a part of the
	// largest coordinate: a float32 keeps 24 bits, so rounding is within 6e-8 of
	// the value; four times that allows for a change of unit and a rotation.
	lineNoise = 2.4e-7
	// maxPlaces is how many places a lattice may have for each sample. A body that
	// fills three quarters of the window still passes.
	maxPlaces = 4
	// maxLonely is the part of the samples that may have no neighbour on the next
	// line in either direction. Coarse nodes of a mesh with hanging nodes have
	// none, so such a mesh is not taken for a lattice with gaps.
	maxLonely = 0.001
	// minInQuad is the part of the samples that must be a corner of a complete
	// quadrilateral.
	minInQuad = 0.9
)

// DetectLattice finds the crossing lines that the samples sit on. It returns nil
// where they do not form a lattice. Places may be missing. Of samples that fall on one
// place only the first is in the lattice; where there are such, first has for each sample
// the first one at its place, else it is nil.
//
// Lines are told apart when they are further apart than 2.4e-7 of the largest
// coordinate. The points must be finite.
func DetectLattice(points []Point) (l *Lattice, first []int32) {
	n := len(points)
	if n < 4 || !looksAligned(points) {
		return nil, nil
	}
	var lx, ly []float64
	var wg sync.WaitGroup
	wg.Go(func() { lx = lines(points, xOf) })
	ly = lines(points, yOf)
	wg.Wait()
	if len(lx) < 2 || len(ly) < 2 || len(lx) > maxPlaces*n/len(ly) {
		return nil, nil
	}
	l = &Lattice{X: lx, Y: ly, Index: slices.Repeat([]int32{-1}, len(lx)*len(ly))}
	fx, fy := newLineFinder(lx), newLineFinder(ly)
	repeats := 0
	for s, p := range points {
		k := fy.find(p.Y)*len(lx) + fx.find(p.X)
		if j := l.Index[k]; j >= 0 {
			if repeats++; first == nil {
				first = make([]int32, n)
				for i := range first {
					first[i] = int32(i)
				}
			}
			first[s] = j
			continue
		}
		l.Index[k] = int32(s)
	}
	if !l.connected(n - repeats) {
		return nil, nil
	}
	return l, first
}

// looksAligned rejects scattered points early: of a strided choice of samples,
// nearly all have their own X and their own Y.
func looksAligned(points []Point) bool {
	const probe = 4096
	step := max(1, len(points)/probe)
	var some []Point
	for i := 0; i < len(points); i += step {
		some = append(some, points[i])
	}
	own := 0.95 * float64(len(some))
	return len(some) < 64 || float64(len(lines(some, xOf))) < own || float64(len(lines(some, yOf))) < own
}

func xOf(p Point) float64 { return p.X }
func yOf(p Point) float64 { return p.Y }

// lines returns the distinct coordinates in increasing order: values closer than
// the noise to the first of a group are one line, at the mean of the group.
func lines(points []Point, of func(Point) float64) []float64 {
	a := make([]float64, len(points))
	for i, p := range points {
		a[i] = of(p)
	}
	slices.Sort(a)
	eps := lineNoise * math.Max(math.Abs(a[0]), math.Abs(a[len(a)-1]))
	var out []float64
	for i := 0; i < len(a); {
		j, sum := i, 0.0
		for j < len(a) && a[j]-a[i] <= eps {
			sum += a[j] - a[i]
			j++
		}
		out = append(out, a[i]+sum/float64(j-i))
		i = j
	}
	return out
}

// lineFinder finds the nearest of increasing lines. Evenly spaced lines, the
// usual case, are hit by the first guess.
type lineFinder struct {
	a     []float64
	scale float64
}

func newLineFinder(a []float64) lineFinder {
	return lineFinder{a: a, scale: float64(len(a)-1) / (a[len(a)-1] - a[0])}
}

func (f lineFinder) find(v float64) int {
	n := len(f.a)
	i := min(max(int((v-f.a[0])*f.scale+0.5), 0), n-1)
	near := func(i int) bool {
		return (i == 0 || v-f.a[i-1] >= f.a[i]-v) && (i == n-1 || f.a[i+1]-v >= v-f.a[i])
	}
	if near(i) {
		return i
	}
	i, _ = slices.BinarySearch(f.a, v)
	if i == n || i > 0 && v-f.a[i-1] < f.a[i]-v {
		i--
	}
	return i
}

// connected checks that the occupied places hang together as a lattice does.
func (l *Lattice) connected(samples int) bool {
	nx, ny := len(l.X), len(l.Y)
	inQuad, lonely := 0, 0
	full := func(i, j int) bool {
		return i >= 0 && j >= 0 && i+1 < nx && j+1 < ny && l.Full(i, j)
	}
	has := func(i, j int) bool { return i >= 0 && j >= 0 && i < nx && j < ny && l.At(i, j) >= 0 }
	for j := range ny {
		for i := range nx {
			if l.At(i, j) < 0 {
				continue
			}
			if full(i, j) || full(i-1, j) || full(i, j-1) || full(i-1, j-1) {
				inQuad++
			} else if !has(i-1, j) && !has(i+1, j) && !has(i, j-1) && !has(i, j+1) {
				lonely++
			}
		}
	}
	return float64(inQuad) >= minInQuad*float64(samples) && float64(lonely) <= maxLonely*float64(samples)
}

// Strays are the samples on lines that have hardly any, and none that is a corner of a
// complete quadrilateral: those with a coordinate of their own, which hang together with
// nothing and part the lines on either side.
func (l *Lattice) Strays() []int32 {
	nx, ny := len(l.X), len(l.Y)
	column, row := make([]int, nx), make([]int, ny)
	for k, s := range l.Index {
		if s >= 0 {
			column[k%nx]++
			row[k/nx]++
		}
	}
	fewColumn, fewRow := slices.Max(column)/4, slices.Max(row)/4
	if slices.Min(column) > fewColumn && slices.Min(row) > fewRow {
		return nil
	}
	for j := range ny - 1 {
		for i := range nx - 1 {
			if l.Full(i, j) {
				column[i], column[i+1], row[j], row[j+1] = len(l.Index), len(l.Index), len(l.Index), len(l.Index)
			}
		}
	}
	var out []int32
	for k, s := range l.Index {
		if s >= 0 && (column[k%nx] <= fewColumn || row[k/nx] <= fewRow) {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return out
}

// Gap is a connected region inside the window that no element covers.
type Gap struct {
	// Area is that of the missing cells of a lattice, or of the triangles that
	// would have bridged it, m²; Box their bounds.
	Area float64
	Box  Box
	// Left, Right, Bottom and Top say which borders of the mesh it touches.
	Left, Right, Bottom, Top bool
}

// Inside reports whether samples surround the gap.
func (g Gap) Inside() bool { return g.hole() && !g.Bottom }

// hole reports whether samples surround the gap, but for the lower border.
func (g Gap) hole() bool { return !g.Left && !g.Right && !g.Top }

// Gaps lists the groups of missing places that touch along a side, in the order
// of their first place by row and column.
func (l *Lattice) Gaps() []Gap {
	nx := len(l.X)
	ex, ey := CellEdges(l.X), CellEdges(l.Y)
	open := make([]bool, len(l.Index))
	for k, s := range l.Index {
		open[k] = s < 0
	}
	var gaps []Gap
	groups(nx, len(l.Y), open, func(places []int32) {
		g := gapOf(places, ex, ey)
		for _, k := range places {
			i, j := int(k)%nx, int(k)/nx
			g.Area += (ex[i+1] - ex[i]) * (ey[j+1] - ey[j])
		}
		gaps = append(gaps, g)
	})
	return gaps
}

// groups calls each for the open places of a raster of nx × ny that touch along a side, in
// the order of their first place. The list is written over, and open cleared.
func groups(nx, ny int, open []bool, each func(places []int32)) {
	var stack, places []int32
	for first, is := range open {
		if !is {
			continue
		}
		open[first] = false
		stack, places = append(stack[:0], int32(first)), places[:0]
		visit := func(k int) {
			if open[k] {
				open[k] = false
				stack = append(stack, int32(k))
			}
		}
		for len(stack) > 0 {
			k := int(stack[len(stack)-1])
			stack = stack[:len(stack)-1]
			places = append(places, int32(k))
			i, j := k%nx, k/nx
			if i > 0 {
				visit(k - 1)
			}
			if i < nx-1 {
				visit(k + 1)
			}
			if j > 0 {
				visit(k - nx)
			}
			if j < ny-1 {
				visit(k + nx)
			}
		}
		each(places)
	}
}

// gapOf is the gap that places of a raster between the lines x and y make, without its area.
func gapOf(places []int32, x, y []float64) Gap {
	nx, ny := len(x)-1, len(y)-1
	i0, i1, j0, j1 := nx, -1, ny, -1
	for _, k := range places {
		i, j := int(k)%nx, int(k)/nx
		i0, i1, j0, j1 = min(i0, i), max(i1, i), min(j0, j), max(j1, j)
	}
	return Gap{
		Box:  Box{Min: Point{X: x[i0], Y: y[j0]}, Max: Point{X: x[i1+1], Y: y[j1+1]}},
		Left: i0 == 0, Right: i1 == nx-1, Bottom: j0 == 0, Top: j1 == ny-1,
	}
}
