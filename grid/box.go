package grid

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Point is a position in the plane, in metres.
type Point = r2.Vec

// Box is a closed axis-aligned rectangle. The zero Box is the point at the
// origin; the empty box is EmptyBox.
type Box struct{ Min, Max Point }

// EmptyBox returns the box that holds nothing: it is the identity of Extend.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Min: Point{X: inf, Y: inf}, Max: Point{X: -inf, Y: -inf}}
}

// Bounds returns the smallest box that holds all points, or EmptyBox for none.
// Points with a NaN coordinate are passed over.
func Bounds(points []Point) Box {
	b := EmptyBox()
	for _, p := range points {
		// Comparisons with NaN are false, so such a coordinate changes nothing; a point
		// with one NaN must not count with the other either.
		if p.X != p.X || p.Y != p.Y {
			continue
		}
		if p.X < b.Min.X {
			b.Min.X = p.X
		}
		if p.X > b.Max.X {
			b.Max.X = p.X
		}
		if p.Y < b.Min.Y {
			b.Min.Y = p.Y
		}
		if p.Y > b.Max.Y {
			b.Max.Y = p.Y
		}
	}
	return b
}

// Extend returns the smallest box that holds b and p; p is ignored if it has a
// NaN coordinate.
func (b Box) Extend(p Point) Box {
	if math.IsNaN(p.X) || math.IsNaN(p.Y) {
		return b
	}
	return Box{
		Min: Point{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y)},
		Max: Point{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y)},
	}
}

// Intersect returns the part that b and c share, which may be empty.
func (b Box) Intersect(c Box) Box {
	return Box{
		Min: Point{X: max(b.Min.X, c.Min.X), Y: max(b.Min.Y, c.Min.Y)},
		Max: Point{X: min(b.Max.X, c.Max.X), Y: min(b.Max.Y, c.Max.Y)},
	}
}

// Empty reports whether b holds no point. A box with a NaN limit is empty.
func (b Box) Empty() bool {
	return !(b.Min.X <= b.Max.X && b.Min.Y <= b.Max.Y)
}

// Contains reports whether p lies in b, borders included.
func (b Box) Contains(p Point) bool {
	return b.Min.X <= p.X && p.X <= b.Max.X && b.Min.Y <= p.Y && p.Y <= b.Max.Y
}

// ContainsBox reports whether all of c lies in b. The empty box lies in any box.
func (b Box) ContainsBox(c Box) bool {
	return c.Empty() || b.Contains(c.Min) && b.Contains(c.Max)
}

// Width is the extent along X, 0 for an empty box.
func (b Box) Width() float64 {
	if b.Empty() {
		return 0
	}
	return b.Max.X - b.Min.X
}

// Height is the extent along Y, 0 for an empty box.
func (b Box) Height() float64 {
	if b.Empty() {
		return 0
	}
	return b.Max.Y - b.Min.Y
}

// Area is Width × Height.
func (b Box) Area() float64 { return b.Width() * b.Height() }

// Centre is the middle of b; for an empty box it has no meaning.
func (b Box) Centre() Point {
	return Point{X: b.Min.X + (b.Max.X-b.Min.X)/2, Y: b.Min.Y + (b.Max.Y-b.Min.Y)/2}
}

// String prints the limits as [xmin, xmax] × [ymin, ymax].
func (b Box) String() string {
	return fmt.Sprintf("[%g, %g] × [%g, %g]", b.Min.X, b.Max.X, b.Min.Y, b.Max.Y)
}
