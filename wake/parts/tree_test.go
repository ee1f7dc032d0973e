package parts

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/delaunay"
	"wakeledger/grid/gridtest"
)

// noisyMesh is a survey of the given kind, and a field of three wakes on it with
// noise of the given standard deviation.
func noisyMesh(t *testing.T, kind string, sigma float64, seed uint64) (*grid.Mesh, []float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	var m *grid.Mesh
	if kind == "lattice" {
		points := gridtest.LatticePoints(22, 18, grid.Box{Max: grid.Point{X: 1, Y: 1}})
		l, _ := grid.DetectLattice(points)
		m = &grid.Mesh{Kind: grid.KindLattice, Lattice: l, Points: points}
	} else {
		tr, err := delaunay.Triangulate(gridtest.SurveyPoints(kind, 400, seed))
		if err != nil {
			t.Fatal(err)
		}
		m = &grid.Mesh{Kind: grid.KindTriangles, Points: tr.Points, Triangles: tr.Triangles}
	}
	w := m.Window()
	f := make([]float64, len(m.Points))
	for i, p := range m.Points {
		x, y := (p.X-w.Min.X)/w.Width(), (p.Y-w.Min.Y)/w.Height()
		for _, b := range [][3]float64{{0.3, 0.4, 0.9}, {0.6, 0.5, 0.7}, {0.5, 0.75, 0.5}} {
			f[i] += b[2] * math.Exp(-50*((x-b[0])*(x-b[0])+(y-b[1])*(y-b[1])))
		}
		f[i] += sigma * r.NormFloat64()
		if seed%2 == 0 {
			f[i] = math.Round(f[i]*50) / 50 // ties, as a file of few digits has them
		}
	}
	return m, f
}

// slowPeaks is the persistence of each vertex that none of its neighbours tops, by
// definition: the largest level at which a part of the field connects it with a
// higher vertex, found by trying levels from the top down. It shares nothing with
// the join tree but the order of equal values.
func slowPeaks(s *simplex, f []float64, t, prominence float64) (kept map[int32]float64, component []int32) {
	start, list := s.start, s.list
	higher := func(a, b int32) bool {
		if f[a] != f[b] {
			return f[a] > f[b]
		}
		p, q := s.pts[a], s.pts[b]
		return p.Y < q.Y || p.Y == q.Y && p.X < q.X
	}
	kept = map[int32]float64{}
	component = make([]int32, len(f))
	for v := range component {
		component[v] = -1
	}
	for v := range int32(len(f)) {
		if f[v] < t {
			continue
		}
		// Grow from v by the highest vertex on the border until one is higher than v.
		in, border, saddle := map[int32]bool{v: true}, []int32{v}, t
		low := v
		met := false
		for len(border) > 0 && !met {
			best := 0
			for k, u := range border {
				if higher(u, border[best]) {
					best = k
				}
			}
			u := border[best]
			border = append(border[:best], border[best+1:]...)
			if higher(u, v) {
				saddle, met = f[low], true
				break
			}
			if higher(low, u) {
				low = u
			}
			for _, n := range list[start[u]:start[u+1]] {
				if f[n] >= t && !in[n] {
					in[n] = true
					border = append(border, n)
				}
			}
		}
		if !met {
			// v tops its component: what has been reached is all of it.
			for u := range in {
				component[u] = v
			}
		}
		if met && low == v {
			continue // a neighbour is higher: no peak
		}
		if f[v]-saddle >= prominence*f[v] {
			kept[v] = saddle
		}
	}
	return kept, component
}

// TestPeaksOfNoise sets the tree beside the definition of a peak's prominence, on
// noise, where three parts often meet at one vertex: it ends, keeps just the peaks
// that the rule keeps, and gives every vertex one in its own connected part.
func TestPeaksOfNoise(t *testing.T) {
	const threshold = 0.1
	seeds := uint64(12)
	for _, kind := range []string{"lattice", "scatter", "octree"} {
		for _, sigma := range []float64{0.002, 0.02, 0.08} {
			for seed := range seeds {
				t.Run(fmt.Sprintf("%s/%g/%d", kind, sigma, seed), func(t *testing.T) {
					m, f := noisyMesh(t, kind, sigma, seed+1)
					s := newSimplex(m, f, threshold)
					g := s.values(f)
					p := findPeaks(s, g, threshold, defaultProminence).number()
					want, component := slowPeaks(s, g, threshold, defaultProminence)
					if len(p.peak) != len(want) {
						t.Errorf("%d peaks, %d by definition", len(p.peak), len(want))
					}
					for _, q := range p.peak {
						if saddle, ok := want[q.vertex]; !ok || saddle != q.saddle {
							t.Errorf("peak at %v: saddle %g, by definition %g (%v)", s.pts[q.vertex], q.saddle, saddle, ok)
						}
					}
					holds := map[int32]bool{}
					for v := range want {
						holds[component[v]] = true
					}
					for v, l := range p.label {
						switch c := component[v]; {
						case c < 0 && l >= 0, c >= 0 && holds[c] != (l >= 0):
							t.Fatalf("vertex %v, %g, has the label %d", s.pts[v], g[v], l)
						case l >= 0 && component[p.peak[l].vertex] != c:
							t.Fatalf("vertex %v has a peak of another part", s.pts[v])
						}
					}
				})
			}
		}
	}
}
