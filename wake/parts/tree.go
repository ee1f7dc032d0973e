package parts

import (
	"cmp"
	"math"
	"slices"

	"wakeledger/grid"
)

// peaks are the structures of a field: what each vertex belongs to, and how deep the cuts
// between them are.
type peaks struct {
	// label is the peak of each vertex, or −1 below the threshold.
	label []int32
	peak  []peak
}

// peak is a local maximum.
type peak struct {
	vertex int32
	value  float64
	// saddle is the level at which it meets a higher peak; the threshold when it
	// never does above that.
	saddle float64
	// into is a peak on the other side of that saddle, −1 for none.
	into int32
	// kept: it rises above its saddle by at least the part prominence of its own height.
	kept bool
}

// joinTree is the join tree of a field above a threshold [carr]: its maxima, highest first,
// and for each vertex the one that the field rises to, −1 below the threshold.
type joinTree struct {
	all  []peak
	leaf []int32
}

// findPeaks lets the level sink from the top. A vertex without a higher neighbour
// starts a peak; any other belongs to the peak of the neighbour to which the field
// rises most steeply. Where two connected parts meet, the one with the lower peak
// is kept as a structure of its own if the rule says so, and joined to its
// neighbour across the saddle otherwise. Equal values are taken in the order of
// their positions, so the result does not depend on how the mesh was numbered.
func findPeaks(s *simplex, f []float64, t, prominence float64) *joinTree {
	order := grid.Where(len(s.pts), func(v int32) bool { return f[v] >= t })
	slices.SortFunc(order, func(a, b int32) int {
		if f[a] != f[b] {
			return cmp.Compare(f[b], f[a])
		}
		return cmp.Or(cmp.Compare(s.pts[a].Y, s.pts[b].Y), cmp.Compare(s.pts[a].X, s.pts[b].X), cmp.Compare(a, b))
	})
	n := len(s.pts)
	rank := make([]int32, n)
	for k, v := range order {
		rank[v] = int32(k)
	}
	leaf, set := slices.Repeat([]int32{-1}, n), slices.Repeat([]int32{-1}, n)
	find := func(v int32) int32 {
		for set[v] != v {
			set[v] = set[set[v]]
			v = set[v]
		}
		return v
	}
	var all []peak
	test := func(p *peak) { p.kept = p.value-p.saddle >= prominence*p.value }
	// top is the highest peak of the connected part with the given root.
	top := make(map[int32]int32)
	var roots []int32
	for _, v := range order {
		set[v] = v
		roots = roots[:0]
		best, steep := int32(-1), math.Inf(-1)
		for _, u := range s.near(v) {
			if leaf[u] < 0 {
				continue
			}
			dx, dy := s.pts[u].X-s.pts[v].X, s.pts[u].Y-s.pts[v].Y
			d := math.Sqrt(dx*dx + dy*dy)
			if g := (f[u] - f[v]) / d; g > steep || g == steep && rank[u] < rank[best] {
				best, steep = u, g
			}
			if root := find(u); !slices.Contains(roots, root) {
				roots = append(roots, root)
			}
		}
		if best < 0 {
			leaf[v] = int32(len(all))
			top[v] = leaf[v]
			all = append(all, peak{vertex: v, value: f[v], saddle: t, into: -1})
			continue
		}
		leaf[v] = leaf[best]
		// The highest part survives.
		slices.SortFunc(roots, func(a, b int32) int { return cmp.Compare(top[a], top[b]) })
		for _, low := range roots[1:] {
			p := top[low]
			all[p].saddle = f[v]
			all[p].into = across(s.near(v), rank, leaf, find, roots[0])
			test(&all[p])
			set[low] = roots[0]
			delete(top, low)
		}
		set[v] = roots[0]
	}
	for _, p := range top {
		test(&all[p])
	}
	return &joinTree{all, leaf}
}

// across is the peak of the highest of the neighbours that belong to the part with
// the root high, which survives. Where three parts meet at one vertex, the highest of
// all neighbours may be in one that ends there too: two that named each other would
// lead nowhere.
func across(neighbours, rank, leaf []int32, find func(int32) int32, high int32) int32 {
	best := int32(-1)
	for _, u := range neighbours {
		if leaf[u] >= 0 && find(u) == high && (best < 0 || rank[u] < rank[best]) {
			best = u
		}
	}
	return leaf[best]
}

// end is the kept peak that peak p is, or was joined to, −1 for none. One that was not kept
// was joined to one in the part that survived then, which may have been joined on since;
// what is passed on the way is shortened.
func (t *joinTree) end(p int32) int32 {
	for p >= 0 && !t.all[p].kept {
		q := &t.all[p]
		if q.into >= 0 && !t.all[q.into].kept {
			q.into = t.all[q.into].into
		}
		p = q.into
	}
	return p
}

// dropSmall joins the parts below the least area, the smallest first, to those
// across their saddles, or drops those that meet none, and reports whether there
// were any. area has that of each kept peak. A part that grows in the course of this
// may thereby stay.
func (t *joinTree) dropSmall(area []float64, least float64) bool {
	kept := grid.Where(len(t.all), func(p int32) bool { return t.all[p].kept })
	of := make(map[int32]float64, len(kept))
	for k, p := range kept {
		of[p] = area[k]
	}
	dropped := false
	for {
		small := int32(-1)
		for _, p := range kept {
			if t.all[p].kept && of[p] < least && (small < 0 || of[p] < of[small]) {
				small = p
			}
		}
		if small < 0 {
			return dropped
		}
		t.all[small].kept, dropped = false, true
		if into := t.end(small); into >= 0 {
			of[into] += of[small]
		}
	}
}

// number gives the kept peaks their numbers, highest first, and every vertex the
// peak that its own was joined to.
func (t *joinTree) number() *peaks {
	place := map[int32]int32{-1: -1}
	out := &peaks{label: make([]int32, len(t.leaf))}
	for p, q := range t.all {
		if q.kept {
			place[int32(p)] = int32(len(out.peak))
			out.peak = append(out.peak, q)
		}
	}
	for v, p := range t.leaf {
		out.label[v] = place[t.end(p)]
	}
	return out
}
