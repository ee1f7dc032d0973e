package structure_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/structure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

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
	var sets [2]*structure.Set
	for k, m := range []*measure.Measurement{a, b} {
		f, err := structure.NewField(m)
		if err != nil {
			t.Fatal(err)
		}
		sets[k] = find(t, f, structure.Options{})
	}
	// The window has 12 m², the weight the integral 2πεσ² = 0.1257 m².
	pulled := b.Result.Wake.Centroid[0] - a.Result.Wake.Centroid[0]
	near(t, "move over the window", pulled, move+0.01*12*(0-0.78)/(0.12566+0.12), 0.01)
	near(t, "level", b.Level, 0.01, 1e-6)
	s := between(t, sets[0], sets[1], structure.ShiftOptions{Items: structure.Complete})
	for _, m := range s.Moves {
		near(t, m.Measure, m.Lateral, move, 0.01*h)
		for _, it := range m.Items {
			// The nominal reference makes the variant's outline larger by 0.01 in the weight.
			if m.Measure == structure.MeasureEdge && it.Name == "zero level of the weight" && !(it.Standard > 0.002) {
				t.Errorf("the zero level adds %g m to the edge's budget", it.Standard)
			}
		}
	}
	if s.Verdict != uncertainty.Resolved {
		t.Error(s.Text)
	}
}

// The JSON form has the contract's keys and no number that is not finite.
func TestJSON(t *testing.T) {
	p := plane(t, "cells")
	a := find(t, fieldOf(p, blob{0.5, 0.2, 0.25, 0.8, 0.2}, blob{0.5, 0.2, 0.25, -0.8, 0.2}), structure.Options{})
	b := find(t, fieldOf(p, blob{0.5, 0.2, 0.25, 0.77, 0.2}), structure.Options{})
	m := structure.Match(a, b)
	s, err := structure.ShiftBetween(a, b, m.Pairs[0].A, m.Pairs[0].B, structure.ShiftOptions{Items: structure.Complete})
	if err != nil {
		t.Fatal(err)
	}
	l, err := structure.NewLedger(a, b, m, structure.LedgerOptions{})
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(map[string]any{"set": a, "match": m, "shift": s, "ledger": l})
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{
		`"structures":[{"name":`, `"side":"right"`, `"drag_area_m2"`, `"area_m2"`, `"centroid_m"`, `"spread_m"`, `"peak"`, `"persistence"`, `"mirror_of"`,
		`"pairs"`, `"events"`, `"moves"`, `"inboard_m"`, `"birge_ratio"`, `"headline"`, `"verdict":"resolved"`, `"breakdowns"`, `"cumulative_m2"`,
	} {
		if !strings.Contains(string(out), key) {
			t.Errorf("no %s in %s", key, out)
		}
	}
}

// A survey without velocity has nothing to find structures in.
func TestNoWeight(t *testing.T) {
	s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0, 0), -1, 1, -1, 1, 9, 9)
	s.Col[wake.U] = nil
	m, err := measure.Take(planes(t, s, wake.PlaneOptions{}), measure.Options{Reference: waketest.Reference()})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := structure.NewField(m); err == nil || !strings.Contains(err.Error(), "--column") {
		t.Errorf("taken, or without a cure: %v", err)
	}
}

func BenchmarkFind(b *testing.B) {
	for _, n := range []int{100, 316} {
		s := waketest.Lattice(waketest.Gaussian(0.5, 0.2, 0.7, 0), -2, 2, -2, 2, n, n)
		p, err := wake.Planes(s, wake.PlaneOptions{Support: grid.Cells, SupportBy: "test"})
		if err != nil {
			b.Fatal(err)
		}
		f := fieldOf(p[0], blob{0.5, 0.4, 0.4, 0.7, 0}, blob{0.5, 0.4, 0.4, -0.7, 0})
		b.Run(fmt.Sprintf("n=%.0e", float64(n*n)), func(b *testing.B) {
			for b.Loop() {
				if _, err := structure.Find(f, structure.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSurvey is what finding structures adds to measuring a large plane.
func BenchmarkSurvey(b *testing.B) {
	const n = 1_000_000
	state := func(y, z float64) waketest.State {
		s := waketest.Gaussian(0.5, 0.2, 0.7, 0)(y, z)
		s.V, s.W = 0.1*z, -0.1*y
		return s
	}
	for name, s := range map[string]*wake.Samples{
		"lattice": waketest.Lattice(state, -2, 2, -2, 2, 1000, 1000),
		"scatter": waketest.Scatter(state, -2, 2, -2, 2, 1000, 1000, 3),
	} {
		p, err := wake.Planes(s, wake.PlaneOptions{})
		if err != nil {
			b.Fatal(err)
		}
		m, err := measure.Take(p[0], measure.Options{Reference: waketest.Reference()})
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("%s/n=%.0e", name, float64(n)), func(b *testing.B) {
			for b.Loop() {
				if _, _, err := structure.Survey(m, structure.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
