package predicate

import (
	"math"
	"math/big"

	"wakeledger/grid"
)

// An expansion of a product of four differences is exact while its lowest bit
// stays above 2⁻¹⁰⁷⁴ and its sum below 2¹⁰²⁴. A difference of at least minDiff has
// its lowest bit at 2⁻²¹⁵⁻⁵² = 2⁻²⁶⁷ or above, and 4·267 = 1068. The determinant has
// fewer than 32 products of at most maxDiff⁴ = 2¹⁰⁰⁰.
const (
	minDiff = 0x1p-215
	maxDiff = 0x1p250
)

// finite reports whether all of v are neither NaN nor infinite.
func finite(v ...float64) bool {
	s := 0.0
	for _, x := range v {
		s += x - x
	}
	return s == 0
}

// inRange reports whether x is zero or a difference that expansions can carry.
// False for NaN.
func inRange(x float64) bool {
	x = math.Abs(x)
	return x == 0 || minDiff <= x && x <= maxDiff
}

// OrientExact is Orient without the floating-point filter, for callers that have
// evaluated the filter in line. The result is the same.
func OrientExact(a, b, c grid.Point) int {
	ax, axe := twoDiff(a.X, c.X)
	ay, aye := twoDiff(a.Y, c.Y)
	bx, bxe := twoDiff(b.X, c.X)
	by, bye := twoDiff(b.Y, c.Y)
	if !(inRange(ax) && inRange(ay) && inRange(bx) && inRange(by)) {
		return orientBig(a, b, c)
	}
	if axe == 0 && aye == 0 && bxe == 0 && bye == 0 {
		// Rounding is monotone: where the rounded products differ, the true ones
		// differ in the same sense, and where they agree the errors decide.
		l, le := twoProduct(ax, by)
		r, re := twoProduct(ay, bx)
		switch {
		case l > r || l == r && le > re:
			return 1
		case l < r || l == r && le < re:
			return -1
		}
		return 0
	}
	if !(inRange(axe) && inRange(aye) && inRange(bxe) && inRange(bye)) {
		return orientBig(a, b, c)
	}
	var d [4][2]float64
	var buf [5][16]float64
	l := mul(buf[0][:], buf[1][:], buf[4][:], pair(&d[0], ax, axe), pair(&d[1], by, bye))
	r := mul(buf[2][:], buf[3][:], buf[4][:], pair(&d[2], -ay, -aye), pair(&d[3], bx, bxe))
	return sign(add(buf[4][:], l, r))
}

// pair makes the expansion of a rounded value and its error.
func pair(h *[2]float64, x, e float64) []float64 {
	n := 0
	if e != 0 {
		h[0] = e
		n = 1
	}
	if x != 0 {
		h[n] = x
		n++
	}
	return h[:n]
}

// InCircleExact is InCircle without the floating-point filter, for callers that
// have evaluated the filter in line. The result is the same.
func InCircleExact(a, b, c, d grid.Point) int {
	ax, axe := twoDiff(a.X, d.X)
	ay, aye := twoDiff(a.Y, d.Y)
	bx, bxe := twoDiff(b.X, d.X)
	by, bye := twoDiff(b.Y, d.Y)
	cx, cxe := twoDiff(c.X, d.X)
	cy, cye := twoDiff(c.Y, d.Y)
	if !(inRange(ax) && inRange(ay) && inRange(bx) && inRange(by) && inRange(cx) && inRange(cy)) {
		return inCircleBig(a, b, c, d)
	}
	if axe == 0 && aye == 0 && bxe == 0 && bye == 0 && cxe == 0 && cye == 0 {
		return inCircleDiffs(ax, ay, bx, by, cx, cy)
	}
	if !(inRange(axe) && inRange(aye) && inRange(bxe) && inRange(bye) && inRange(cxe) && inRange(cye)) {
		return inCircleBig(a, b, c, d)
	}
	var v [6][2]float64
	return inCirclePairs(
		pair(&v[0], ax, axe), pair(&v[1], ay, aye),
		pair(&v[2], bx, bxe), pair(&v[3], by, bye),
		pair(&v[4], cx, cxe), pair(&v[5], cy, cye))
}

// rectangle reports whether the origin and three points are the corners of an
// axis-parallel rectangle: two points on the axes, one on each, and the third their
// sum. This is the usual case on lattices and in refined meshes.
func rectangle(ax, ay, bx, by, cx, cy float64) bool {
	corner := func(px, py, qx, qy, rx, ry float64) bool {
		return py == 0 && qx == 0 && rx == px && ry == qy || px == 0 && qy == 0 && rx == qx && ry == py
	}
	return corner(ax, ay, cx, cy, bx, by) || corner(ax, ay, bx, by, cx, cy) || corner(bx, by, cx, cy, ax, ay)
}

// inCircleBound is the error bound of inCircleDouble, as a part of its second
// result.
//
// With u = 2⁻⁵³ a sum of two pairs is off by 3u² of the sum of their sizes at most
// and a product of two pairs by 8u² of itself (M. Joldes, J.-M. Muller, V. Popescu,
// "Tight and rigorous error bounds for basic building blocks of double-word
// arithmetic", ACM TOMS 44 (2017) [mem]). Products of two float64 are exact as
// pairs, so a minor and a lift are off by 3u² each, their product by 14u² and the
// sum of three such by 20u² of the sum of sizes. 2⁻⁹⁹ = 128u² leaves room for the
// rounding of that sum.
const inCircleBound = 0x1p-99

// inCircleDouble evaluates the in-circle determinant of exact differences with
// pairs of float64, and the sum of the sizes of its products. In the range of
// inRange nothing underflows.
func inCircleDouble(ax, ay, bx, by, cx, cy float64) (det, size float64) {
	var dh, dl float64
	term := func(ax, ay, bx, by, cx, cy float64) {
		lh, ll := twoProduct(bx, cy)
		rh, rl := twoProduct(cx, by)
		mh, ml := addPairs(lh, ll, -rh, -rl)
		xh, xl := twoProduct(ax, ax)
		yh, yl := twoProduct(ay, ay)
		qh, ql := addPairs(xh, xl, yh, yl)
		// The product of two pairs, without the product of their low parts.
		ph, pl := twoProduct(mh, qh)
		pl = math.FMA(mh, ql, math.FMA(ml, qh, pl))
		h := float64(ph + pl)
		dh, dl = addPairs(dh, dl, h, pl-float64(h-ph))
		size += float64(qh * (math.Abs(lh) + math.Abs(rh)))
	}
	term(ax, ay, bx, by, cx, cy)
	term(bx, by, cx, cy, ax, ay)
	term(cx, cy, ax, ay, bx, by)
	return dh, size
}

// addPairs adds two pairs with one rounding of each half carried along.
func addPairs(ah, al, bh, bl float64) (h, l float64) {
	sh, sl := twoSum(ah, bh)
	th, tl := twoSum(al, bl)
	sl += th
	vh := float64(sh + sl)
	vl := float64(sl - float64(vh-sh))
	wl := float64(tl + vl)
	h = float64(vh + wl)
	return h, float64(wl - float64(h-vh))
}

// inCircleDiffs is the sign of the in-circle determinant of exact differences.
func inCircleDiffs(ax, ay, bx, by, cx, cy float64) int {
	if rectangle(ax, ay, bx, by, cx, cy) {
		return 0
	}
	if det, size := inCircleDouble(ax, ay, bx, by, cx, cy); math.Abs(det) > inCircleBound*size {
		return sign2(det)
	}
	return inCircleExpanded(ax, ay, bx, by, cx, cy)
}

// sign2 is the sign of a float64 that is not zero.
func sign2(x float64) int {
	if x > 0 {
		return 1
	}
	return -1
}

// inCircleExpanded is inCircleDiffs with expansions all through.
func inCircleExpanded(ax, ay, bx, by, cx, cy float64) int {
	var minor, lift [4]float64
	var t [8]float64
	var h, k, ha, hb [32]float64
	var s [64]float64
	sa := mul(h[:], k[:], t[:], product2(minor[:], bx, cy, cx, by), squares(lift[:], ax, ay))
	sa = ha[:copy(ha[:], sa)]
	sb := mul(h[:], k[:], t[:], product2(minor[:], cx, ay, ax, cy), squares(lift[:], bx, by))
	sb = hb[:copy(hb[:], sb)]
	ab := add(s[:], sa, sb)
	sc := mul(h[:], k[:], t[:], product2(minor[:], ax, by, bx, ay), squares(lift[:], cx, cy))
	// The sign of ab + sc needs no third sum where the two have the same sign.
	if x, y := sign(ab), sign(sc); x == 0 || y == 0 || x == y {
		return min(1, max(-1, x+y))
	}
	var all [96]float64
	return sign(add(all[:], ab, sc))
}

// inCirclePairs is the sign of the in-circle determinant of differences that
// take two components each.
func inCirclePairs(ax, ay, bx, by, cx, cy []float64) int {
	var all, sum [1536]float64
	var h, k [512]float64
	det := sum[:0]
	into := all[:]
	for _, v := range [3][6][]float64{{ax, ay, bx, by, cx, cy}, {bx, by, cx, cy, ax, ay}, {cx, cy, ax, ay, bx, by}} {
		var b [4][8]float64
		var t [32]float64
		var minor, lift [16]float64
		// minor = v2·v5 − v4·v3
		m := add(minor[:],
			mul(b[0][:], b[1][:], t[:], v[2], v[5]),
			negate(mul(b[2][:], b[3][:], t[:], v[4], v[3])))
		l := add(lift[:],
			mul(b[0][:], b[1][:], t[:], v[0], v[0]),
			mul(b[2][:], b[3][:], t[:], v[1], v[1]))
		next := add(into, det, mul(h[:], k[:], t[:], m, l))
		if &into[0] == &all[0] {
			into = sum[:]
		} else {
			into = all[:]
		}
		det = next
	}
	return sign(det)
}

// negate changes the sign of e in place.
func negate(e []float64) []float64 {
	for i := range e {
		e[i] = -e[i]
	}
	return e
}

// ratDiff is a − b as a rational number.
func ratDiff(a, b float64) *big.Rat {
	x, y := new(big.Rat).SetFloat64(a), new(big.Rat).SetFloat64(b)
	return x.Sub(x, y)
}

// ratMinor is a·b − c·d.
func ratMinor(a, b, c, d *big.Rat) *big.Rat {
	l, r := new(big.Rat).Mul(a, b), new(big.Rat).Mul(c, d)
	return l.Sub(l, r)
}

// orientBig is Orient in rational arithmetic, for differences beyond the range of
// expansions.
func orientBig(a, b, c grid.Point) int {
	if !finite(a.X, a.Y, b.X, b.Y, c.X, c.Y) {
		return 0
	}
	return ratMinor(ratDiff(a.X, c.X), ratDiff(b.Y, c.Y), ratDiff(a.Y, c.Y), ratDiff(b.X, c.X)).Sign()
}

// inCircleBig is InCircle in rational arithmetic.
func inCircleBig(a, b, c, d grid.Point) int {
	if !finite(a.X, a.Y, b.X, b.Y, c.X, c.Y, d.X, d.Y) {
		return 0
	}
	ax, ay := ratDiff(a.X, d.X), ratDiff(a.Y, d.Y)
	bx, by := ratDiff(b.X, d.X), ratDiff(b.Y, d.Y)
	cx, cy := ratDiff(c.X, d.X), ratDiff(c.Y, d.Y)
	lift := func(x, y *big.Rat) *big.Rat {
		xx, yy := new(big.Rat).Mul(x, x), new(big.Rat).Mul(y, y)
		return xx.Add(xx, yy)
	}
	det := new(big.Rat).Mul(lift(ax, ay), ratMinor(bx, cy, cx, by))
	det.Add(det, new(big.Rat).Mul(lift(bx, by), ratMinor(cx, ay, ax, cy)))
	det.Add(det, new(big.Rat).Mul(lift(cx, cy), ratMinor(ax, by, bx, ay)))
	return det.Sign()
}
