package shift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// A wake that moves as a whole is recovered by all four measures, to a hundredth of
// the sample distance on lattices (the issue of a tenth among them), to a twentieth
// from scattered points, where interpolation adds its own.
func TestMoveRecovered(t *testing.T) {
	for _, kind := range kinds {
		p := plane(t, kind)
		tol := 0.01 * h
		if kind == "scatter" {
			tol = 0.05 * h
		}
		for _, move := range []float64{0.1 * h, -0.35 * h, 0.5 * h, 2.2 * h, -31.4 * h} {
			a := find(t, fieldOf(p, blob{0.5, 0.25, 0.3, 0.71, 0.1}), parts.Options{})
			b := find(t, fieldOf(p, blob{0.5, 0.25, 0.3, 0.71 + move, 0.08}), parts.Options{})
			s := between(t, a, b, shift.Options{Width: 0.2, Items: shift.Complete})
			if len(s.Moves) != 4 {
				t.Fatalf("%s: %d measures, want four; missing %v", kind, len(s.Moves), s.NotMeasured)
			}
			for _, m := range s.Moves {
				near(t, fmt.Sprintf("%s, %g h: %s", kind, move/h, m.Measure), m.Lateral, move, tol)
				if !(math.Abs(m.Lateral-move) <= m.Expanded) {
					t.Errorf("%s, %g h: %s is off by %.3g m, U = %.3g m", kind, move/h, m.Measure, m.Lateral-move, m.Expanded)
				}
				if m.Vertical != nil {
					near(t, kind+": vertical move by "+m.Measure, *m.Vertical, -0.02, 2*tol)
				}
			}
			if s.Verdict != uncertainty.Resolved || s.Headline == nil {
				t.Fatalf("%s, %g h: %+v", kind, move/h, s.Judgement)
			}
			near(t, kind+": inboard", *s.Headline.Inboard, -move, tol)
			near(t, kind+": part of the width", *s.Headline.Fraction, -move/0.2, tol/0.2)
		}
	}
}

// A wider wake is not called a moved one on account of one edge; where it moves as well that is
// told. Either way its change of shape is a remark.
func TestWidenedIsNotMoved(t *testing.T) {
	for _, kind := range kinds {
		p := plane(t, kind)
		for _, move := range []float64{0, 0.5 * h} {
			a := find(t, fieldOf(p, blob{0.5, 0.25, 0.3, 0.71, 0.1}), parts.Options{})
			b := find(t, fieldOf(p, blob{0.5, 0.30, 0.3, 0.71 + move, 0.1}), parts.Options{})
			s := between(t, a, b, shift.Options{Items: shift.Complete})
			want := uncertainty.NotResolved
			if move > 0 {
				want = uncertainty.Resolved
			}
			if s.Agree || s.Verdict != want {
				t.Errorf("%s, %g h: agree %v, %+v", kind, move/h, s.Agree, s.Judgement)
			}
			for _, m := range s.Moves {
				want, tol := move, 0.05*h
				if m.Measure == shift.MeasureEdge {
					// Outlines of a Gaussian at height z: y₀ ± σ_y √(2 ln(ε/t) − (z/σ_z)²); the
					// mean over one spread, by the rows of the band.
					want, tol = move+0.075, 0.015
				}
				near(t, fmt.Sprintf("%s, %g h: %s", kind, move/h, m.Measure), m.Lateral, want, tol)
			}
		}
	}
}

// The stated uncertainty covers the error of a move of a tenth of the sample
// distance in 93 to 97 % of noisy trials, for each measure and for the mean.
func TestCoverage(t *testing.T) {
	none := func(y, z float64) waketest.State { return waketest.State{U: 1} }
	for _, c := range []struct {
		name string
		s    *wake.Samples
		// least is the part of the trials that must give each measure: between scattered
		// samples noise leaves fewer than three free rows of the outline at times, and the
		// edge is then said to be missing.
		least float64
	}{
		{"lattice", waketest.Lattice(none, -1, 1, -1.2, 1.2, 21, 25), 0.98},
		{"scatter", waketest.Scatter(none, -1, 1, -1.2, 1.2, 21, 25, 7), 0.9},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			coverage(t, planes(t, c.s, wake.PlaneOptions{}), c.least)
		})
	}
}

// coverage moves a wake on a plane and adds noise of one seed.
func coverage(t *testing.T, p *wake.Plane, least float64) {
	const trials, noise, move, seed = 500, 0.01, 0.01, 4
	fa, fb := fieldOf(p, blob{0.5, 0.3, 0.4, 0.06, 0.05}), fieldOf(p, blob{0.5, 0.3, 0.4, 0.06 + move, 0.05})
	r, opt := rand.New(rand.NewPCG(seed, 1)), parts.Options{Prominence: 0.1}
	covered(t, trials, move, least, 0.02, func() (a, b *parts.Set) {
		return find(t, noisy(fa, noise, r), opt), find(t, noisy(fb, noise, r), opt)
	})
}

// covered holds the share of the trials in which the uncertainty of each measure, and of the
// mean, covers the error of the move, to 0.95 ± off; a part of the trials, least, must give each.
func covered(t *testing.T, trials int, move, least, off float64, pair func() (a, b *parts.Set)) {
	t.Helper()
	in, n := map[string]int{}, map[string]int{}
	for range trials {
		a, b := pair()
		s := between(t, a, b, shift.Options{Side: "right", Items: shift.Complete})
		all := s.Moves
		if s.Headline != nil {
			all = append(all, *s.Headline)
		}
		for _, m := range all {
			n[m.Measure]++
			if math.Abs(m.Lateral-move) <= m.Expanded {
				in[m.Measure]++
			}
		}
	}
	for _, name := range []string{shift.MeasureCentroid, shift.MeasureEdge, shift.MeasureProfile, shift.MeasureRegistration, "weighted mean"} {
		share := float64(in[name]) / float64(n[name])
		t.Logf("%s: %.1f %% of %d", name, 100*share, n[name])
		if float64(n[name]) < least*float64(trials) || !(math.Abs(share-0.95) <= off) {
			t.Errorf("%s covers %d of %d", name, in[name], n[name])
		}
	}
}

// A layer one row thick that lies on one row in the baseline and on the next in the
// variant: the heights within a spread of both centroids hold no row, and the move is
// measured all the same.
func TestLayerBetweenRows(t *testing.T) {
	p := plane(t, "nodes")
	layer := func(y, z float64) *parts.Set {
		return find(t, fieldOf(p, blob{0.6, 0.3, 0.4 * h, y, z}), parts.Options{Threshold: 0.1})
	}
	s := between(t, layer(0.5, 0.35*h), layer(0.46, 0.65*h), shift.Options{Side: "right", Items: shift.Complete})
	for _, m := range s.Moves {
		if m.Measure == shift.MeasureCentroid {
			near(t, "lateral move of the centroid", m.Lateral, -0.04, 2e-3)
			return
		}
	}
	t.Errorf("no move of the centroid: %v", s.NotMeasured)
}

// Two parts that touch and move together: every measure's interval holds the move, though
// the border between them goes along, and so does that of a part whose neighbour stays.
func TestTouchingPartsMove(t *testing.T) {
	for _, kind := range kinds {
		p := plane(t, kind)
		for _, of := range []struct{ move, neighbour float64 }{{0.1, 1}, {-0.6, 1}, {1.3, 1}, {-2.5, 1}, {0.3, 0}, {-0.8, 0}} {
			move := of.move * h
			pair := func(right, left float64) *parts.Set {
				return find(t, fieldOf(p, blob{0.5, 0.25, 0.3, 0.37 + right, 0.1}, blob{0.45, 0.25, 0.3, -0.37 + left, 0.1}), parts.Options{})
			}
			s := between(t, pair(0, 0), pair(move, of.neighbour*move), shift.Options{Items: shift.Complete})
			if len(s.Moves) != 4 {
				t.Fatalf("%s: %d measures, want four; missing %v", kind, len(s.Moves), s.NotMeasured)
			}
			for _, m := range s.Moves {
				if !(math.Abs(m.Lateral-move) <= m.Expanded) {
					t.Errorf("%s, %g h, neighbour %g of it: %s says %.2g h, U = %.2g h", kind, of.move, of.neighbour, m.Measure, m.Lateral/h, m.Expanded/h)
				}
			}
		}
	}
}

// A part that the border of the survey cuts, on a mesh of its own in either survey: it has not
// moved, but lines straight between samples cut off more beside the border than within, and the
// outermost places are others. The interval holds that, and a part that is whole has no item of it.
func TestCutOnOwnMeshes(t *testing.T) {
	on := func(kind string, off float64, at float64) *parts.Set {
		none := func(y, z float64) waketest.State { return waketest.State{U: 1} }
		s := waketest.Lattice(none, 0.2+off, 2.2+off, -1, 1, 41, 41)
		if kind == "scatter" {
			s = waketest.Scatter(none, 0.2+off, 2.2+off, -1, 1, 41, 41, uint64(1+1000*off))
		}
		return find(t, fieldOf(planes(t, s, wake.PlaneOptions{}), blob{0.5, 0.12, 0.2, at, 0.1}), parts.Options{})
	}
	for _, kind := range []string{"nodes", "scatter"} {
		for _, off := range []float64{0.3 * h, 0.5 * h, 0.7 * h} {
			for _, at := range []float64{0.3, 0.36, 1.2} {
				s := between(t, on(kind, 0, at), on(kind, off, at), shift.Options{Items: shift.Complete})
				for _, m := range append(s.Moves, *s.Headline) {
					if !(math.Abs(m.Lateral) <= m.Expanded) {
						t.Errorf("%s, %.2g h off, wake at %g m: %s says %.2g h, U = %.2g h", kind, off/h, at, m.Measure, m.Lateral/h, m.Expanded/h)
					}
					if at == 1.2 && slices.ContainsFunc(m.Items, func(it uncertainty.Item) bool { return it.Name == "cut of the part" }) {
						t.Errorf("%s, %.2g h off: a whole part has a cut: %+v", kind, off/h, m.Items)
					}
				}
			}
		}
	}
}
