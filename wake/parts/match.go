package parts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"wakeledger/grid"
)

const (
	// leastScore is the score that two structures need to be called the same.
	leastScore = 0.2
	// partOf is the part of a structure's area that must lie inside another for it to
	// have split from or merged into that one.
	partOf = 0.5
)

// MatchPair says that structure A of the first set is structure B of the second.
type MatchPair struct {
	A string `json:"a"`
	B string `json:"b"`
	// Overlap is the area that both cover over the area that either does; Distance
	// that of the centroids, m; Score the mean of Overlap and of
	// exp(−½(Distance/spread)²), with spread the mean of the two.
	Overlap  float64 `json:"overlap"`
	Distance float64 `json:"distance_m"`
	Score    float64 `json:"score"`
}

// Event is a structure without a partner.
type Event struct {
	// Kind is appears, vanishes, splits or merges.
	Kind string `json:"kind"`
	// Name is the structure: of the second set for appears and splits, else of the
	// first. Of is the structure that it split from (first set) or merged into (second
	// set), and Share the part of its area that lies in that one.
	Name  string  `json:"name"`
	Of    string  `json:"of,omitempty"`
	Share float64 `json:"share,omitempty"`
	Text  string  `json:"text"`
}

// Matching pairs the structures of two sets.
type Matching struct {
	Pairs  []MatchPair `json:"pairs"`
	Events []Event     `json:"events"`
}

// Match pairs structures of a with those of b, the best score first, each at most
// once, down to a score of 0.2. Of equal scores the first in the order of the sets
// wins. A structure of b that is left is said to have split from the structure of a
// in which at least half of its area lies, or else to appear; one of a that is left
// to have merged into that of b, or else to vanish. Vortices match when they turn
// the same way.
func Match(a, b *Set) *Matching { return match(a, b, false) }

// match is Match, where sides says that just structures on one side are paired.
func match(a, b *Set, sides bool) *Matching {
	m := &Matching{Pairs: []MatchPair{}, Events: []Event{}}
	na, nb := len(a.Structures), len(b.Structures)
	var la, lb []int32
	r := grid.RasterFor(a.field.Mesh, b.field.Mesh)
	if r != nil && na > 0 && nb > 0 {
		la, lb = a.Labels(r), b.Labels(r)
	}
	covered := common(la, lb, na, nb)
	type candidate struct {
		i, j int
		MatchPair
	}
	var all []candidate
	for i, s := range a.Structures {
		for j, t := range b.Structures {
			if r == nil || s.Peak*t.Peak <= 0 || sides && s.Side != t.Side {
				continue
			}
			p := MatchPair{A: s.Name, B: t.Name, Overlap: covered.share(i, j)}
			p.Distance = math.Hypot(s.Centroid[0]-t.Centroid[0], s.Centroid[1]-t.Centroid[1])
			spread := (math.Hypot(s.Spread[0], s.Spread[1]) + math.Hypot(t.Spread[0], t.Spread[1])) / 2
			near := 0.0
			if spread > 0 {
				near = math.Exp(-p.Distance * p.Distance / (2 * spread * spread))
			}
			p.Score = (p.Overlap + near) / 2
			if p.Overlap == 0 {
				// Near, yet nothing in common: a neighbour rather than the same.
				p.Score = near / 2
			}
			if p.Score >= leastScore {
				all = append(all, candidate{i, j, p})
			}
		}
	}
	slices.SortStableFunc(all, func(p, q candidate) int { return cmp.Compare(q.Score, p.Score) })
	usedA, usedB := make([]bool, na), make([]bool, nb)
	for _, c := range all {
		if !usedA[c.i] && !usedB[c.j] {
			usedA[c.i], usedB[c.j] = true, true
			m.Pairs = append(m.Pairs, c.MatchPair)
		}
	}
	slices.SortStableFunc(m.Pairs, func(p, q MatchPair) int { return cmp.Compare(a.Index(p.A), a.Index(q.A)) })
	// alone has an event for each structure of set s without a partner.
	alone := func(s, other *Set, used []bool, part func(i, k int) float64, kind, joins, verb string) {
		for i, t := range s.Structures {
			if used[i] {
				continue
			}
			e := Event{Kind: kind, Name: t.Name, Text: t.Name + " " + kind}
			for k, o := range other.Structures {
				// Of those that hold enough of it, the one that holds most.
				if p := part(i, k); p >= partOf && p > e.Share {
					e = Event{Kind: joins, Name: t.Name, Of: o.Name, Share: p}
					e.Text = fmt.Sprintf("%s %s %s (%.0f %% of its area)", e.Name, verb, e.Of, 100*p)
				}
			}
			m.Events = append(m.Events, e)
		}
	}
	alone(a, b, usedA, func(i, k int) float64 { return covered.both[i][k] / covered.a[i] }, "vanishes", "merges", "merges into")
	alone(b, a, usedB, func(i, k int) float64 { return covered.both[k][i] / covered.b[i] }, "appears", "splits", "splits from")
	return m
}

// Labels gives the structure at each place of the raster, by its index, or −1. It is not to
// be written to: what is found once serves all that ask for the raster.
func (out *Set) Labels(r *grid.Raster) []int32 {
	find, _ := out.labels.LoadOrStore(*r, sync.OnceValue(func() []int32 { return out.labelsAt(r, nil) }))
	return find.(func() []int32)()
}

// labelsAt gives the structure at each place of the raster, or −1: that of the sample
// with the largest share in the place, where the samples' mean is not outside. move,
// if not nil, says where to look instead.
func (out *Set) labelsAt(r *grid.Raster, move func(grid.Point) grid.Point) []int32 {
	lab := slices.Repeat([]int32{-1}, r.Len())
	if out.mesh == nil {
		return lab
	}
	loc := grid.NewLocator(out.mesh)
	for k := range lab {
		p := r.At(k)
		if move != nil {
			p = move(p)
		}
		shares, c, ok := loc.At(p)
		if !ok {
			continue
		}
		most := 0.0
		for _, s := range shares[:c] {
			if s.Weight > most {
				lab[k], most = out.label[s.Sample], s.Weight
			}
		}
	}
	return lab
}

// inCommon counts the places that structures of two sets cover.
type inCommon struct {
	a, b []float64
	both [][]float64
}

// common counts labels a of n structures and b of m.
func common(a, b []int32, n, m int) inCommon {
	c := inCommon{a: make([]float64, n), b: make([]float64, m), both: make([][]float64, n)}
	for i := range c.both {
		c.both[i] = make([]float64, m)
	}
	for k := range a {
		if a[k] >= 0 {
			c.a[a[k]]++
		}
		if b[k] >= 0 {
			c.b[b[k]]++
		}
		if a[k] >= 0 && b[k] >= 0 {
			c.both[a[k]][b[k]]++
		}
	}
	return c
}

// share is the area that structure i of a and j of b have in common over that of
// either (Jaccard).
func (c *inCommon) share(i, j int) float64 {
	if c.both[i][j] == 0 {
		return 0
	}
	return c.both[i][j] / (c.a[i] + c.b[j] - c.both[i][j])
}
