package vtk

import (
	"encoding/binary"
	"math"
)

// number is the type of an array's values in a file.
type number uint8

const (
	noNumber number = iota
	int8s
	uint8s
	int16s
	uint16s
	int32s
	uint32s
	int64s
	uint64s
	float32s
	float64s
	bits // eight to a byte, the first in the highest bit
)

var numberSize = [...]int{0, 1, 1, 2, 2, 4, 4, 8, 8, 4, 8, 0}

// bytes returns the length of n values.
func (t number) bytes(n int) int {
	if t == bits {
		return (n + 7) / 8
	}
	return n * numberSize[t]
}

// toFloats converts len(dst) values of type t. Whole numbers beyond 2^53 are
// rounded.
func toFloats(dst []float64, src []byte, t number, order binary.ByteOrder) {
	if order == binary.BigEndian {
		toFloatsOrder(dst, src, t, binary.BigEndian)
	} else {
		toFloatsOrder(dst, src, t, binary.LittleEndian)
	}
}

// A type parameter instead of the interface lets the compiler inline the loads.
func toFloatsOrder[O binary.ByteOrder](dst []float64, src []byte, t number, o O) {
	switch t {
	case int8s:
		for i := range dst {
			dst[i] = float64(int8(src[i]))
		}
	case uint8s:
		for i := range dst {
			dst[i] = float64(src[i])
		}
	case int16s:
		for i := range dst {
			dst[i] = float64(int16(o.Uint16(src[2*i:])))
		}
	case uint16s:
		for i := range dst {
			dst[i] = float64(o.Uint16(src[2*i:]))
		}
	case int32s:
		for i := range dst {
			dst[i] = float64(int32(o.Uint32(src[4*i:])))
		}
	case uint32s:
		for i := range dst {
			dst[i] = float64(o.Uint32(src[4*i:]))
		}
	case int64s:
		for i := range dst {
			dst[i] = float64(int64(o.Uint64(src[8*i:])))
		}
	case uint64s:
		for i := range dst {
			dst[i] = float64(o.Uint64(src[8*i:]))
		}
	case float32s:
		for i := range dst {
			dst[i] = float64(math.Float32frombits(o.Uint32(src[4*i:])))
		}
	case float64s:
		for i := range dst {
			dst[i] = math.Float64frombits(o.Uint64(src[8*i:]))
		}
	case bits:
		for i := range dst {
			dst[i] = float64(src[i/8] >> (7 - i%8) & 1)
		}
	}
}

// toInts converts len(dst) whole numbers and returns the index of the first that
// does not fit, or -1. Floating types do not fit.
func toInts(dst []int32, src []byte, t number, o binary.ByteOrder) int {
	for i := range dst {
		var v int64
		switch t {
		case int8s:
			v = int64(int8(src[i]))
		case uint8s:
			v = int64(src[i])
		case int16s:
			v = int64(int16(o.Uint16(src[2*i:])))
		case uint16s:
			v = int64(o.Uint16(src[2*i:]))
		case int32s:
			v = int64(int32(o.Uint32(src[4*i:])))
		case uint32s:
			v = int64(o.Uint32(src[4*i:]))
		case int64s:
			v = int64(o.Uint64(src[8*i:]))
		case uint64s:
			u := o.Uint64(src[8*i:])
			if u > math.MaxInt32 {
				return i
			}
			v = int64(u)
		default:
			return i
		}
		if v != int64(int32(v)) {
			return i
		}
		dst[i] = int32(v)
	}
	return -1
}
