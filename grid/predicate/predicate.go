package predicate

import (
	"math"

	"wakeledger/grid"
)

// eps is the largest relative error of one rounded operation, 2⁻⁵³.
const eps = 0x1p-53

// orientBound times |l|+|r| bounds the error of the orientation determinant
// l − r with l = (ax−cx)(by−cy) and r = (ay−cy)(bx−cx), underflow apart.
//
// Each difference carries one rounding and their product a third, so a computed
// product is the true one times (1+δ)³, |δ| ≤ ε: it is off by at most
// (3ε+3ε²+ε³)/(1−ε)³ of its own computed size, less than (3+13ε)ε of it. The final
// subtraction rounds too, but a rounded difference has the sign of the unrounded
// one, so it only enters as a factor (1+ε) on |det|; another (1+ε)² covers the
// rounding of |l|+|r| and of the product with the constant. (3+16ε)ε is the sum
// of these, as in [Shewchuk], figure 21.
const orientBound = (3 + 16*eps) * eps

// inCircleBound times the permanent (the determinant with every difference and
// every sum made positive) bounds the error of the in-circle determinant,
// underflow apart.
//
// A 2×2 minor has differences (1), a product (2+1) and a subtraction: (1+δ)⁴. A
// squared length likewise: (1+δ)⁴. Their product makes (1+δ)⁹, the inner one of the
// two additions (1+δ)¹⁰. The outer addition keeps the sign and enters, with the
// rounding of the permanent itself, only in second order: 45ε² from the powers,
// 10ε² for each of the at most five roundings on a path through the permanent and
// the bound, less than 96ε² in all. (10+96ε)ε is the value of [Shewchuk], figure 25.
const inCircleBound = (10 + 96*eps) * eps

// underflow is far above the absolute error that gradual underflow adds to one
// product (2⁻¹⁰⁷⁵) and far below any determinant that matters.
const underflow = 0x1p-1000

// Orient returns the orientation of the triangle a, b, c:
//
//	sign |ax−cx  ay−cy|
//	     |bx−cx  by−cy|
//
// which is +1 if the corners run anticlockwise (c is left of the line from a to
// b), −1 if they run clockwise and 0 if they lie on one line.
//
// Cyclic exchange of the arguments leaves the result alone, a swap of two inverts
// it. Special case: 0 if any coordinate is NaN or infinite.
func Orient(a, b, c grid.Point) int {
	l := float64((a.X - c.X) * (b.Y - c.Y))
	r := float64((a.Y - c.Y) * (b.X - c.X))
	det := l - r
	bound := float64(orientBound*(math.Abs(l)+math.Abs(r))) + underflow
	if det > bound {
		return 1
	}
	if -det > bound {
		return -1
	}
	return orientExact(a, b, c)
}

// InCircle tells where d lies with respect to the circle through a, b, c. With
// differences to d it is
//
//	sign |ax ay ax²+ay²|
//	     |bx by bx²+by²|
//	     |cx cy cx²+cy²|
//
// which for anticlockwise a, b, c is +1 if d lies inside, −1 outside and 0 on
// the circle; for clockwise a, b, c the sign is the opposite. For collinear a, b, c
// the circle is their line; the sign is then that of no side in particular.
//
// Cyclic exchange of a, b, c leaves the result alone, a swap of any two of the
// four arguments inverts it. Special case: 0 if any coordinate is NaN or infinite.
func InCircle(a, b, c, d grid.Point) int {
	ax, ay := a.X-d.X, a.Y-d.Y
	bx, by := b.X-d.X, b.Y-d.Y
	cx, cy := c.X-d.X, c.Y-d.Y

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
	// An underflow of at most 2⁻¹⁰⁷⁵ in a minor is multiplied by a squared length,
	// one in a squared length by a minor, which is no greater than the sum of the
	// squared lengths, and one in the outer products stays as it is.
	bound := float64(inCircleBound*perm) + float64(underflow*(1+aa+bb+cc))
	if det > bound {
		return 1
	}
	if -det > bound {
		return -1
	}
	return inCircleExact(a, b, c, d)
}
