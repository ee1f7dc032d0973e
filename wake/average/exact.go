package average

import (
	"math"
	"math/big"
	"math/bits"
)

// Limits of the exact sums; doc.go derives them.
const (
	valueBits    = 52
	maxSnapshots = 1 << 22
)

// add128 adds the integer of the words lo and hi to that in a.
func add128(a []uint64, lo, hi uint64) {
	var c uint64
	a[0], c = bits.Add64(a[0], lo, 0)
	a[1], _ = bits.Add64(a[1], hi, c)
}

// addProduct adds n·m. The unsigned product of two's complements is off by 2⁶⁴ times the
// other factor for each negative one.
func addProduct(a []uint64, n, m int64) {
	hi, lo := bits.Mul64(uint64(n), uint64(m))
	add128(a, lo, hi-uint64(n>>63)&uint64(m)-uint64(m>>63)&uint64(n))
}

// exact takes sums as whole numbers of any length. Its parts are used again, so that no
// sample takes memory.
type exact struct{ sum, a, b, part big.Int }

// set makes x the 128-bit integer in a, two's complement, the low word first.
func (e *exact) set(x *big.Int, a []uint64) *big.Int {
	x.Lsh(x.SetInt64(int64(a[1])), 64)
	return x.Add(x, e.part.SetUint64(a[0]))
}

// coMoment is N·Σnm − Σn·Σm.
func (e *exact) coMoment(count uint64, product, a, b []uint64) *big.Int {
	e.a.Mul(e.set(&e.a, a), e.set(&e.b, b))
	e.b.Mul(e.set(&e.b, product), e.part.SetUint64(count))
	return e.sum.Sub(&e.b, &e.a)
}

// nearest is the float64 nearest to x.
func nearest(x *big.Int) float64 {
	f, _ := x.Float64()
	return f
}

func quantise(x, scale float64) int64 { return int64(math.RoundToEven(x * scale)) }
