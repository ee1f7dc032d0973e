package delaunay

import (
	"math/bits"
	"runtime"
	"sync"
	"sync/atomic"

	"wakeledger/grid"
	"wakeledger/grid/predicate"
)

// edge is a directed half of an edge; its other half has the number with the last
// bit flipped. The ring of half-edges that leave a point is linked both ways.
type edge struct {
	org  int32 // the vertex it leaves, or -1 if the slot is free
	next int32 // the next half-edge at org, anticlockwise
	prev int32 // the next half-edge at org, clockwise
}

// builder makes the triangulation of pts.
//
// The points at places lo … hi−1 own the half-edges 6lo … 6hi−1. A triangulation
// of m ≥ 3 points has at most 3m−6 edges, and so has every planar graph that a
// merge passes through, so the slots of the two halves always suffice for the
// whole. Which slot an edge gets depends on the points alone, not on who worked
// when: the result is the same for any number of workers.
type builder struct {
	pts   []vertex
	edges []edge
	// forks is the number of levels at which the halves are built at the same time.
	forks int
	// duplicate is set when two points have one position; the rest of the
	// construction is then meaningless and is cut short.
	duplicate atomic.Bool
}

// forkSize is the number of points that repay a goroutine.
const forkSize = 4096

// newBuilder prepares the construction for pts, which it will reorder.
func newBuilder(pts []vertex) *builder {
	return &builder{pts: pts, edges: make([]edge, 6*len(pts)), forks: bits.Len(uint(runtime.GOMAXPROCS(0) - 1))}
}

// freeList is a stack of free slots, linked through edge.next, that can be joined
// with another one.
type freeList struct{ head, tail int32 }

// part is the triangulation of a range of points: a half-edge on its border with
// the inside on the left, and its free slots.
type part struct {
	rim  int32
	free freeList
}

// build triangulates the points at places lo … hi−1, at least two, which it
// reorders. The box holds them and decides the direction of the cut.
func (b *builder) build(lo, hi int, box grid.Box, depth int) part {
	n := hi - lo
	if n <= 3 {
		return b.leaf(lo, hi)
	}
	axis := 0
	if box.Max.Y-box.Min.Y > box.Max.X-box.Min.X {
		axis = 1
	}
	mid := lo + n/2
	selectAt(b.pts[lo:hi], n/2, axis)
	c := b.pts[mid]
	// Duplicates that the cut separates equal its first point behind, the ones
	// before it by index. All others end up in one leaf.
	for i := lo; i < mid; i++ {
		if b.pts[i].Point == c.Point {
			b.duplicate.Store(true)
		}
	}
	if b.duplicate.Load() {
		return part{}
	}
	below, above := box, box
	if axis == 0 {
		below.Max.X, above.Min.X = c.X, c.X
	} else {
		below.Max.Y, above.Min.Y = c.Y, c.Y
	}
	var p, q part
	if depth < b.forks && n >= forkSize {
		p, q = b.buildBoth(lo, mid, hi, below, above, depth+1)
	} else {
		p = b.build(lo, mid, below, depth+1)
		q = b.build(mid, hi, above, depth+1)
	}
	if b.duplicate.Load() {
		return part{}
	}
	return b.merge(p, q, axis)
}

// buildBoth builds the two halves at the same time.
func (b *builder) buildBoth(lo, mid, hi int, below, above grid.Box, depth int) (p, q part) {
	var wg sync.WaitGroup
	wg.Go(func() { p = b.build(lo, mid, below, depth) })
	q = b.build(mid, hi, above, depth)
	wg.Wait()
	return p, q
}

// leaf triangulates two or three points.
func (b *builder) leaf(lo, hi int) part {
	v := b.pts[lo:hi]
	sortAll(v, 0)
	for i := 1; i < len(v); i++ {
		if v[i].Point == v[i-1].Point {
			b.duplicate.Store(true)
			return part{}
		}
	}
	first, last := int32(6*lo), int32(6*hi-2)
	for e := first; e <= last; e += 2 {
		b.edges[e] = edge{-1, e + 2, 0}
		b.edges[e+1].org = -1
	}
	free := freeList{first, last}
	b.edges[last].next = -1

	s := int32(lo)
	a := b.single(&free, s, s+1)
	if hi-lo == 2 {
		return part{a, free}
	}
	c := b.single(&free, s+1, s+2)
	b.link(a^1, c)
	switch o := predicate.Orient(v[0].Point, v[1].Point, v[2].Point); {
	case o > 0:
		b.connect(&free, c, a)
	case o < 0:
		a = b.connect(&free, c, a) ^ 1
	}
	return part{a, free}
}

// take removes a slot from the list.
func (b *builder) take(f *freeList) int32 {
	e := f.head
	f.head = b.edges[e].next
	return e
}

// release takes edge e out of the rings of its ends and puts its slot on the list.
func (b *builder) release(f *freeList, e int32) {
	b.unlink(e)
	b.unlink(e ^ 1)
	e &^= 1
	b.edges[e].org = -1
	b.edges[e+1].org = -1
	b.edges[e].next = f.head
	if f.head < 0 {
		f.tail = e
	}
	f.head = e
}

// join puts the list g behind f.
func (b *builder) join(f, g freeList) freeList {
	if f.head < 0 {
		return g
	}
	if g.head < 0 {
		return f
	}
	b.edges[f.tail].next = g.head
	return freeList{f.head, g.tail}
}

// single makes an edge from vertex i to vertex j that is alone at both ends.
func (b *builder) single(f *freeList, i, j int32) int32 {
	e := b.take(f)
	b.edges[e] = edge{i, e, e}
	b.edges[e+1] = edge{j, e + 1, e + 1}
	return e
}

// link puts the half-edge e, alone in its ring, anticlockwise behind p.
func (b *builder) link(p, e int32) {
	q := b.edges[p].next
	b.edges[p].next = e
	b.edges[e].prev = p
	b.edges[e].next = q
	b.edges[q].prev = e
}

// unlink takes e out of its ring.
func (b *builder) unlink(e int32) {
	p, q := b.edges[e].prev, b.edges[e].next
	b.edges[p].next = q
	b.edges[q].prev = p
}

// connect makes an edge from the end of e to the start of f, which have one face
// on their left; the new edge has it on its left, too.
func (b *builder) connect(l *freeList, e, f int32) int32 {
	n := b.single(l, b.edges[e^1].org, b.edges[f].org)
	b.link(b.edges[e^1].prev, n)
	b.link(f, n^1)
	return n
}

// outermost walks round the border of a part from half-edge rim and returns the
// half-edge on it that leaves the last point along the axis, or the first one if
// last is false. That point is a corner of the hull, so the walk meets it once.
func (b *builder) outermost(rim int32, axis int, last bool) int32 {
	best := rim
	for e := b.edges[rim^1].next; e != rim; e = b.edges[e^1].next {
		p, q := &b.pts[b.edges[e].org], &b.pts[b.edges[best].org]
		if before(axis, q, p) == last {
			best = e
		}
	}
	return best
}

// merge joins two parts that are separated along the axis, p before q. Seen with
// the axis to the right it is the "rising bubble" of [GuibasStolfi], figure 23.
func (b *builder) merge(p, q part, axis int) part {
	free := b.join(p.free, q.free)
	es, pts := b.edges, b.pts

	// l leaves the rightmost point of the left part clockwise, r the leftmost one
	// of the right part anticlockwise. Walk both down to the common tangent.
	// The border edge before the one that leaves a corner anticlockwise ends there,
	// and its other half leaves clockwise.
	l := es[b.outermost(p.rim, axis, true)].prev
	r := b.outermost(q.rim, axis, false)
	for {
		lo, ro := es[l].org, es[r].org
		if predicate.Orient(pts[ro].Point, pts[lo].Point, pts[es[l^1].org].Point) > 0 {
			l = es[l^1].prev // next edge of the left face
		} else if predicate.Orient(pts[lo].Point, pts[es[r^1].org].Point, pts[ro].Point) > 0 {
			r = es[r^1].next // next edge of the right face, backwards
		} else {
			break
		}
	}
	base := b.connect(&free, r^1, l)
	rim := base ^ 1

	for {
		// base runs from right to left; what is left to join lies on its right.
		right, left := es[base].org, es[base^1].org
		pr, pl := pts[right].Point, pts[left].Point

		lc := es[base^1].next
		lv := pts[es[lc^1].org].Point
		lok := predicate.Orient(lv, pl, pr) > 0
		if lok {
			for {
				t := es[lc].next
				tv := pts[es[t^1].org].Point
				if predicate.InCircle(pl, pr, lv, tv) <= 0 {
					break
				}
				b.release(&free, lc)
				lc, lv = t, tv
			}
		}
		rc := es[base].prev
		rv := pts[es[rc^1].org].Point
		rok := predicate.Orient(rv, pl, pr) > 0
		if rok {
			for {
				t := es[rc].prev
				tv := pts[es[t^1].org].Point
				if predicate.InCircle(pl, pr, rv, tv) <= 0 {
					break
				}
				b.release(&free, rc)
				rc, rv = t, tv
			}
		}
		switch {
		case !lok && !rok:
			return part{rim, free}
		case !lok || rok && predicate.InCircle(lv, pl, pr, rv) > 0:
			base = b.connect(&free, rc, base^1)
		default:
			base = b.connect(&free, base^1, lc^1)
		}
	}
}
