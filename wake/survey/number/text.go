// Package number decodes numbers as files hold them: digits of text, and the bytes of
// arrays of any type and order.
package number

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// pow10 are the powers of ten that a float64 holds exactly, pow5 the powers of five
// below 2^64.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

var pow5 = func() (p [28]uint64) {
	p[0] = 1
	for i := 1; i < len(p); i++ {
		p[i] = 5 * p[i-1]
	}
	return p
}()

// Scan reads the decimal number that b begins with: a sign, up to 19 digits with the
// decimal mark dec, and an exponent after e or d. It returns the nearest float64 and the
// length of the text; n is 0 where b begins otherwise, or where the number needs more
// than the quick paths, |exponent| ≤ 27.
func Scan(b []byte, dec byte) (v float64, n int) {
	if len(b) == 0 {
		return 0, 0
	}
	// Signs come and go from number to number: no branch on them.
	minus := (uint64(b[0]^'-') - 1) >> 63
	i := int(minus)
	if b[0] == '+' {
		i = 1
	}
	var mantissa uint64
	begin := i
	for i < len(b) && b[i]-'0' <= 9 { // few, mostly
		mantissa = mantissa*10 + uint64(b[i]-'0')
		i++
	}
	digits, exp := i-begin, 0
	if i < len(b) && b[i] == dec {
		i++
		m, n := run(b[i:], mantissa)
		mantissa, i, digits, exp = m, i+n, digits+n, -n
	}
	if i < len(b) && (b[i]|0x20 == 'e' || b[i]|0x20 == 'd') {
		j := i + 1
		down := j < len(b) && b[j] == '-'
		if down || j < len(b) && b[j] == '+' {
			j++
		}
		from, e := j, 0
		for ; j < len(b) && b[j]-'0' <= 9 && j-from < 5; j++ {
			e = e*10 + int(b[j]-'0')
		}
		if down {
			e = -e
		}
		if j > from {
			exp += e
			i = j
		}
	}
	if !(0 < digits && digits <= 19) {
		return 0, 0
	}
	ok := true
	if -22 <= exp && exp <= 0 && mantissa <= 1<<53 { // as in scale, without the call
		v = float64(int64(mantissa)) / pow10[-exp]
	} else if v, ok = scale(mantissa, exp); !ok {
		return 0, 0
	}
	return math.Float64frombits(math.Float64bits(v) | minus<<63), i
}

// whole10 are the powers of ten up to eight.
var whole10 = [...]uint64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}

// run appends to number the digits that b begins with; n is how many they are. Eight are taken
// at once, without a branch for each.
func run(b []byte, number uint64) (_ uint64, n int) {
	for len(b)-n >= 8 {
		d := binary.LittleEndian.Uint64(b[n:]) ^ 0x3030303030303030 // digits become 0 to 9, all else more
		k := bits.TrailingZeros64((d|(d+0x7676767676767676))&0x8080808080808080) / 8
		d <<= 64 - 8*k // zeros before them
		d = d*10 + d>>8
		d = (d&0x000000ff000000ff*0x000f424000000064 + d>>16&0x000000ff000000ff*0x0000271000000001) >> 32
		number = number*whole10[k] + d
		if n += k; k < 8 {
			return number, n
		}
	}
	for n < len(b) && b[n]-'0' <= 9 {
		number = number*10 + uint64(b[n]-'0')
		n++
	}
	return number, n
}

// scale returns the float64 nearest to mantissa·10^exp, where one of the quick paths does:
// one correctly rounded operation on exact operands (W. D. Clinger, "How to read floating
// point numbers accurately", PLDI 1990) [mem], or 128 bits.
func scale(mantissa uint64, exp int) (v float64, ok bool) {
	switch f := float64(mantissa); {
	case mantissa <= 1<<53 && 0 <= exp && exp <= 22:
		return f * pow10[exp], true
	case mantissa <= 1<<53 && -22 <= exp && exp < 0:
		return f / pow10[-exp], true
	case mantissa == 0 || exp < -27 || exp > 27:
		return 0, false
	}
	return scaleWide(mantissa, exp), true
}

// scaleWide returns the float64 nearest to mantissa·10^exp, ties to even, for
// |exp| ≤ 27 and mantissa > 0. It splits 10^exp = 5^exp·2^exp: the product with,
// or the quotient by, 5^|exp| < 2^64 is taken in 128 bits, of which the first 64
// and whether anything follows decide the rounding. It serves the 17 digits of
// numbers that were written to be read back.
func scaleWide(mantissa uint64, exp int) float64 {
	var q uint64
	sticky := false
	e := exp
	if exp >= 0 {
		hi, lo := bits.Mul64(mantissa, pow5[exp])
		q = lo
		if hi > 0 {
			n := bits.LeadingZeros64(hi)
			q = hi<<n | lo>>(64-n)
			sticky = lo<<n != 0
			e += 64 - n
		}
	} else {
		d := pow5[-exp]
		nd, nm := bits.LeadingZeros64(d), bits.LeadingZeros64(mantissa)
		d, mantissa = d<<nd, mantissa<<nm
		e += nd - nm - 64
		hi, lo := mantissa, uint64(0)
		if hi >= d { // the quotient has to be below 2^64
			hi, lo = mantissa>>1, mantissa<<63
			e++
		}
		var r uint64
		q, r = bits.Div64(hi, lo, d)
		sticky = r != 0
	}
	if shift := 11 - bits.LeadingZeros64(q); shift > 0 {
		low, half := q&(1<<shift-1), uint64(1)<<(shift-1)
		q >>= shift
		e += shift
		if low > half || low == half && (sticky || q&1 == 1) {
			q++
		}
	}
	// |e| < 200, so that 2^e and the product are normal and exact.
	return float64(q) * math.Float64frombits(uint64(1023+e)<<52)
}
