package predicate

import (
	"cmp"
	"math"
	"math/big"

	"wakeledger/grid"
)

// pair is the unevaluated sum h + l with h = fl(h+l): some 106 bits.
//
// With u = 2⁻⁵³, plus and minus are off by 3u² of the sum of the sizes at most, and
// times by 8u² of the product (M. Joldes, J.-M. Muller, V. Popescu, "Tight and
// rigorous error bounds for basic building blocks of double-word arithmetic", ACM TOMS
// 44 (2017), from memory). In the range of inRange nothing that matters underflows.
type pair struct{ h, l float64 }

// twoSum is a + b exactly, barring overflow.
func twoSum(a, b float64) pair {
	s := a + b
	bv := s - a
	av := s - bv
	return pair{s, (a - av) + (b - bv)}
}

// fastTwoSum is twoSum for |a| ≥ |b| or a = 0.
func fastTwoSum(a, b float64) pair {
	s := float64(a + b)
	return pair{s, b - float64(s-a)}
}

// twoProduct is a·b exactly, barring overflow and underflow. The fused multiply-add is
// meant: it yields the rounding error.
func twoProduct(a, b float64) pair {
	p := float64(a * b)
	return pair{p, math.FMA(a, b, -p)}
}

func (a pair) plus(b pair) pair {
	s, t := twoSum(a.h, b.h), twoSum(a.l, b.l)
	v := fastTwoSum(s.h, float64(s.l+t.h))
	return fastTwoSum(v.h, float64(t.l+v.l))
}

func (a pair) minus(b pair) pair { return a.plus(pair{-b.h, -b.l}) }

// times leaves the product of the low parts out. Of two that have none it is exact.
func (a pair) times(b pair) pair {
	p := twoProduct(a.h, b.h)
	return fastTwoSum(p.h, math.FMA(a.h, b.l, math.FMA(a.l, b.h, p.l)))
}

// inRange reports whether all are zero or of a size at which the products of four
// neither overflow nor underflow. False for NaN.
func inRange(v ...pair) bool {
	for _, x := range v {
		if s := math.Abs(x.h); !(s == 0 || 0x1p-215 <= s && s <= 0x1p250) {
			return false
		}
	}
	return true
}

// pairBound is the error bound of both determinants of pairs, as a part of the sum of
// the sizes of their products. A minor and a lift are off by 8u² + 3u² each, their
// product by 30u² and the sum of three such by 36u². 2⁻⁹⁹ = 128u² leaves room for the
// rounding of that sum.
const pairBound = 0x1p-99

// orientExact is Orient without the floating-point filter.
func orientExact(a, b, c grid.Point) int {
	ax, ay, bx, by := twoSum(a.X, -c.X), twoSum(a.Y, -c.Y), twoSum(b.X, -c.X), twoSum(b.Y, -c.Y)
	if inRange(ax, ay, bx, by) {
		l, r := ax.times(by), ay.times(bx)
		switch det, size := l.minus(r), math.Abs(l.h)+math.Abs(r.h); {
		case math.Abs(det.h) > pairBound*size:
			return cmp.Compare(det.h, 0)
		case ax.l == 0 && ay.l == 0 && bx.l == 0 && by.l == 0 || size == 0:
			// Both products are exact.
			return cmp.Or(cmp.Compare(l.h, r.h), cmp.Compare(l.l, r.l))
		}
	}
	return orientBig(a, b, c)
}

// inCircleExact is InCircle without the floating-point filter.
func inCircleExact(a, b, c, d grid.Point) int {
	x := [3]pair{twoSum(a.X, -d.X), twoSum(b.X, -d.X), twoSum(c.X, -d.X)}
	y := [3]pair{twoSum(a.Y, -d.Y), twoSum(b.Y, -d.Y), twoSum(c.Y, -d.Y)}
	if mirrored(x, y) || mirrored(y, x) {
		return 0
	}
	if inRange(x[:]...) && inRange(y[:]...) {
		var det pair
		size := 0.0
		for k := range 3 {
			i, j := (k+1)%3, (k+2)%3
			l, r := x[i].times(y[j]), x[j].times(y[i])
			lift := x[k].times(x[k]).plus(y[k].times(y[k]))
			det = det.plus(l.minus(r).times(lift))
			size += lift.h * (math.Abs(l.h) + math.Abs(r.h))
		}
		if size == 0 || math.Abs(det.h) > pairBound*size {
			return cmp.Compare(det.h, 0)
		}
	}
	return inCircleBig(a, b, c, d)
}

// mirrored reports whether the origin and one of three points have one ordinate y, the
// two others one too, and both have the same middle: such four are on a circle. This is
// the usual case on lattices and in refined meshes.
func mirrored(x, y [3]pair) bool {
	for p := range 3 {
		q, r := (p+1)%3, (p+2)%3
		if y[p].h == 0 && y[q] == y[r] && x[q].l == 0 && x[r].l == 0 && twoSum(x[q].h, x[r].h) == x[p] {
			return true
		}
	}
	return false
}

// exact is a number with so many bits that no determinant is rounded: coordinates have
// bits from 2⁻¹⁰⁷⁴ to 2¹⁰²³, their differences one more, and products of four 8400.
func exact() *big.Float { return new(big.Float).SetPrec(1 << 14) }

func bigDiff(a, b float64) *big.Float {
	return exact().Sub(exact().SetFloat64(a), exact().SetFloat64(b))
}

// bigMinor is a·b − c·d.
func bigMinor(a, b, c, d *big.Float) *big.Float {
	return exact().Sub(exact().Mul(a, b), exact().Mul(c, d))
}

// finite reports whether all points have finite coordinates.
func finite(points ...grid.Point) bool {
	s := 0.0
	for _, p := range points {
		s += p.X - p.X + p.Y - p.Y
	}
	return s == 0
}

// orientBig is Orient with numbers of any length.
func orientBig(a, b, c grid.Point) int {
	if !finite(a, b, c) {
		return 0
	}
	return bigMinor(bigDiff(a.X, c.X), bigDiff(b.Y, c.Y), bigDiff(a.Y, c.Y), bigDiff(b.X, c.X)).Sign()
}

// inCircleBig is InCircle with numbers of any length.
func inCircleBig(a, b, c, d grid.Point) int {
	if !finite(a, b, c, d) {
		return 0
	}
	var x, y [3]*big.Float
	for k, p := range [3]grid.Point{a, b, c} {
		x[k], y[k] = bigDiff(p.X, d.X), bigDiff(p.Y, d.Y)
	}
	det := exact()
	for k := range 3 {
		i, j := (k+1)%3, (k+2)%3
		lift := exact().Add(exact().Mul(x[k], x[k]), exact().Mul(y[k], y[k]))
		det.Add(det, lift.Mul(lift, bigMinor(x[i], y[j], x[j], y[i])))
	}
	return det.Sign()
}
