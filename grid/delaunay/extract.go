package delaunay

import "wakeledger/grid"

// chunks is the number of ranges that the half-edges are split into for workers.
// It is fixed so that nothing depends on their number.
const chunks = 16

// extract collects the triangles, in the order of their lowest half-edge, and the
// hull of the finished construction p. Indices are places among b.pts.
func (b *builder) extract(p part) *Triangulation {
	t := &Triangulation{}
	es := b.edges

	// The border edges have the outside on their right, their other halves have it
	// on their left. Where the hull has three corners the outside looks like a
	// triangle, and is told by its lowest half-edge.
	hull := []int32{}
	start, outside := 0, int32(-1)
	for e := p.rim; ; {
		v := es[e].org
		hull = append(hull, v)
		if before(0, &b.pts[v], &b.pts[hull[start]]) {
			start = len(hull) - 1
		}
		if outside < 0 || e^1 < outside {
			outside = e ^ 1
		}
		if e = es[e^1].next; e == p.rim {
			break
		}
	}
	if len(hull) != 3 {
		outside = -1
	}
	t.Hull = append(hull[start:len(hull):len(hull)], hull[:start]...)

	// A triangulation of n points with h on the hull has 2n−2−h triangles.
	total := 2*len(b.pts) - 2 - len(hull)
	t.Triangles, t.Adjacent = make([]int32, 3*total), make([]int32, 3*total)
	var offset [chunks + 1]int
	share(len(es), func(i, lo, hi int) { offset[i+1] = b.emit(lo, hi, outside, nil, 0) })
	for i := range chunks {
		offset[i+1] += offset[i]
	}
	share(len(es), func(i, lo, hi int) { b.emit(lo, hi, outside, t.Triangles, offset[i]) })
	share(len(es), func(_, lo, hi int) { b.adjacent(lo, hi, t.Adjacent) })
	return t
}

// share calls f for each of the fixed chunks of 0 … n−1, on all processors.
func share(n int, f func(chunk, lo, hi int)) {
	grid.Parallel(chunks, func(i int) { f(i, n*i/chunks, n*(i+1)/chunks) })
}

// emit stores the triangles whose lowest half-edge is one of lo … hi−1, from number
// at on, and returns how many there are; into may be nil for counting. Else the next field
// of each half-edge, which is not needed any more, receives the
// place of the edge in the list, and -1 on the outside.
func (b *builder) emit(lo, hi int, outside int32, into []int32, at int) int {
	es := b.edges
	count := 0
	for i := lo; i < hi; i++ {
		e := int32(i)
		if es[e].org < 0 {
			continue
		}
		f := es[e^1].prev
		g := es[f^1].prev
		if es[g^1].prev != e || e == outside || f == outside || g == outside {
			if into != nil {
				es[e].next = -1
			}
			continue
		}
		if f < e || g < e {
			continue
		}
		if into != nil {
			k := 3 * (at + count)
			into[k], into[k+1], into[k+2] = es[e].org, es[f].org, es[g].org
			es[e].next, es[f].next, es[g].next = int32(k), int32(k+1), int32(k+2)
		}
		count++
	}
	return count
}

// adjacent fills in the neighbours across the half-edges lo … hi−1 that emit has
// marked.
func (b *builder) adjacent(lo, hi int, into []int32) {
	es := b.edges
	for i := lo; i < hi; i++ {
		if es[i].org < 0 || es[i].next < 0 {
			continue
		}
		if t := es[i^1].next; t < 0 {
			into[es[i].next] = -1
		} else {
			into[es[i].next] = t / 3
		}
	}
}
