package vtk

import (
	"bytes"
	"math"
	"strconv"
)

// Powers of ten that float64 holds exactly.
var tens = [23]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseFloat reads one number as the library's writers print it. When the digits
// fit 53 bits and the power of ten is exact, one multiplication or division rounds
// correctly (Clinger 1990); other numbers go to strconv. Special cases are:
//
//	nan, -nan, nan(ind), 1.#IND, 1.#QNAN = NaN
//	inf, -inf, infinity, 1.#INF          = ±Inf
//
// A number too large for float64 is not accepted.
func parseFloat(b []byte) (float64, bool) {
	i, neg := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg = b[0] == '-'
		i = 1
	}
	var m uint64
	digits, exp, point := 0, 0, false
	for ; i < len(b); i++ {
		c := b[i]
		if c >= '0' && c <= '9' {
			if m >= 1<<53/10 {
				return slowFloat(b)
			}
			m = m*10 + uint64(c-'0')
			digits++
			if point {
				exp--
			}
			continue
		}
		if c != '.' || point {
			break
		}
		point = true
	}
	if digits == 0 {
		return slowFloat(b)
	}
	if i < len(b) {
		if b[i] != 'e' && b[i] != 'E' {
			return slowFloat(b)
		}
		e, ok := parseInt(b[i+1:])
		if !ok || e < -400 || e > 400 {
			return slowFloat(b)
		}
		exp += int(e)
	}
	if exp < -22 || exp > 22 {
		return slowFloat(b)
	}
	v := float64(m)
	if exp < 0 {
		v /= tens[-exp]
	} else {
		v *= tens[exp]
	}
	if neg {
		v = -v
	}
	return v, true
}

func slowFloat(b []byte) (float64, bool) {
	if len(b) == 0 || len(b) > 1000 {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err == nil {
		return v, true
	}
	neg := b[0] == '-'
	low := bytes.ToLower(bytes.TrimLeft(b, "+-"))
	switch {
	case bytes.HasPrefix(low, []byte("nan")), bytes.HasPrefix(low, []byte("1.#ind")),
		bytes.HasPrefix(low, []byte("1.#qnan")), bytes.HasPrefix(low, []byte("1.#snan")):
		return math.NaN(), true
	case bytes.HasPrefix(low, []byte("1.#inf")):
		if neg {
			return math.Inf(-1), true
		}
		return math.Inf(1), true
	}
	return 0, false
}

// textFloats reads n numbers from s.data[lo:hi] and returns them with the offset
// behind the last. The words are counted against the bytes before memory is
// taken: a number and the blank behind it need two.
func textFloats(s *source, lo, hi, n int, what string) ([]float64, int, error) {
	if n > (hi-lo+1)/2 {
		return nil, lo, s.fail(lo, cutCure, "%s: %d numbers are announced, but only %d bytes of text follow", what, n, hi-lo)
	}
	dst := make([]float64, n)
	data, pos := s.data[:hi], lo
	for i := range dst {
		a, b := word(data, pos)
		if a == b {
			return nil, pos, s.fail(a, cutCure, "%s: the text ends after %d of %d numbers", what, i, n)
		}
		v, ok := parseFloat(data[a:b])
		if !ok {
			return nil, pos, s.fail(a, cutCure, "%s: number %d of %d is %s", what, i+1, n, quote(string(data[a:min(b, a+200)])))
		}
		dst[i] = v
		pos = b
	}
	return dst, pos, nil
}

// textInts is textFloats for whole numbers that fit 32 bits.
func textInts(s *source, lo, hi, n int, what string) ([]int32, int, error) {
	if n > (hi-lo+1)/2 {
		return nil, lo, s.fail(lo, cutCure, "%s: %d whole numbers are announced, but only %d bytes of text follow", what, n, hi-lo)
	}
	dst := make([]int32, n)
	data, pos := s.data[:hi], lo
	for i := range dst {
		a, b := word(data, pos)
		if a == b {
			return nil, pos, s.fail(a, cutCure, "%s: the text ends after %d of %d whole numbers", what, i, n)
		}
		v, ok := parseInt(data[a:b])
		if !ok || v != int64(int32(v)) {
			return nil, pos, s.fail(a, cutCure, "%s: entry %d of %d is %s, expected a whole number below 2^31", what, i+1, n, quote(string(data[a:min(b, a+200)])))
		}
		dst[i] = int32(v)
		pos = b
	}
	return dst, pos, nil
}
