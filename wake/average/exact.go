package average

import (
	"math"
	"math/bits"
)

// Limits of the exact sums; doc.go derives them.
const (
	valueBits    = 52
	maxSnapshots = 1 << 22
)

// wide is an integer of 256 bits in two's complement, the lowest word first.
type wide [4]uint64

// add128 adds n to the 128-bit integer in a[0] (low) and a[1] (high).
func add128(a []uint64, n int64) {
	var c uint64
	a[0], c = bits.Add64(a[0], uint64(n), 0)
	a[1], _ = bits.Add64(a[1], uint64(n>>63), c)
}

// addProduct adds n·m to the 128-bit integer in a.
func addProduct(a []uint64, n, m int64) {
	hi, lo := bits.Mul64(uint64(n), uint64(m))
	// The unsigned product of two's complements is off by 2⁶⁴ times the other
	// factor for each negative one.
	hi -= uint64(n>>63)&uint64(m) + uint64(m>>63)&uint64(n)
	var c uint64
	a[0], c = bits.Add64(a[0], lo, 0)
	a[1], _ = bits.Add64(a[1], hi, c)
}

func addWide128(a, b []uint64) {
	var c uint64
	a[0], c = bits.Add64(a[0], b[0], 0)
	a[1], _ = bits.Add64(a[1], b[1], c)
}

// magnitude128 splits the 128-bit integer in a into its size and sign.
func magnitude128(a []uint64) (lo, hi uint64, negative bool) {
	lo, hi = a[0], a[1]
	if int64(hi) >= 0 {
		return lo, hi, false
	}
	var b uint64
	lo, b = bits.Sub64(0, lo, 0)
	hi, _ = bits.Sub64(0, hi, b)
	return lo, hi, true
}

// mul256 is the product of two 128-bit integers.
func mul256(a, b []uint64) wide {
	al, ah, an := magnitude128(a)
	bl, bh, bn := magnitude128(b)
	var p wide
	var c uint64
	p[1], p[0] = bits.Mul64(al, bl)
	p[3], p[2] = bits.Mul64(ah, bh)
	for _, f := range [2][2]uint64{{al, bh}, {ah, bl}} {
		hi, lo := bits.Mul64(f[0], f[1])
		p[1], c = bits.Add64(p[1], lo, 0)
		p[2], c = bits.Add64(p[2], hi, c)
		p[3] += c
	}
	if an != bn {
		p = p.negate()
	}
	return p
}

func (p wide) negate() wide { return wide{}.minus(p) }

func (p wide) minus(q wide) wide {
	var b uint64
	for k := range p {
		p[k], b = bits.Sub64(p[k], q[k], b)
	}
	return p
}

func (p wide) negative() bool { return int64(p[3]) < 0 }

// float is p as a float64, with a relative error below 2·2⁻⁵³.
func (p wide) float() float64 {
	if p.negative() {
		return -p.negate().float()
	}
	f := 0.0
	for k := len(p) - 1; k >= 0; k-- {
		f = f*(1<<64) + float64(p[k])
	}
	return f
}

func float128(a []uint64) float64 {
	sign := uint64(int64(a[1]) >> 63)
	return wide{a[0], a[1], sign, sign}.float()
}

// coMoment is N·Σnm − Σn·Σm, exactly.
func coMoment(count uint64, product, a, b []uint64) wide {
	return mul256(product, []uint64{count, 0}).minus(mul256(a, b))
}

// within reports whether the 128-bit integer in a is at most count·2^power in
// size.
func within(a []uint64, count uint64, power uint) bool {
	lo, hi, _ := magnitude128(a)
	var limitLo, limitHi uint64
	if power >= 64 {
		limitHi = count << (power - 64)
	} else {
		limitLo = count << power
		limitHi = count >> (64 - power)
	}
	return hi < limitHi || hi == limitHi && lo <= limitLo
}

func quantise(x, scale float64) int64 { return int64(math.RoundToEven(x * scale)) }
