package delaunay

import "slices"

// A set of points is cut in two halves so that every point of the first one comes
// before every point of the second in the order of the cut's axis:
//
//	axis 0: by x, then by y
//	axis 1: by y, then by falling x
//
// The second order is the first one seen after a quarter turn. Ties are broken as
// if the cut were tilted by an infinitely small angle, so the halves can always be
// separated by a line, which the merge relies on.

// before reports whether a comes before b along the axis. Duplicates go by index.
func before(axis int, a, b *vertex) bool {
	if axis == 0 {
		if a.X != b.X {
			return a.X < b.X
		}
		if a.Y != b.Y {
			return a.Y < b.Y
		}
		return a.id < b.id
	}
	if a.Y != b.Y {
		return a.Y < b.Y
	}
	if a.X != b.X {
		return a.X > b.X
	}
	return a.id < b.id
}

// selectAt reorders v so that v[k] is the element that sorting would put there,
// with smaller ones before and greater ones behind it. Expected time is linear; the
// pivots depend on v alone, so the order that results does, too. Both axes are
// written out, to keep the choice between them out of the innermost loops.
func selectAt(v []vertex, k, axis int) {
	lo, hi := 0, len(v)-1
	for rounds := 0; hi-lo > 12; rounds++ {
		if rounds > 64 {
			break // an input that defeats the pivots: sort what is left
		}
		p := pivot(v, lo, hi, k, axis)
		i, j := lo-1, hi+1
		if axis == 0 {
			for {
				for i++; v[i].X < p.X || v[i].X == p.X && before(0, &v[i], &p); i++ {
				}
				for j--; v[j].X > p.X || v[j].X == p.X && before(0, &p, &v[j]); j-- {
				}
				if i >= j {
					break
				}
				v[i], v[j] = v[j], v[i]
			}
		} else {
			for {
				for i++; v[i].Y < p.Y || v[i].Y == p.Y && before(1, &v[i], &p); i++ {
				}
				for j--; v[j].Y > p.Y || v[j].Y == p.Y && before(1, &p, &v[j]); j-- {
				}
				if i >= j {
					break
				}
				v[i], v[j] = v[j], v[i]
			}
		}
		// v[lo..j] ≤ p ≤ v[j+1..hi]
		if k <= j {
			hi = j
		} else {
			lo = j + 1
		}
	}
	sortAll(v[lo:hi+1], axis)
}

// pivot picks an element of v[lo..hi] that is likely to come near place k: from a
// sample whose members are spread evenly over the range, the one at the
// proportionate place. It is never the last one in order, so that every partition
// makes progress.
func pivot(v []vertex, lo, hi, k, axis int) vertex {
	n := hi - lo + 1
	m := 3
	switch {
	case n > 20000:
		m = 63
	case n > 1000:
		m = 15
	case n > 100:
		m = 5
	}
	var s [63]vertex
	for i := range m {
		s[i] = v[lo+(2*i+1)*n/(2*m)]
	}
	sortAll(s[:m], axis)
	r := (k - lo) * m / n
	return s[min(r, m-2)]
}

// sortAll sorts v along the axis.
func sortAll(v []vertex, axis int) {
	if len(v) > 64 {
		slices.SortFunc(v, func(a, b vertex) int {
			if before(axis, &a, &b) {
				return -1
			}
			return 1
		})
		return
	}
	for i := 1; i < len(v); i++ {
		x := v[i]
		j := i
		for ; j > 0 && before(axis, &x, &v[j-1]); j-- {
			v[j] = v[j-1]
		}
		v[j] = x
	}
}
