package delaunay

import (
	"fmt"
	"math"
	"slices"

	"wakeledger/grid"
	"wakeledger/grid/predicate"
)

// Rule is a property that every triangulation has.
type Rule string

// The rules that Validate checks, in this order.
const (
	RuleIndices     Rule = "corner indices are in range"
	RuleDuplicates  Rule = "duplicates have the position of their first sample"
	RuleOrientation Rule = "triangles run anticlockwise"
	RuleUsed        Rule = "every distinct sample is a corner"
	RuleEdges       Rule = "inner edges have one triangle on each side"
	RuleHull        Rule = "edges with one triangle form the hull"
	RuleConvex      Rule = "the hull is convex"
	RuleCircle      Rule = "no sample lies inside the circle of a triangle next to it"
	RuleArea        Rule = "areas add up to the area of the hull"
	RuleAdjacent    Rule = "the stated neighbours share the edge"
)

func (r Rule) Error() string { return string(r) }

// bad states what was found and the rule that it breaks.
func bad(rule Rule, format string, a ...any) error {
	return fmt.Errorf("%s, against the rule that %w", fmt.Sprintf(format, a...), rule)
}

// Validate checks t against the definition of a Delaunay triangulation of points
// and returns an error of the first broken Rule, or nil. Signs are exact. By
// Delaunay's lemma empty circles across every edge make all circles empty, so a nil
// result is a proof, up to the rounding in the sum of areas. Time is linear.
// Areas that overflow (coordinates beyond 1e150) are not compared.
func Validate(points []grid.Point, t *Triangulation) error {
	tri := t.Triangles
	n := int32(len(points))
	if len(tri)%3 != 0 {
		return bad(RuleIndices, "%d corners are not a multiple of three", len(tri))
	}
	for k, v := range tri {
		if v < 0 || v >= n {
			return bad(RuleIndices, "triangle %d names sample %d of %d", k/3, v, n)
		}
	}
	for _, v := range t.Hull {
		if v < 0 || v >= n {
			return bad(RuleIndices, "the hull names sample %d of %d", v, n)
		}
	}

	if t.First != nil {
		if len(t.First) != len(points) {
			return bad(RuleDuplicates, "%d entries for %d samples", len(t.First), n)
		}
		for i, f := range t.First {
			if f < 0 || f > int32(i) || t.First[f] != f || points[f] != points[i] {
				return bad(RuleDuplicates, "sample %d at %v is said to repeat sample %d", i, points[i], f)
			}
		}
	}

	used := make([]bool, n)
	var area, size grid.Sum
	for k := 0; k < len(tri); k += 3 {
		a, b, c := points[tri[k]], points[tri[k+1]], points[tri[k+2]]
		if predicate.Orient(a, b, c) <= 0 {
			return bad(RuleOrientation, "triangle %d with corners %v at %v, %v, %v does not", k/3, tri[k:k+3], a, b, c)
		}
		for _, v := range tri[k : k+3] {
			used[v] = true
		}
		area.Add(grid.TriangleArea(a, b, c))
		size.Add(math.Abs((b.X-a.X)*(c.Y-a.Y)) + math.Abs((c.X-a.X)*(b.Y-a.Y)))
	}
	for i, u := range used {
		repeated := t.First != nil && t.First[i] != int32(i)
		if u == repeated {
			return bad(RuleUsed, "sample %d at %v: in a triangle %v, repeats another %v", i, points[i], u, repeated)
		}
	}

	of := map[[2]int32]int32{} // the triangle of each directed edge
	for k, v := range tri {
		edge := [2]int32{v, tri[following(k)]}
		if other, ok := of[edge]; ok {
			return bad(RuleEdges, "triangles %d and %d have the edge %v in the same sense", other, k/3, edge)
		}
		of[edge] = int32(k / 3)
	}
	adj := make([]int32, len(tri))
	for k, v := range tri {
		adj[k] = -1
		if other, ok := of[[2]int32{tri[following(k)], v}]; ok {
			adj[k] = other
		}
	}
	if err := checkHull(points, t, adj); err != nil {
		return err
	}
	for k, s := range adj {
		if s < 0 || int(s) < k/3 {
			continue
		}
		a, b := tri[k], tri[following(k)]
		c, d := tri[following(following(k))], tri[3*s]+tri[3*s+1]+tri[3*s+2]-a-b
		if predicate.InCircle(points[a], points[b], points[c], points[d]) > 0 {
			return bad(RuleCircle, "sample %d at %v lies inside the circle of triangle %d, corners %v", d, points[d], k/3, tri[k/3*3:k/3*3+3])
		}
	}

	// Each triangle's area has three roundings of relative size 2⁻⁵³ in either of
	// its two products and a fourth in their difference; a polygon cut into
	// triangles at one corner likewise. Compensated sums add next to nothing.
	var hull grid.Sum
	for i := 2; i < len(t.Hull); i++ {
		a, b, c := points[t.Hull[0]], points[t.Hull[i-1]], points[t.Hull[i]]
		hull.Add(grid.TriangleArea(a, b, c))
		size.Add(math.Abs((b.X-a.X)*(c.Y-a.Y)) + math.Abs((c.X-a.X)*(b.Y-a.Y)))
	}
	if d, s := math.Abs(area.Value()-hull.Value()), size.Value(); !(d <= 4*0x1p-53*s) && !math.IsNaN(s-s) {
		return bad(RuleArea, "triangles cover %g, the hull %g", area.Value(), hull.Value())
	}

	if t.Adjacent != nil && !slices.Equal(t.Adjacent, adj) {
		return bad(RuleAdjacent, "%d neighbours are stated for %d edges, some of them others", len(t.Adjacent), len(adj))
	}
	return nil
}

// checkHull holds t.Hull against the edges that have one triangle.
func checkHull(points []grid.Point, t *Triangulation, adj []int32) error {
	h := len(t.Hull)
	if h < 3 {
		return bad(RuleHull, "%d samples on the hull", h)
	}
	place := make(map[int32]int, h)
	for i, v := range t.Hull {
		if j, ok := place[v]; ok {
			return bad(RuleHull, "sample %d stands at places %d and %d of the hull", v, j, i)
		}
		place[v] = i
	}
	edges := 0
	for k, s := range adj {
		if s >= 0 {
			continue
		}
		edges++
		a, b := t.Triangles[k], t.Triangles[following(k)]
		i, ok := place[a]
		if !ok || t.Hull[(i+1)%h] != b {
			return bad(RuleHull, "the edge from %d to %d of triangle %d, at %v, has no other triangle and is not on the hull", a, b, k/3, points[a])
		}
	}
	if edges != h {
		return bad(RuleHull, "%d edges have one triangle, the hull has %d", edges, h)
	}
	// Euler's formula: a hull that is convex at each corner but winds twice, or
	// triangles that cover a place twice, would not meet it.
	distinct := len(points)
	for i, f := range t.First {
		if f != int32(i) {
			distinct--
		}
	}
	if want := 2*distinct - 2 - h; len(t.Triangles) != 3*want {
		return bad(RuleHull, "%d triangles, %d samples with %d on the hull make %d", len(t.Triangles)/3, distinct, h, want)
	}
	for i := range h {
		a, b, c := t.Hull[i], t.Hull[(i+1)%h], t.Hull[(i+2)%h]
		if predicate.Orient(points[a], points[b], points[c]) < 0 {
			return bad(RuleConvex, "the hull turns clockwise at sample %d, %v", b, points[b])
		}
	}
	return nil
}
