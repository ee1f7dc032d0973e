package shift_test

import (
	"fmt"
	"math"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

func TestPath(t *testing.T) {
	p := plane(t, "cells")
	var base []*parts.Set
	for k := range 3 {
		a := fieldOf(p, blob{0.5, 0.2 + 0.03*float64(k), 0.25, 0.8 + 0.1*float64(k), 0.2})
		a.Position = float64(k)
		base = append(base, find(t, a, parts.Options{}))
	}
	paths := parts.Follow(base)
	if len(paths) != 1 || len(paths[0].Points) != 3 {
		t.Fatalf("%+v", paths)
	}
	for k, q := range paths[0].Points {
		near(t, "centroid on the path", q.Centroid[0], 0.8+0.1*float64(k), 0.02*h)
		if q.RightEdge == nil || q.LeftEdge == nil {
			t.Fatalf("no outline at station %d", k)
		}
		near(t, "middle of the outlines", (*q.RightEdge+*q.LeftEdge)/2, 0.8+0.1*float64(k), 0.05*h)
	}
}

// A wake behind x = 0 with edges at ±(0.5 + 0.1x), of which the variant's right one
// lies 20 mm further in.
func TestTopView(t *testing.T) {
	view := func(kind string, in float64) *parts.TopView {
		p := plane(t, kind)
		f := &parts.Field{Name: p.Name(), Position: 0.36, Mesh: p.Mesh, Scale: 1, Level: 0.001, Weight: make([]float64, len(p.Mesh.Points))}
		for i, q := range p.Mesh.Points {
			// Linear across the edge: 0.1 at it, so that interpolation is exact.
			edge := 0.5 + 0.1*q.X
			if q.Y > 0 {
				edge -= in
			}
			f.Weight[i] = math.Max(-0.2, 0.1+(edge-math.Abs(q.Y)))
			if q.X < 0 {
				f.Weight[i] = 0
			}
			// One sample by itself outside is no edge.
			if q.X > 0.99 && q.X < 1.04 && q.Y > 1.19 && q.Y < 1.24 {
				f.Weight[i] = 1
			}
		}
		v, err := parts.NewTopView(f, 0)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, kind := range kinds {
		a, b := view(kind, 0), view(kind, 0.020)
		n := 0
		for _, c := range a.Columns {
			if c.X < -h {
				if c.Left != nil || c.Right != nil {
					t.Fatalf("%s: an edge at x = %g, ahead of the wake", kind, c.X)
				}
				continue
			}
			if c.X > 2*h && c.Width != nil {
				near(t, fmt.Sprintf("%s: right edge at x = %g", kind, c.X), *c.Right, 0.5+0.1*c.X, 1e-6)
				near(t, kind+": width", *c.Width, 1+0.2*c.X, 2e-6)
				n++
			}
		}
		if n < 30 {
			t.Fatalf("%s: %d columns with both edges", kind, n)
		}
		s, err := shift.Tops(a, b)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Columns {
			if c.X > 2*h && c.Width != nil {
				near(t, kind+": right edge's move", *c.Right, 0.020, 1e-6)
				near(t, kind+": left edge's move", *c.Left, 0, 1e-6)
				near(t, kind+": change of width", *c.Width, -0.020, 1e-6)
			}
			if c.X < -h && c.Right != nil {
				t.Errorf("%s: an edge ahead of the wake", kind)
			}
		}
	}
}

// Regions give their names.
func TestRegionName(t *testing.T) {
	p := plane(t, "cells")
	opt := parts.Options{Regions: []measure.Box{{Name: "right front wheel", Side: "right", Box: grid.Box{Min: grid.Point{X: 0.3, Y: -0.5}, Max: grid.Point{X: 1.5, Y: 1}}}}}
	a := find(t, fieldOf(p, blob{0.5, 0.2, 0.25, 0.8, 0.2}), opt)
	b := find(t, fieldOf(p, blob{0.5, 0.2, 0.25, 0.776, 0.2}), opt)
	if a.Structures[0].Name != "right front wheel" {
		t.Fatalf("named %q", a.Structures[0].Name)
	}
	if s := between(t, a, b, shift.Options{Items: shift.Complete}); s.Verdict != uncertainty.Resolved || !s.Agree {
		t.Errorf("%+v", s)
	}
	if s := between(t, a, a, shift.Options{Items: shift.Complete}); s.Verdict != uncertainty.NotResolved {
		t.Errorf("a wake against itself moved: %+v", s)
	}
}

// A reference that is off in one configuration alone pulls the centroid over the
// window by b S (y_c − ȳ)/(M + b S), METHOD 1g; the weight counted from the edge does
// not move, and what the other zero would do stands in the budget.
func TestReferenceOffInOne(t *testing.T) {
	take := func(y0, off float64) *measure.Measurement {
		g := waketest.Gaussian(0.5, 0.2, y0, 0)
		s := waketest.Lattice(func(y, z float64) waketest.State {
			v := g(y, z)
			v.U -= off
			return v
		}, -2, 2, -1.5, 1.5, 81, 61)
		m, err := measure.Take(planes(t, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference(), Weight: measure.WeightDeficit})
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	const move = -0.02
	a, b := take(0.8, 0), take(0.8+move, 0.01)
	var sets [2]*parts.Set
	for k, m := range []*measure.Measurement{a, b} {
		f := parts.NewField(m)
		sets[k] = find(t, f, parts.Options{})
	}
	// The window has 12 m², the weight the integral 2πεσ² = 0.1257 m².
	pulled := b.Result.Wake.Centroid[0] - a.Result.Wake.Centroid[0]
	near(t, "move over the window", pulled, move+0.01*12*(0-0.78)/(0.12566+0.12), 0.01)
	near(t, "level", b.Level, 0.01, 1e-6)
	s := between(t, sets[0], sets[1], shift.Options{Items: shift.Complete})
	for _, m := range s.Moves {
		near(t, m.Measure, m.Lateral, move, 0.01*h)
		for _, it := range m.Items {
			// The nominal reference makes the variant's outline larger by 0.01 in the weight.
			if m.Measure == shift.MeasureEdge && it.Name == "zero level of the weight" && !(it.Standard > 0.002) {
				t.Errorf("the zero level adds %g m to the edge's budget", it.Standard)
			}
		}
	}
	if s.Verdict != uncertainty.Resolved {
		t.Errorf("%+v", s)
	}
}
