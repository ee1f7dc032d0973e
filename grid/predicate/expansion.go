package predicate

import "math"

// An expansion is a sum of float64 values, ordered by magnitude, the smallest
// first, without zeros and without overlapping bits: the value is exact and its
// sign is that of the last component. The empty expansion is 0. See [Shewchuk],
// section 2. The functions below write to h, which must have the room stated, and
// return the part of it that they filled.

// twoSum returns s = fl(a+b) and e with s + e = a + b exactly, barring overflow.
func twoSum(a, b float64) (s, e float64) {
	s = a + b
	bv := s - a
	av := s - bv
	return s, (a - av) + (b - bv)
}

// fastTwoSum is twoSum for |a| ≥ |b| or a = 0.
func fastTwoSum(a, b float64) (s, e float64) {
	s = a + b
	return s, b - (s - a)
}

// twoDiff returns s = fl(a−b) and e with s + e = a − b exactly, barring overflow.
func twoDiff(a, b float64) (s, e float64) {
	s = a - b
	bv := a - s
	av := s + bv
	return s, (a - av) + (bv - b)
}

// twoProduct returns p = fl(a·b) and e with p + e = a·b exactly, barring overflow
// and underflow. The fused multiply-add is meant: it yields the rounding error.
func twoProduct(a, b float64) (p, e float64) {
	p = float64(a * b)
	return p, math.FMA(a, b, -p)
}

// product2 stores a·b − c·d, at most 4 components.
func product2(h []float64, a, b, c, d float64) []float64 {
	p, pe := twoProduct(a, b)
	q, qe := twoProduct(-c, d)
	return sum2(h, p, pe, q, qe)
}

// squares stores a² + b², at most 4 components.
func squares(h []float64, a, b float64) []float64 {
	p, pe := twoProduct(a, a)
	q, qe := twoProduct(b, b)
	return sum2(h, p, pe, q, qe)
}

// sum2 stores (p+pe) + (q+qe) where each pair is a rounded value and its error.
func sum2(h []float64, p, pe, q, qe float64) []float64 {
	i, x0 := twoSum(pe, qe)
	j, m := twoSum(p, i)
	m, x1 := twoSum(m, q)
	x3, x2 := twoSum(j, m)
	n := 0
	if x0 != 0 {
		h[n] = x0
		n++
	}
	if x1 != 0 {
		h[n] = x1
		n++
	}
	if x2 != 0 {
		h[n] = x2
		n++
	}
	if x3 != 0 {
		h[n] = x3
		n++
	}
	return h[:n]
}

// add stores e + f, at most len(e)+len(f) components; h must not overlap e or f.
// Fast expansion sum with zero elimination, [Shewchuk] theorem 13.
func add(h, e, f []float64) []float64 {
	if len(e) == 0 {
		return h[:copy(h, f)]
	}
	if len(f) == 0 {
		return h[:copy(h, e)]
	}
	n, i, j := 0, 0, 0
	var q, r float64
	if math.Abs(e[0]) < math.Abs(f[0]) {
		q = e[0]
		i = 1
	} else {
		q = f[0]
		j = 1
	}
	for i < len(e) && j < len(f) {
		var x float64
		if math.Abs(e[i]) < math.Abs(f[j]) {
			x = e[i]
			i++
		} else {
			x = f[j]
			j++
		}
		q, r = twoSum(q, x)
		if r != 0 {
			h[n] = r
			n++
		}
	}
	for ; i < len(e); i++ {
		q, r = twoSum(q, e[i])
		if r != 0 {
			h[n] = r
			n++
		}
	}
	for ; j < len(f); j++ {
		q, r = twoSum(q, f[j])
		if r != 0 {
			h[n] = r
			n++
		}
	}
	if q != 0 {
		h[n] = q
		n++
	}
	return h[:n]
}

// scale stores e·b, at most 2·len(e) components; h must not overlap e.
// Scale expansion with zero elimination, [Shewchuk] theorem 19.
func scale(h, e []float64, b float64) []float64 {
	if len(e) == 0 || b == 0 {
		return h[:0]
	}
	n := 0
	q, r := twoProduct(e[0], b)
	if r != 0 {
		h[n] = r
		n++
	}
	for _, x := range e[1:] {
		p, pe := twoProduct(x, b)
		s, t := twoSum(q, pe)
		if t != 0 {
			h[n] = t
			n++
		}
		q, t = fastTwoSum(p, s)
		if t != 0 {
			h[n] = t
			n++
		}
	}
	if q != 0 {
		h[n] = q
		n++
	}
	return h[:n]
}

// mul stores e·f in one of h and k, at most 2·len(e)·len(f) components; t needs
// 2·len(e). None may overlap e or f.
func mul(h, k, t, e, f []float64) []float64 {
	if len(f) == 0 {
		return h[:0]
	}
	s := scale(h, e, f[0])
	for _, x := range f[1:] {
		s = add(k, s, scale(t, e, x))
		h, k = k, h
	}
	return s
}

// sign is the sign of an expansion.
func sign(e []float64) int {
	if len(e) == 0 {
		return 0
	}
	if e[len(e)-1] > 0 {
		return 1
	}
	return -1
}
