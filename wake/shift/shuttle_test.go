package shift_test

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/survey"
	"wakeledger/wake/waketest"
)

// exported reads a plane of the shuttle.
func exported(t *testing.T, path string) *wake.Samples {
	t.Helper()
	s, err := survey.Read(context.Background(), path, survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func shuttlePlane(t *testing.T, dir, name string) *parts.Field {
	t.Helper()
	s := exported(t, filepath.Join(dir, name+".csv.gz"))
	m, err := measure.Take(waketest.Plane(t, s, wake.PlaneOptions{Support: grid.Cells, SupportBy: "study"}), measure.Options{Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()}})
	if err != nil {
		t.Fatal(err)
	}
	f := parts.NewField(m)
	return f
}

// wheel is the structure with the most drag on one side, off the roof.
func wheel(t *testing.T, set *parts.Set, side string) parts.Structure {
	t.Helper()
	best := -1
	for i, s := range set.Structures {
		if s.Side == side && s.Centroid[1] < 1.2 && (best < 0 || *s.DragArea > *set.Structures[best].DragArea) {
			best = i
		}
	}
	if best < 0 {
		t.Fatalf("%s: no structure on the %s", set.Field().Name, side)
	}
	return set.Structures[best]
}

// The wakes of the front wheels at three stations in three configurations: found
// without boxes, mirror images of one another, and moved inboard by the fairing and
// outboard by the flare by all four measures, on the left and on the right alike within
// their uncertainties. The plain cell sums over a box (data
// README) give +24 and +23 mm for the fairing at +0.02 and +0.58 and −44 to −45 mm for
// the flare; signed sums over common samples +20, +27, +26 and −49 mm. At −0.58 the
// fairing fills part of the baseline's wake, so that just the common samples compare.
func TestShuttle(t *testing.T) {
	dir := waketest.Shared(t, "shuttle")
	t.Parallel()
	stations := []string{"-0.58", "+0.02", "+0.58"}
	opt := parts.Options{}
	sets := map[string][]*parts.Set{}
	tops := map[string]*parts.TopView{}
	for _, c := range []string{"bare", "fairing", "flare"} {
		for _, x := range stations {
			set := find(t, shuttlePlane(t, dir, c+"_x"+x), opt)
			right, left := wheel(t, set, "right"), wheel(t, set, "left")
			if right.MirrorOf != left.Name || left.MirrorOf != right.Name {
				t.Errorf("%s at %s: %q and %q are not called mirror images", c, x, right.Name, left.Name)
			}
			if !(*right.DragArea > 0.4 && right.Centroid[0] > 0.85 && left.Centroid[0] < -0.85) {
				t.Errorf("%s at %s: %+v, %+v", c, x, right, left)
			}
			if !(right.Persistence > 0.05 && left.Persistence > 0.05) {
				t.Errorf("%s at %s: persistence %g and %g", c, x, right.Persistence, left.Persistence)
			}
			// A tenth more or less in the threshold leaves them where they are.
			for _, level := range []float64{0.09, 0.11} {
				if x != "+0.02" {
					break
				}
				o := opt
				o.Threshold = level
				again := wheel(t, find(t, set.Field(), o), "right")
				near(t, fmt.Sprintf("%s at %s: y at threshold %g", c, x, level), again.Centroid[0], right.Centroid[0], 0.01)
			}
			sets[c] = append(sets[c], set)
		}
		v, err := parts.NewTopView(shuttlePlane(t, dir, c+"_z0.36"), 0)
		if err != nil {
			t.Fatal(err)
		}
		tops[c] = v
	}
	for _, c := range []struct {
		name string
		sign float64
		// lo and hi hold the centroid's inboard move, mm, by station.
		lo, hi [3]float64
	}{
		{"fairing", 1, [3]float64{8, 18, 18}, [3]float64{25, 34, 38}},
		{"flare", -1, [3]float64{-50, -52, -58}, [3]float64{-34, -36, -38}},
	} {
		top, err := shift.Tops(tops["bare"], tops[c.name])
		if err != nil {
			t.Fatal(err)
		}
		for k := range stations {
			a, b := sets["bare"][k], sets[c.name][k]
			var sides []*shift.Shift
			for _, side := range []string{"left", "right"} {
				sa, sb := wheel(t, a, side), wheel(t, b, side)
				paired := false
				for _, p := range parts.Match(a, b).Pairs {
					paired = paired || p.A == sa.Name && p.B == sb.Name
				}
				if !paired {
					t.Errorf("%s at %s: the %s wheel's wakes are not matched", c.name, stations[k], side)
				}
				s, err := shift.Between(a, b, sa.Name, sb.Name, shift.Options{Items: shift.Complete})
				if err != nil {
					t.Fatal(err)
				}
				if len(s.Moves) != 4 {
					t.Errorf("%s at %s: %v", c.name, stations[k], s.NotMeasured)
				}
				for _, m := range s.Moves {
					// The outline depends on the time average more than all else: its direction is
					// told, but not always beyond doubt.
					least := m.Expanded
					if m.Measure == shift.MeasureEdge {
						least = 0
					}
					if !(c.sign**m.Inboard > least) {
						t.Errorf("%s at %s, %s: %s moves %+.1f mm inboard, U = %.1f mm", c.name, stations[k], side, m.Measure, 1000**m.Inboard, 1000*m.Expanded)
					}
					if m.Measure == shift.MeasureCentroid {
						if v := 1000 * *m.Inboard; !(v >= c.lo[k] && v <= c.hi[k]) {
							t.Errorf("%s at %s, %s: centroid %+.1f mm inboard, want %g to %g", c.name, stations[k], side, v, c.lo[k], c.hi[k])
						}
					}
				}
				sides = append(sides, s)
			}
			// The drag went the same way, by about as much on either side.
			dl, dr := *sides[0].DragArea, *sides[1].DragArea
			if !(c.sign*dl < -0.04 && c.sign*dr < -0.04) || math.Abs(dl-dr) > 0.2*math.Abs(dl+dr)/2 {
				t.Errorf("%s at %s: the wheels' parts change by %+.4f and %+.4f m2", c.name, stations[k], dl, dr)
			}
			for _, q := range top.Columns {
				if math.Abs(q.X-a.Field().Position) <= 0.06 && q.Left != nil && q.Right != nil && !(c.sign**q.Left > 0 && c.sign**q.Right > 0) {
					t.Errorf("%s at %s: edges of the top view move %+.3f and %+.3f m inboard", c.name, stations[k], *q.Left, *q.Right)
				}
			}
			if c.name == "fairing" && k == 0 {
				continue
			}
			l := parts.NewLedger(a, b, parts.Match(a, b), nil)
			for _, d := range l.Breakdowns {
				near(t, fmt.Sprintf("%s at %s: residual by %s", c.name, stations[k], d.By), d.Residual, 0, 1e-9)
			}
		}
		paths := parts.Follow(sets["bare"])
		k := slices.IndexFunc(paths, func(p parts.Path) bool { return p.Name == wheel(t, sets["bare"][0], "right").Name })
		if k < 0 || len(paths[k].Points) != 3 {
			t.Errorf("the path of the right wheel's wake: %+v", paths)
		}
	}
}
