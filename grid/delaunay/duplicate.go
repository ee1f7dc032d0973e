package delaunay

import (
	"cmp"
	"slices"
)

// byPosition sorts a copy of pts by x, then y, then index.
func byPosition(pts []vertex) []vertex {
	s := slices.Clone(pts)
	slices.SortFunc(s, func(a, b vertex) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.id, b.id))
	})
	return s
}

// distinct returns the first vertex at each position.
func distinct(pts []vertex) []vertex {
	return slices.CompactFunc(byPosition(pts), func(a, b vertex) bool { return a.Point == b.Point })
}

// firsts maps each point to the first one at its position.
func firsts(pts []vertex) []int32 {
	s := byPosition(pts)
	first := make([]int32, len(s))
	for i, v := range s {
		if i > 0 && v.Point == s[i-1].Point {
			first[v.id] = first[s[i-1].id]
		} else {
			first[v.id] = v.id
		}
	}
	return first
}
