package structure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
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
	r := rasterFor(a.field.Mesh, b.field.Mesh)
	if r != nil && na > 0 && nb > 0 {
		la, lb = a.labels(r, nil), b.labels(r, nil)
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
	for i, s := range a.Structures {
		if usedA[i] {
			continue
		}
		e := Event{Kind: "vanishes", Name: s.Name, Text: s.Name + " vanishes"}
		if j, part := covered.within(i); part >= partOf {
			e = Event{Kind: "merges", Name: s.Name, Of: b.Structures[j].Name, Share: part}
			e.Text = fmt.Sprintf("%s merges into %s (%.0f %% of its area)", e.Name, e.Of, 100*part)
		}
		m.Events = append(m.Events, e)
	}
	for j, t := range b.Structures {
		if usedB[j] {
			continue
		}
		e := Event{Kind: "appears", Name: t.Name, Text: t.Name + " appears"}
		if i, part := covered.holder(j); part >= partOf {
			e = Event{Kind: "splits", Name: t.Name, Of: a.Structures[i].Name, Share: part}
			e.Text = fmt.Sprintf("%s splits from %s (%.0f %% of its area)", e.Name, e.Of, 100*part)
		}
		m.Events = append(m.Events, e)
	}
	return m
}
