package delaunay

import (
	"math"

	"wakeledger/grid"
	"wakeledger/grid/predicate"
)

// underflow covers what underflow can do to the determinants of coordinates of at
// most 2¹⁰⁰: a product loses 2⁻¹⁰⁷⁵ at most and is multiplied by less than 2²⁰⁶.
const underflow = 0x1p-850

// orient is predicate.Orient for vertices, with the filter in line.
func orient(a, b, c *vertex) int {
	l := float64((a.x - c.x) * (b.y - c.y))
	r := float64((a.y - c.y) * (b.x - c.x))
	det := l - r
	bound := float64(predicate.OrientBound*(math.Abs(l)+math.Abs(r))) + underflow
	if det > bound {
		return 1
	}
	if -det > bound {
		return -1
	}
	return predicate.OrientExact(a.point(), b.point(), c.point())
}

// inCircle reports whether d lies inside the circle through the anticlockwise
// corners a, b, c, with the filter of predicate.InCircle in line.
func inCircle(a, b, c, d *vertex) bool {
	ax, ay := a.x-d.x, a.y-d.y
	bx, by := b.x-d.x, b.y-d.y
	cx, cy := c.x-d.x, c.y-d.y
	bxcy, cxby := float64(bx*cy), float64(cx*by)
	cxay, axcy := float64(cx*ay), float64(ax*cy)
	axby, bxay := float64(ax*by), float64(bx*ay)
	aa := float64(ax*ax) + float64(ay*ay)
	bb := float64(bx*bx) + float64(by*by)
	cc := float64(cx*cx) + float64(cy*cy)
	det := float64(aa*(bxcy-cxby)) + float64(bb*(cxay-axcy)) + float64(cc*(axby-bxay))
	perm := float64(aa*(math.Abs(bxcy)+math.Abs(cxby))) +
		float64(bb*(math.Abs(cxay)+math.Abs(axcy))) +
		float64(cc*(math.Abs(axby)+math.Abs(bxay)))
	bound := float64(predicate.InCircleBound*perm) + underflow
	if det > bound {
		return true
	}
	if -det > bound {
		return false
	}
	return predicate.InCircleExact(a.point(), b.point(), c.point(), d.point()) > 0
}

func (v *vertex) point() grid.Point { return grid.Point{X: v.x, Y: v.y} }

// following is the place of the next corner of the triangle that place k is in.
func following(k int) int {
	if k%3 == 2 {
		return k - 2
	}
	return k + 1
}

// previous is the place of the corner before, in the same triangle.
func previous(k int) int {
	if k%3 == 0 {
		return k + 2
	}
	return k - 1
}
