package delaunay

import (
	"fmt"

	"wakeledger/grid"
)

// maxPoints keeps six half-edges a point within int32.
const maxPoints = (1<<31 - 1) / 6

// Reason says why no triangulation exists.
type Reason uint8

const (
	// TooFew: fewer than three distinct positions.
	TooFew Reason = iota
	// Collinear: all samples lie on one line but for rounding.
	Collinear
	// NotFinite: a coordinate is NaN or infinite.
	NotFinite
	// Range: coordinates differ so much in size (a factor of 2⁹⁷⁰ or more) that
	// they cannot be scaled to a common size.
	Range
	// TooMany: more samples than 32-bit indices carry.
	TooMany
)

// InputError says why points cannot be triangulated.
type InputError struct {
	Reason Reason
	// Index is the offending point for NotFinite and Range, else -1.
	Index int
	Point grid.Point
	// Count is the number of points, of distinct ones for TooFew.
	Count int
	// Box has the limits of the points for Collinear and Range.
	Box grid.Box
}

// Error states the fact, the place and a cure.
func (e *InputError) Error() string {
	switch e.Reason {
	case TooFew:
		return fmt.Sprintf("%d distinct sample positions, at least 3 are needed for a triangle", e.Count)
	case Collinear:
		return fmt.Sprintf("all %d samples lie on one line within rounding (window %v); a plane needs a second direction, check which columns are the in-plane coordinates", e.Count, e.Box)
	case NotFinite:
		return fmt.Sprintf("sample %d has no position: (%g, %g); remove the row or repair the coordinate", e.Index, e.Point.X, e.Point.Y)
	case Range:
		return fmt.Sprintf("sample %d at (%g, %g) cannot be scaled together with the others (window %v); check the coordinates for stray values", e.Index, e.Point.X, e.Point.Y, e.Box)
	case TooMany:
		return fmt.Sprintf("%d samples, at most %d can be triangulated at once; split the plane", e.Count, maxPoints)
	}
	return fmt.Sprintf("points cannot be triangulated (reason %d)", e.Reason)
}
