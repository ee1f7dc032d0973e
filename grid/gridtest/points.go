// Package gridtest makes planes of samples, and meshes and fields with exact
// integrals, for the tests of other packages.
package gridtest

import (
	"math"
	"math/rand/v2"
	"slices"

	"wakeledger/grid"
)

// The generators below make sample positions of every kind that survey planes
// come with. They are functions of their arguments alone: the same arguments give
// the same bits. Transformations (Rotated, Moved, Shuffled, Without)
// return new slices and can be chained.

// PlaneBox is the window of SurveyPoints, m.
var PlaneBox = grid.Box{Min: grid.Point{X: -1.5, Y: 0}, Max: grid.Point{X: 1.5, Y: 1.75}}

// PlaneBody is the half-ellipse on the floor of PlaneBox that SurveyPoints leave
// open.
var PlaneBody = Ellipse{Centre: grid.Point{}, RX: 0.4, RY: 0.3}

// Ellipse is an axis-parallel ellipse.
type Ellipse struct {
	Centre grid.Point
	RX, RY float64
}

// Disc is the ellipse with equal axes.
func Disc(centre grid.Point, radius float64) Ellipse { return Ellipse{centre, radius, radius} }

// Contains reports whether p lies inside; the border is outside.
func (e Ellipse) Contains(p grid.Point) bool {
	x, y := (p.X-e.Centre.X)/e.RX, (p.Y-e.Centre.Y)/e.RY
	return x*x+y*y < 1
}

// Area is π·RX·RY.
func (e Ellipse) Area() float64 { return math.Pi * e.RX * e.RY }

// Ring returns n points on the border, at equal steps of the eccentric anomaly.
// The polygon through them has the area RX·RY·(n/2)·sin(2π/n).
func (e Ellipse) Ring(n int) []grid.Point {
	p := make([]grid.Point, n)
	for i := range p {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		p[i] = grid.Point{X: e.Centre.X + e.RX*c, Y: e.Centre.Y + e.RY*s}
	}
	return p
}

// LatticePoints returns nx × ny nodes, the outer ones on the border of the box,
// row by row.
func LatticePoints(nx, ny int, box grid.Box) []grid.Point {
	p := make([]grid.Point, 0, nx*ny)
	for j := range ny {
		for i := range nx {
			p = append(p, grid.Point{
				X: box.Min.X + box.Width()*float64(i)/float64(nx-1),
				Y: box.Min.Y + box.Height()*float64(j)/float64(ny-1),
			})
		}
	}
	return p
}

// JitteredPoints returns the centres of nx × ny cells of the box, each moved by up
// to amplitude times the cell's size in either direction, shuffled.
func JitteredPoints(nx, ny int, box grid.Box, amplitude float64, seed uint64) []grid.Point {
	rng := rand.New(rand.NewPCG(seed, 0x6a))
	dx, dy := box.Width()/float64(nx), box.Height()/float64(ny)
	p := make([]grid.Point, 0, nx*ny)
	for j := range ny {
		for i := range nx {
			p = append(p, grid.Point{
				X: box.Min.X + (float64(i)+0.5+amplitude*(2*rng.Float64()-1))*dx,
				Y: box.Min.Y + (float64(j)+0.5+amplitude*(2*rng.Float64()-1))*dy,
			})
		}
	}
	return Shuffled(p, seed)
}

// GradedPoints returns nx × ny nodes whose spacing grows geometrically in both
// directions, by the factor growth from the first to the last interval. amplitude
// jitters inner nodes as a share of the smaller of the adjoining intervals.
func GradedPoints(nx, ny int, box grid.Box, growth, amplitude float64, seed uint64) []grid.Point {
	line := func(n int, lo, hi float64) []float64 {
		r := math.Pow(growth, 1/float64(n-2))
		x := make([]float64, n)
		for i, d := 1, 1.0; i < n; i, d = i+1, d*r {
			x[i] = x[i-1] + d
		}
		for i, k := 0, (hi-lo)/x[n-1]; i < n; i++ {
			x[i] = lo + k*x[i]
		}
		return x
	}
	x, y := line(nx, box.Min.X, box.Max.X), line(ny, box.Min.Y, box.Max.Y)
	rng := rand.New(rand.NewPCG(seed, 0x67))
	move := func(a []float64, i int) float64 {
		if i == 0 || i == len(a)-1 {
			return a[i]
		}
		return a[i] + amplitude*(2*rng.Float64()-1)*min(a[i]-a[i-1], a[i+1]-a[i])
	}
	p := make([]grid.Point, 0, nx*ny)
	for j := range ny {
		for i := range nx {
			p = append(p, grid.Point{X: move(x, i), Y: move(y, j)})
		}
	}
	return p
}

// ClusteredPoints returns n points, half of them spread evenly over the box, half
// in Gaussian clusters of very different widths, as a refined plane or a traverse
// with a fine pass through a vortex has them.
func ClusteredPoints(n int, box grid.Box, seed uint64) []grid.Point {
	rng := rand.New(rand.NewPCG(seed, 0x63))
	at := func() grid.Point {
		return grid.Point{X: box.Min.X + box.Width()*rng.Float64(), Y: box.Min.Y + box.Height()*rng.Float64()}
	}
	type cluster struct {
		c grid.Point
		s float64
	}
	var cs []cluster
	for k := range 6 {
		cs = append(cs, cluster{at(), 0.1 * box.Height() * math.Pow(0.4, float64(k))})
	}
	p := make([]grid.Point, 0, n)
	for len(p) < n {
		if len(p)%2 == 0 {
			p = append(p, at())
			continue
		}
		c := cs[rng.IntN(len(cs))]
		if q := (grid.Point{X: c.c.X + c.s*rng.NormFloat64(), Y: c.c.Y + c.s*rng.NormFloat64()}); box.Contains(q) {
			p = append(p, q)
		}
	}
	return p
}

// leaves calls f for each leaf of a quadtree over the box: nx × ny root cells, each
// split while level at its centre asks for more than it has. (i, j) counts cells of
// the leaf's own size from the lower left corner.
func leaves(nx, ny int, box grid.Box, level func(grid.Point) int, f func(i, j, l int)) {
	var split func(i, j, l int)
	split = func(i, j, l int) {
		h := 1 / float64(int(1)<<l)
		c := grid.Point{
			X: box.Min.X + box.Width()/float64(nx)*(float64(i)+0.5)*h,
			Y: box.Min.Y + box.Height()/float64(ny)*(float64(j)+0.5)*h,
		}
		if level(c) <= l {
			f(i, j, l)
			return
		}
		for k := range 4 {
			split(2*i+k&1, 2*j+k>>1, l+1)
		}
	}
	for j := range ny {
		for i := range nx {
			split(i, j, 0)
		}
	}
}

// OctreeCentres returns the cell centres of a quadtree of nx × ny root cells that is
// split where level says so, up to level maxLevel ≤ 20. Neighbours may differ by
// more than one level if level jumps.
func OctreeCentres(nx, ny int, box grid.Box, maxLevel int, level func(grid.Point) int) []grid.Point {
	return octree(nx, ny, box, maxLevel, level, []int{1}, []int{1})
}

// OctreeNodes returns the corners of the cells of OctreeCentres, each once, hanging
// nodes included.
func OctreeNodes(nx, ny int, box grid.Box, maxLevel int, level func(grid.Point) int) []grid.Point {
	return octree(nx, ny, box, maxLevel, level, []int{0, 2}, []int{0, 2})
}

// octree returns the places of the leaves, each once, that are so many halves of a leaf away from
// its lower left corner.
func octree(nx, ny int, box grid.Box, maxLevel int, level func(grid.Point) int, x, y []int) []grid.Point {
	var p []grid.Point
	u, v := box.Width()/float64(nx), box.Height()/float64(ny)
	capped := func(c grid.Point) int { return min(maxLevel, level(c)) }
	seen := map[[2]int]bool{}
	leaves(nx, ny, box, capped, func(i, j, l int) {
		for _, dy := range y {
			for _, dx := range x {
				at := [2]int{(2*i + dx) << (maxLevel - l), (2*j + dy) << (maxLevel - l)}
				if !seen[at] {
					seen[at] = true
					h := 1 / float64(int(2)<<maxLevel)
					p = append(p, grid.Point{X: box.Min.X + u*(float64(at[0])*h), Y: box.Min.Y + v*(float64(at[1])*h)})
				}
			}
		}
	})
	return p
}

// SurveyKinds are the kinds of SurveyPoints: cell centres of a lattice, the same
// jittered, cell centres and corners of a three-level octree slice.
var SurveyKinds = []string{"lattice", "scatter", "octree", "hanging"}

// SurveyPoints returns about n samples of one kind in PlaneBox without PlaneBody,
// refined round the body and two vortices, shuffled. It panics on other kinds.
func SurveyPoints(kind string, n int, seed uint64) []grid.Point {
	level := func(p grid.Point) int {
		l := 0
		if math.Abs(p.X) < 1.1 && p.Y < 1.2 {
			l = 1
		}
		body := Ellipse{RX: PlaneBody.RX + 0.1, RY: PlaneBody.RY + 0.1}
		if body.Contains(p) || math.Hypot(math.Abs(p.X)-0.5, p.Y-0.6) < 0.15 {
			l = 2
		}
		return l
	}
	// Samples per root cell of the whole box, from a count at a moderate size.
	perRoot := 1 - PlaneBody.Area()/2/PlaneBox.Area()
	if kind == "octree" || kind == "hanging" {
		perRoot = float64(len(Without(OctreeCentres(60, 35, PlaneBox, 2, level), PlaneBody.Contains))) / (60 * 35)
	}
	ny := int(math.Round(math.Sqrt(float64(n) / perRoot * PlaneBox.Height() / PlaneBox.Width())))
	nx := int(math.Round(float64(ny) * PlaneBox.Width() / PlaneBox.Height()))
	var p []grid.Point
	switch kind {
	case "lattice":
		p = JitteredPoints(nx, ny, PlaneBox, 0, seed)
	case "scatter":
		p = JitteredPoints(nx, ny, PlaneBox, 0.45, seed)
	case "octree":
		p = OctreeCentres(nx, ny, PlaneBox, 2, level)
	case "hanging":
		p = OctreeNodes(nx, ny, PlaneBox, 2, level)
	default:
		panic("gridtest: no points of kind " + kind)
	}
	return Shuffled(Without(p, PlaneBody.Contains), seed)
}

// Without returns the points for which inside is false.
func Without(points []grid.Point, inside func(grid.Point) bool) []grid.Point {
	return slices.DeleteFunc(slices.Clone(points), inside)
}

// Shuffled returns the points in a random order.
func Shuffled(points []grid.Point, seed uint64) []grid.Point {
	p := slices.Clone(points)
	rand.New(rand.NewPCG(seed, 0x73)).Shuffle(len(p), func(i, j int) { p[i], p[j] = p[j], p[i] })
	return p
}

// each returns what f makes of the points.
func each(points []grid.Point, f func(q grid.Point) grid.Point) []grid.Point {
	p := make([]grid.Point, len(points))
	for i, q := range points {
		p[i] = f(q)
	}
	return p
}

// Rotated returns the points turned anticlockwise about the origin.
func Rotated(points []grid.Point, degrees float64) []grid.Point {
	s, c := math.Sincos(degrees * math.Pi / 180)
	return each(points, func(q grid.Point) grid.Point { return grid.Point{X: c*q.X - s*q.Y, Y: s*q.X + c*q.Y} })
}

// Moved returns the points moved by (dx, dy).
func Moved(points []grid.Point, dx, dy float64) []grid.Point {
	return each(points, func(q grid.Point) grid.Point { return grid.Point{X: q.X + dx, Y: q.Y + dy} })
}
