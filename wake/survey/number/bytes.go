package number

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// Type is how a file holds the values of an array.
type Type uint8

const (
	Int8 Type = iota + 1
	Uint8
	Int16
	Uint16
	Int32
	Uint32
	Int64
	Uint64
	Float32
	Float64
	Bit // eight to a byte, the first in the highest bit
)

var sizes = [...]int{0, 1, 1, 2, 2, 4, 4, 8, 8, 4, 8, 0}

// Size is the length of one value, 0 for bits; Bytes that of n values.
func (t Type) Size() int { return sizes[t] }

func (t Type) Bytes(n int) int {
	if t == Bit {
		return (n + 7) / 8
	}
	return n * sizes[t]
}

// Whole reports whether the type holds whole numbers alone.
func (t Type) Whole() bool { return t <= Uint64 }

// Value returns the bits at src, sign-extended for signed whole numbers.
func (t Type) Value(src []byte, big bool) (u uint64) {
	switch sizes[t] {
	case 1:
		u = uint64(src[0])
	case 2:
		v := binary.LittleEndian.Uint16(src)
		if big {
			v = bits.ReverseBytes16(v)
		}
		u = uint64(v)
	case 4:
		v := binary.LittleEndian.Uint32(src)
		if big {
			v = bits.ReverseBytes32(v)
		}
		u = uint64(v)
	case 8:
		u = binary.LittleEndian.Uint64(src)
		if big {
			u = bits.ReverseBytes64(u)
		}
	}
	switch t {
	case Int8:
		return uint64(int8(u))
	case Int16:
		return uint64(int16(u))
	case Int32:
		return uint64(int32(u))
	}
	return u
}

// Floats converts len(dst) values that stand stride bytes apart. Whole numbers beyond
// 2^53 are rounded.
func Floats(dst []float64, src []byte, stride int, t Type, big bool) {
	switch t {
	case Bit:
		for i := range dst {
			dst[i] = float64(src[i/8] >> (7 - i%8) & 1)
		}
	case Float32:
		for i := range dst {
			dst[i] = float64(math.Float32frombits(uint32(t.Value(src[i*stride:], big))))
		}
	case Float64:
		for i := range dst {
			dst[i] = math.Float64frombits(t.Value(src[i*stride:], big))
		}
	case Uint64:
		for i := range dst {
			dst[i] = float64(t.Value(src[i*stride:], big))
		}
	default:
		for i := range dst {
			dst[i] = float64(int64(t.Value(src[i*stride:], big)))
		}
	}
}

// Ints converts len(dst) whole numbers and returns the index of the first that does not
// fit, or -1. Floating types do not fit.
func Ints(dst []int32, src []byte, t Type, big bool) int {
	for i := range dst {
		if !t.Whole() {
			return i
		}
		u := t.Value(src[i*sizes[t]:], big)
		if dst[i] = int32(u); uint64(dst[i]) != u {
			return i
		}
		if t == Uint64 && dst[i] < 0 {
			return i
		}
	}
	return -1
}
