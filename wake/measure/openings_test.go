package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// steepSquare is a wake of 0.4 U over a square of side 0.6 with sides 0.04 thick, and its
// drag area: with a = ∫s dy = 0.6 and b = ∫s² dy = 0.6 − 0.04·(1 + small), 2(0.4a² − 0.16b²).
func steepSquare(y, z float64) waketest.State {
	s := func(t float64) float64 { return 0.5 * (math.Tanh((t+0.3)/0.04) - math.Tanh((t-0.3)/0.04)) }
	return waketest.State{U: 1 - 0.4*s(y)*s(z)}
}

// pairWake is a Gaussian deficit with the cross-flow of a pair of vortices.
func pairWake() waketest.Field {
	pair := waketest.VortexPair(0.05, 0.5, 0.15, 0)
	return func(y, z float64) waketest.State {
		s := pair(y, z)
		s.U = 1 - 0.4*math.Exp(-(y*y+z*z)/(2*0.2*0.2))
		s.P = -(s.V*s.V + s.W*s.W) / 2
		return s
	}
}

var openFields = map[string]waketest.Field{"gaussian": waketest.Gaussian(0.5, 0.2, 0, 0), "square": steepSquare, "pair": pairWake()}

// localSum is the local drag of a field over a box, but for where a body is, by n × n
// plain sums.
func localSum(f waketest.Field, box grid.Box, body func(y, z float64) bool, n int) float64 {
	dy, dz := box.Width()/float64(n), box.Height()/float64(n)
	sum := 0.0
	for j := range n {
		for i := range n {
			y, z := box.Min.X+(float64(i)+0.5)*dy, box.Min.Y+(float64(j)+0.5)*dz
			if s := f(y, z); body == nil || !body(y, z) {
				sum += -2*s.P + 2*s.U*(1-s.U)
			}
		}
	}
	return sum * dy * dz
}

// left keeps the samples that are not dropped.
func left(s *wake.Samples, drop func(y, z float64, i int) bool) *wake.Samples {
	i := -1
	return only(s, func(y, z float64) bool {
		i++
		return !drop(y, z, i)
	})
}

func takeOpen(t *testing.T, s *wake.Samples, opt wake.PlaneOptions, regions ...measure.Box) *measure.Result {
	t.Helper()
	return run(t, waketest.Plane(t, s, opt), measure.Options{Regions: regions, Floor: "none"})
}

// heldOpen holds a drag area against the truth: within its uncertainty, which is no more
// than most times the error, and named where it is off by more than 2 %.
func heldOpen(t *testing.T, name string, r *measure.Result, got, u, want, most float64) {
	t.Helper()
	off := math.Abs(got - want)
	if off > u {
		t.Errorf("%s: %.5f ± %.5f, want %.5f", name, got, u, want)
	}
	if off > 0.02*want && (!hasWarning(r, "area-without-samples") || u > most*off) {
		t.Errorf("%s: %.5f ± %.5f for %.5f: named %v, at most %g times the error is expected", name, got, u, want, hasWarning(r, "area-without-samples"), most)
	}
}

// TestLostSamples: samples lost in the core, one by one or in a hole smaller than a
// body, take a part of the drag away that the budget holds.
func TestLostSamples(t *testing.T) {
	for name, f := range openFields {
		want := localSum(f, box(-1, 1, -1, 1), nil, 600)
		for seed := range uint64(2) {
			rng := rand.New(rand.NewPCG(seed, 5))
			y0, z0 := 0.6*rng.Float64()-0.3, 0.6*rng.Float64()-0.3
			for _, lost := range []int{1, 3, 9} {
				gone := map[int]bool{}
				for len(gone) < lost {
					if i := rng.IntN(41 * 41); max(math.Abs(-1+0.05*float64(i%41)), math.Abs(-1+0.05*float64(i/41))) < 0.35 {
						gone[i] = true
					}
				}
				r := takeOpen(t, left(waketest.Lattice(f, -1, 1, -1, 1, 41, 41), func(_, _ float64, i int) bool { return gone[i] }), wake.PlaneOptions{})
				heldOpen(t, fmt.Sprintf("%s, seed %d, %d lost", name, seed, lost), r, r.Drag.Momentum.DragArea, r.Uncertainty.DragArea.Expanded, want, 2)
			}
			r := takeOpen(t, left(waketest.Lattice(f, -1, 1, -1, 1, 41, 41), func(y, z float64, _ int) bool { return math.Hypot(y-y0, z-z0) < 0.09 }), wake.PlaneOptions{})
			heldOpen(t, fmt.Sprintf("%s, seed %d, hole", name, seed), r, r.Drag.Momentum.DragArea, r.Uncertainty.DragArea.Expanded, want, 2)
		}
	}
}

// TestBoxAtBody: a region that touches a body lacks the strip between the outermost
// samples and the wall.
func TestBoxAtBody(t *testing.T) {
	beside := measure.Box{Name: "beside", Box: box(0, 0.6, -0.4, 0.4)}
	for name, f := range openFields {
		rng := rand.New(rand.NewPCG(0, 9))
		y0, z0, radius := 0.1*rng.Float64(), 0.1*rng.Float64(), 0.2+0.1*rng.Float64()
		body := func(y, z float64) bool { return math.Hypot(y-y0, z-z0) < radius }
		want := localSum(f, beside.Box, body, 800)
		for kind, s := range map[string]*wake.Samples{
			"lattice": waketest.Lattice(f, -1, 1, -1, 1, 61, 61), "centres": waketest.Centres(f, -1, 1, -1, 1, 60, 60), "scatter": waketest.Scatter(f, -1, 1, -1, 1, 61, 61, 0),
		} {
			opt := wake.PlaneOptions{}
			if kind == "centres" {
				opt = wake.PlaneOptions{Support: grid.Cells, SupportBy: "flag"}
			}
			r := takeOpen(t, left(s, func(y, z float64, _ int) bool { return body(y, z) }), opt, beside)
			g := r.Regions[0]
			heldOpen(t, name+", "+kind, r, *g.DragArea, g.Uncertainty.DragArea.Expanded, want, 6)
			if r.Drag.Momentum != nil {
				t.Errorf("%s, %s: a plane that cuts a body has a total drag", name, kind)
			}
		}
	}
}

// TestStripOnTheMean: over all places that samples may have against a wall, a region beside a body lacks on
// the mean what its budget says, whether the samples are as far apart across the wall as along it or not.
func TestStripOnTheMean(t *testing.T) {
	f, beside := openFields["gaussian"], measure.Box{Name: "beside", Box: box(0, 0.6, -0.15, 0.15)}
	wall := func(y, z float64) bool { return math.Abs(y) < 0.2 && math.Abs(z) < 0.3 }
	round := func(y, z float64) bool { return math.Hypot(y, z) < 0.25 }
	const n, h = 16, 0.05
	for _, c := range []struct {
		name   string
		body   func(y, z float64) bool
		sample func(off float64, k int) *wake.Samples
		within float64
	}{
		{"finer along the wall", wall, func(off float64, _ int) *wake.Samples { return waketest.Lattice(f, off-1, off+1, -1, 1, 41, 81) }, 0.04},
		{"finer across the wall", wall, func(off float64, _ int) *wake.Samples { return waketest.Lattice(f, off/2-1, off/2+1, -1, 1, 81, 41) }, 0.04},
		{"scattered, round", round, func(off float64, k int) *wake.Samples {
			return waketest.Scatter(f, off-1, off+1, -1, 1, 41, 41, uint64(k))
		}, 0.25},
	} {
		want, lacks, says := localSum(f, beside.Box, c.body, 600), 0.0, 0.0
		for k := range n {
			r := takeOpen(t, left(c.sample(h*(float64(k)+0.5)/n, k), func(y, z float64, _ int) bool { return c.body(y, z) }), wake.PlaneOptions{Support: grid.Nodes, SupportBy: "flag"}, beside)
			lacks += want - *r.Regions[0].DragArea
			for _, it := range r.Regions[0].Uncertainty.DragArea.Items {
				says -= it.Lack
			}
		}
		if math.Abs(lacks-says) > c.within*lacks {
			t.Errorf("%s: %.5f are lacking on the mean, the budgets say %.5f", c.name, lacks/n, says/n)
		}
	}
}

// TestKnownErrorsAddUp: an error of known sign beside a strip makes U wider by its size, or narrower.
func TestKnownErrorsAddUp(t *testing.T) {
	s := left(waketest.Lattice(openFields["gaussian"], -1, 1, -1, 1, 41, 41), func(y, z float64, _ int) bool { return max(math.Abs(y), math.Abs(z)) < 0.21 })
	m := mustTake(t, waketest.Plane(t, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference(), Floor: "none"})
	beside := box(0, 0.6, -0.15, 0.15)
	strip := m.WithoutSamples(&beside, m.Weight)[0]
	for _, part := range []float64{0.5, -0.5} {
		both := uncertainty.NewBudget(strip, uncertainty.Left("known", part*strip.Lack, 0, 0))
		if wider := both.Expanded - uncertainty.NewBudget(strip).Expanded; math.Abs(wider-part*math.Abs(strip.Lack)) > 0.02*math.Abs(strip.Lack) {
			t.Errorf("an error of %g times the strip's makes U %+.5f wider, want %+.5f", part, wider, part*math.Abs(strip.Lack))
		}
	}
}

// jitteredQuads are n × n quadrilaterals over the square of side 2, shrunk by a part
// about their middles, some with two corners in the wrong order.
func jitteredQuads(f waketest.Field, n int, gap, crossed float64, cells bool, seed uint64) *wake.Samples {
	rng := rand.New(rand.NewPCG(seed, 13))
	h := 2 / float64(n)
	node := make([]grid.Point, (n+1)*(n+1))
	for k := range node {
		i, j := k%(n+1), k/(n+1)
		node[k] = grid.Point{X: -1 + h*float64(i), Y: -1 + h*float64(j)}
		if i%n > 0 && j%n > 0 {
			node[k].X += 0.2 * h * (2*rng.Float64() - 1)
			node[k].Y += 0.2 * h * (2*rng.Float64() - 1)
		}
	}
	e := &wake.Elements{Start: []int32{0}}
	var y, z, middleY, middleZ []float64
	if gap == 0 {
		for _, p := range node {
			y, z = append(y, p.X), append(z, p.Y)
		}
	}
	for k := range n * n {
		lo := k/n*(n+1) + k%n
		ids := [4]int{lo, lo + 1, lo + n + 2, lo + n + 1}
		var c grid.Point
		for _, id := range ids {
			c.X += node[id].X / 4
			c.Y += node[id].Y / 4
		}
		if rng.Float64() < crossed {
			ids[0], ids[1] = ids[1], ids[0]
		}
		for _, id := range ids {
			if gap > 0 {
				y, z = append(y, c.X+(1-gap)*(node[id].X-c.X)), append(z, c.Y+(1-gap)*(node[id].Y-c.Y))
				id = len(y) - 1
			}
			e.Index = append(e.Index, int32(id))
		}
		e.Start = append(e.Start, int32(len(e.Index)))
		middleY, middleZ = append(middleY, c.X), append(middleZ, c.Y)
	}
	s := waketest.Samples(f, y, z)
	if cells {
		s = waketest.Samples(f, middleY, middleZ)
		s.CellValues = true
		for i := range y {
			e.Corner = append(e.Corner, [3]float64{1, y[i], z[i]})
		}
	}
	s.Elements = e
	return s
}

// TestSlits: what lies between polygons that share no corners is held.
func TestSlits(t *testing.T) {
	for name, f := range openFields {
		want := localSum(f, box(-1, 1, -1, 1), nil, 600)
		for seed, gap := range []float64{0.01, 0.03, 0.1} {
			for _, cells := range []bool{true, false} {
				if cells == (seed == 1) && !gridtest.Large() {
					continue
				}
				r := takeOpen(t, jitteredQuads(f, 40, gap, 0, cells, uint64(seed)), wake.PlaneOptions{})
				heldOpen(t, fmt.Sprintf("%s, slits of %g, cells %v", name, gap, cells), r, r.Drag.Momentum.DragArea, r.Uncertainty.DragArea.Expanded, want, 2)
			}
		}
	}
}

// TestCrossedQuads: corners in the wrong order change nothing, and are named.
func TestCrossedQuads(t *testing.T) {
	for _, cells := range []bool{true, false} {
		want := takeOpen(t, jitteredQuads(steepSquare, 30, 0, 0, cells, 1), wake.PlaneOptions{})
		got := takeOpen(t, jitteredQuads(steepSquare, 30, 0, 0.2, cells, 1), wake.PlaneOptions{})
		if a, b := got.Drag.Momentum.DragArea, want.Drag.Momentum.DragArea; math.Abs(a-b) > 1e-3*b || got.Mesh.Elements != want.Mesh.Elements || !hasWarning(got, "corner-order") {
			t.Errorf("cells %v: %.6f from %d elements, want %.6f from %d; %v", cells, a, got.Mesh.Elements, b, want.Mesh.Elements, got.Warnings)
		}
	}
}
