package delaunay

import (
	"math"
	"slices"
	"sync/atomic"
)

// How far samples are apart, by which a gap is judged.

// star lists the samples that share an edge with the sample at place k: for each a
// place where it stands. The list is valid until the next call with the same scratch.
func (g *gaps) star(k int, list []int32) []int32 {
	list = list[:0]
	v, start := g.tri[k], k
	place := func(t int32) int {
		for c := 3 * t; ; c++ {
			if g.tri[c] == v {
				return int(c)
			}
		}
	}
	for {
		n := following(k)
		list = append(list, int32(n))
		p := following(n)
		if g.adj[p] < 0 {
			list = append(list, int32(p))
			break
		}
		if k = place(g.adj[p]); k == start {
			return list
		}
	}
	for k = start; g.adj[k] >= 0; {
		k = place(g.adj[k])
		list = append(list, int32(following(k)))
	}
	return list
}

// thirdShortest is the third shortest edge of the sample at place k, the second
// shortest if it is on the hull.
func (g *gaps) thirdShortest(k int) float64 {
	v := g.tri[k]
	if known := atomic.LoadUint32(&g.third[v]); known != 0 {
		return number(known)
	}
	a := g.points[v]
	g.rim = g.star(k, g.rim)
	var s [3]float64
	border := false
	for _, j := range g.rim {
		border = border || g.alongHull(v, int(j))
		b := g.points[g.tri[j]]
		x, y := (b.X-a.X)*g.unit, (b.Y-a.Y)*g.unit
		l := math.Sqrt(x*x + y*y)
		if l <= coincident {
			continue
		}
		for i := range s {
			if s[i] == 0 {
				s[i] = l
				break
			}
			if l < s[i] {
				l, s[i] = s[i], l
			}
		}
	}
	if border {
		s[2] = 0
	}
	return keep(&g.third[v], max(s[0], s[1], s[2], coincident))
}

// alongHull reports whether the edge from sample v to the one at place j of its star is
// on the hull.
func (g *gaps) alongHull(v int32, j int) bool {
	return g.adj[j] < 0 && g.tri[following(j)] == v || g.adj[previous(j)] < 0 && g.tri[previous(j)] == v
}

// at returns the spacing of the sample at place k.
func (g *gaps) at(k int) float64 {
	v := g.tri[k]
	if known := atomic.LoadUint32(&g.spacing[v]); known != 0 {
		return number(known)
	}
	g.ring = append(g.star(k, g.ring), int32(k))
	var room [32]float64
	squares := room[:0]
	for _, j := range g.ring {
		h := g.thirdShortest(int(j))
		squares = append(squares, h*h)
	}
	// Wherever the ring begins, the sum is the same.
	slices.Sort(squares)
	sum := 0.0
	for _, sq := range squares {
		sum += sq
	}
	return keep(&g.spacing[v], max(math.Sqrt(sum/float64(len(squares))), own*g.thirdShortest(k)))
}

// keep stores x as what is known.
func keep(known *uint32, x float64) float64 {
	bits := math.Float32bits(float32(x))
	atomic.StoreUint32(known, bits)
	return number(bits)
}

// local is the spacing at triangle i.
func (g *gaps) local(i int) float64 { return max(g.at(3*i), g.at(3*i+1), g.at(3*i+2)) }
