package compare_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// Two planes with meshes of their own in one window: the differences are those of each plane's own
// integrals, to the last digit, and within their U of the closed form; the exchange adds up to
// the same number. Interpolated at the baseline's samples the narrow wake would lose drag.
func TestDifferenceOfOwnIntegrals(t *testing.T) {
	const sigma = 0.12
	drag := func(eps float64) float64 { return 2 * math.Pi * sigma * sigma * eps * (2 - eps) }
	rng := rand.New(rand.NewPCG(3, 1))
	for _, kind := range []string{"lattice", "scattered"} {
		var planes []*wake.Plane
		for k, eps := range []float64{0.40, 0.41} {
			f := waketest.Gaussian(eps, sigma, 0.3+0.01*float64(k), 0.1)
			n := []int{61, 51}[k]
			s := waketest.Lattice(f, -1.5, 1.5, -1.5, 1.5, n, n)
			if kind == "scattered" && k == 1 {
				s = waketest.Scatter(f, -1.5, 1.5, -1.5, 1.5, 3*n/2, 3*n/2, rng.Uint64())
			}
			s.File = fmt.Sprintf("%s%d", kind, k)
			planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
		}
		opt := measure.Options{
			Reference: waketest.Reference(), Uncertainty: measure.Inputs{Steady: true, Solution: new(float64)},
			Regions: []measure.Box{{Name: "right", Box: grid.Box{Min: grid.Point{X: 0.013, Y: -1.4}, Max: grid.Point{X: 1.4, Y: 1.4}}}},
		}
		c, pair, err := comparison(planes, compare.Options{Measure: opt, Structures: &parts.Options{}})
		if err != nil {
			t.Fatal(err)
		}
		v := c.Variants[0]
		var own [2]*measure.Measurement
		for k, p := range planes {
			if own[k], err = measure.Take(p, opt); err != nil {
				t.Fatal(err)
			}
		}
		for _, n := range []struct {
			what      string
			got, want float64
		}{
			{"drag", v.Delta.DragArea, own[1].Drag.Momentum.DragArea - own[0].Drag.Momentum.DragArea},
			{"region", v.Regions[0].Delta.DragArea, *own[1].Regions[0].DragArea - *own[0].Regions[0].DragArea},
			{"centroid", v.Shift.Centroid[0], own[1].Wake.Centroid[0] - own[0].Wake.Centroid[0]},
			{"area", v.Areas[2].Delta, own[1].Wake.Areas[2].Area - own[0].Wake.Areas[2].Area},
		} {
			if n.got != n.want {
				t.Errorf("%s, %s: %g, the own numbers differ by %g", kind, n.what, n.got, n.want)
			}
		}
		if e := v.Exchange; e == nil || math.Abs(e.Delta-v.Delta.DragArea) > 1e-12 {
			t.Errorf("%s: exchange %+v, headline %g", kind, e, v.Delta.DragArea)
		} else {
			for _, b := range e.Breakdowns {
				if math.Abs(b.Residual) > 1e-4 {
					t.Errorf("%s: %s leaves %g m²", kind, b.By, b.Residual)
				}
			}
		}
		if want := drag(0.41) - drag(0.40); !(math.Abs(v.Delta.DragArea-want) <= v.Delta.Expanded) || v.Delta.Expanded > 0.01 {
			t.Errorf("%s: %g ± %g, want %g", kind, v.Delta.DragArea, v.Delta.Expanded, want)
		}
		if !(math.Abs(v.Shift.Centroid[0]-0.01) <= v.Shift.Expanded) || v.Shift.Verdict == uncertainty.NotJudged {
			t.Errorf("%s: centroid %g ± %g: %s", kind, v.Shift.Centroid[0], v.Shift.Expanded, v.Shift.Verdict)
		}
		for _, w := range c.Warnings {
			if w.Code == "resampled" || w.Code == "common-samples" {
				t.Errorf("%s: %s", kind, w.Text)
			}
		}
		if m := pair.Measurements; len(m[0].Plane.Mesh.Points) != len(m[1].Plane.Mesh.Points) || !strings.Contains(c.Common.Grid, "own") {
			t.Errorf("%s: maps on %d and %d samples, %s", kind, len(m[0].Plane.Mesh.Points), len(m[1].Plane.Mesh.Points), c.Common.Grid)
		}
	}
}

// Planes whose windows differ are compared over what both have, each on its own samples: a
// narrow wake keeps its drag, and where the windows end in the wake, not on one line, the
// interval holds what lies between.
func TestOtherWindows(t *testing.T) {
	const sigma = 0.09
	layer := func(eps float64) func(y, z float64) waketest.State {
		return func(y, z float64) waketest.State {
			return waketest.State{U: 1 - eps*math.Exp(-(y*y+z*z)/(2*sigma*sigma)) - 0.2*math.Exp(-z/0.2)}
		}
	}
	for _, c := range []struct {
		name string
		b    *wake.Samples
	}{
		{"lattice", waketest.Lattice(layer(0.41), -1.83, 1.61, 0.03, 1.9, 89, 43)},
		{"scattered", waketest.Scatter(layer(0.41), -1.83, 1.61, 0.02, 1.9, 89, 43, 5)},
	} {
		var planes []*wake.Plane
		for k, s := range []*wake.Samples{waketest.Lattice(layer(0.40), -1.5, 1.5, 0, 1.5, 61, 31), c.b} {
			s.File = fmt.Sprintf("%s%d", c.name, k)
			planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
		}
		got, pair, err := comparison(planes, compare.Options{Measure: measure.Options{Reference: waketest.Reference(), Floor: "slip", Uncertainty: measure.Inputs{Steady: true, Solution: new(float64)}}})
		if err != nil {
			t.Fatal(err)
		}
		for k, r := range []*measure.Result{got.Baseline, got.Variants[0].Survey} {
			if r.Window.Y[0] < -1.5 || r.Window.Y[1] > 1.5 || r.Window.Z[1] > 1.5 {
				t.Errorf("%s: plane %d is measured in %v", c.name, k, r.Window)
			}
		}
		// The wakes above the lower edge of the second window, by sums over 1 mm.
		want := 0.0
		for z := 0.0305; z < 1.5; z += 0.001 {
			for y := -1.4995; y < 1.5; y += 0.001 {
				a, b := layer(0.40)(y, z).U, layer(0.41)(y, z).U
				want += 2e-6 * (b*(1-b) - a*(1-a))
			}
		}
		d := got.Variants[0].Delta
		if d == nil || !(math.Abs(d.DragArea-want) <= d.Expanded) || len(pair.Measurements) != 2 {
			t.Errorf("%s: %+v, want %g", c.name, d, want)
		}
		t.Logf("%s: %.5f ± %.5f, want %.5f", c.name, d.DragArea, d.Expanded, want)
	}
}

// leaveOut takes out the samples where a body is.
func leaveOut(s *wake.Samples, body func(y, z float64) bool) {
	var keep []int
	for i := range s.N {
		if !body(s.Col[wake.Y][i], s.Col[wake.Z][i]) {
			keep = append(keep, i)
		}
	}
	for q, col := range s.Col {
		if col != nil {
			s.Col[q] = wake.At(col, keep)
		}
	}
	s.N = len(keep)
}

// A body that fills a part of the wake in the variant alone, in a flow that is else the same:
// over the common samples nothing moves, over each plane's own the centroid does, and
// neither the box nor the part is said to have moved.
func TestBodyFillsPartOfTheWake(t *testing.T) {
	const y0, sigma, eps = 0.6, 0.15, 0.5
	body := func(y, z float64) bool { return y > 0.2 && y < 0.45 && z > 0.1 && z < 0.9 }
	var planes []*wake.Plane
	for k := range 2 {
		s := waketest.Lattice(waketest.Gaussian(eps, sigma, y0, 0.5), -1.2, 1.2, 0, 1.2, 97, 49)
		s.File = fmt.Sprintf("plane%d", k)
		if k == 1 {
			leaveOut(s, body)
		}
		planes = append(planes, waketest.Plane(t, s, wake.PlaneOptions{}))
	}
	known := measure.Inputs{Steady: true, Solution: new(float64)}
	c := mustCompare(t, planes, compare.Options{
		Measure: measure.Options{Reference: waketest.Reference(), Uncertainty: known,
			Regions: []measure.Box{{Name: "box", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.05, Y: 0}, Max: grid.Point{X: 1.15, Y: 1.15}}}}},
		Structures: &parts.Options{Threshold: 0.1},
	})
	// The centroid of (w − t)₊ over the samples outside the body less that over all.
	var all, outside [2]float64
	for _, q := range planes[0].Mesh.Points {
		d := eps * math.Exp(-(math.Pow(q.X-y0, 2)+math.Pow(q.Y-0.5, 2))/(2*sigma*sigma))
		w := math.Max(0, 2*d-d*d-0.1)
		all[0], all[1] = all[0]+w, all[1]+w*q.X
		if !body(q.X, q.Y) {
			outside[0], outside[1] = outside[0]+w, outside[1]+w*q.X
		}
	}
	own := outside[1]/outside[0] - all[1]/all[0]
	v := c.Variants[0]
	r := v.Regions[0]
	if b := r.Shift; b.CommonInboard == nil || math.Abs(*b.CommonInboard) > 1e-9 || !(b.Expanded >= math.Abs(b.Centroid[0])) || b.Verdict != uncertainty.NotResolved {
		t.Errorf("box: %+v ± %g, %s; common %v", b.Centroid, b.Expanded, b.Verdict, b.CommonInboard)
	}
	if !slices.ContainsFunc(r.Shift.FourWays.Moves, func(m shift.Move) bool { return m.Measure == shift.MeasureOwn }) {
		t.Errorf("box: the measures of the move lack the one over own samples")
	}
	if d := r.Delta; math.Abs(d.DragArea) > 1e-9 || !(d.Expanded > 0.01) {
		t.Errorf("box: drag %g ± %g", d.DragArea, d.Expanded)
	}
	if len(v.Structures.Shifts) != 1 {
		t.Fatalf("%d moves of parts", len(v.Structures.Shifts))
	}
	s := v.Structures.Shifts[0]
	got := s.Moves[len(s.Moves)-1]
	if got.Measure != shift.MeasureOwn || math.Abs(got.Lateral-own) > 0.002 || s.Agree || s.Verdict != uncertainty.NotResolved {
		t.Errorf("part: %s %+.4f, want %+.4f; agree %v, %s", got.Measure, got.Lateral, own, s.Agree, s.Verdict)
	}
}
