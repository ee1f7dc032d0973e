package structure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/structure"
)

func TestMatch(t *testing.T) {
	p := plane(t, "nodes")
	right, left := blob{0.5, 0.2, 0.25, 0.8, 0.2}, blob{0.5, 0.2, 0.25, -0.8, 0.2}
	two := find(t, fieldOf(p, right, left), structure.Options{})
	kindsOf := func(m *structure.Matching) (k []string) {
		for _, e := range m.Events {
			k = append(k, e.Kind)
		}
		return k
	}
	for _, c := range []struct {
		name   string
		other  []blob
		pairs  int
		events []string
	}{
		{"both moved", []blob{{0.5, 0.2, 0.25, 0.86, 0.2}, {0.5, 0.2, 0.25, -0.7, 0.25}}, 2, nil},
		{"left gone", []blob{{0.5, 0.2, 0.25, 0.82, 0.2}}, 1, []string{"vanishes"}},
		{"one more", []blob{right, left, {0.4, 0.2, 0.2, 0, 1}}, 2, []string{"appears"}},
		{"right split", []blob{{0.4, 0.12, 0.25, 0.62, 0.2}, {0.5, 0.12, 0.25, 1.02, 0.2}, left}, 2, []string{"splits"}},
	} {
		other := find(t, fieldOf(p, c.other...), structure.Options{})
		m := structure.Match(two, other)
		if len(m.Pairs) != c.pairs || !cmp.Equal(kindsOf(m), c.events) {
			t.Errorf("%s: %d pairs, events %+v", c.name, len(m.Pairs), m.Events)
		}
		for _, q := range m.Pairs {
			if two.Structures[two.Index(q.A)].Side != other.Structures[other.Index(q.B)].Side || !(q.Score > 0.3 && q.Score <= 1) {
				t.Errorf("%s: %+v", c.name, q)
			}
		}
		// The other way round splits are merges, appearances the opposite.
		back := structure.Match(other, two)
		var mirror []string
		for _, e := range c.events {
			mirror = append(mirror, map[string]string{"vanishes": "appears", "appears": "vanishes", "splits": "merges"}[e])
		}
		if len(back.Pairs) != c.pairs || !cmp.Equal(kindsOf(back), mirror) {
			t.Errorf("%s, the other way round: %d pairs, events %+v", c.name, len(back.Pairs), back.Events)
		}
	}
	self := structure.Match(two, two)
	for _, q := range self.Pairs {
		if q.A != q.B || q.Score != 1 {
			t.Errorf("a set against itself: %+v", q)
		}
	}
}

func TestPair(t *testing.T) {
	p := plane(t, "cells")
	a := find(t, fieldOf(p, blob{0.5, 0.2, 0.25, 0.8, 0.2}, blob{0.49, 0.2, 0.25, -0.8, 0.2}), structure.Options{})
	shifts := func(dr, dl float64) *structure.PairShift {
		b := find(t, fieldOf(p, blob{0.5, 0.2, 0.25, 0.8 - dr, 0.2}, blob{0.49, 0.2, 0.25, -0.8 + dl, 0.2}), structure.Options{})
		var s [2]*structure.Shift
		for _, q := range structure.Match(a, b).Pairs {
			v, err := structure.ShiftBetween(a, b, q.A, q.B, structure.ShiftOptions{Items: structure.Complete})
			if err != nil {
				t.Fatal(err)
			}
			if v.Side == "left" {
				s[0] = v
			} else {
				s[1] = v
			}
		}
		return structure.Pair(s[0], s[1])
	}
	even := shifts(0.024, 0.024)
	if even.Headline == nil || !even.Headline.Agree || len(even.Moves) != 4 {
		t.Fatalf("%+v", even)
	}
	near(t, "symmetric mean", even.Headline.Mean, 0.024, 0.01*h)
	odd := shifts(0.024, -0.010)
	if odd.Headline == nil || odd.Headline.Agree || !strings.Contains(odd.Text, "differ") {
		t.Fatalf("%s", odd.Text)
	}
	near(t, "mean of the two", odd.Headline.Mean, 0.007, 0.01*h)
	near(t, "uncertainty of a mean of unlike sides", odd.Headline.Standard, 0.017, 0.01*h)
}

// along sets the variant's sets beside the baseline's on a path that begins at the first.
func along(t *testing.T, p structure.Path, base, variant []*structure.Set) *structure.PathShift {
	return p.Shifts(base, func(k int, name string) (*structure.Shift, string) {
		s, err := structure.ShiftBetween(base[k], variant[k], name, structure.Alike(base[k], variant[k], name), structure.ShiftOptions{Items: structure.Complete})
		if err != nil {
			t.Fatal(err)
		}
		return s, ""
	})
}

func TestPath(t *testing.T) {
	p := plane(t, "cells")
	var base, variant []*structure.Set
	for k, d := range []float64{0.03, 0.015, 0} {
		wide := 0.2 + 0.03*float64(k)
		a := fieldOf(p, blob{0.5, wide, 0.25, 0.8 + 0.1*float64(k), 0.2})
		b := fieldOf(p, blob{0.5, wide, 0.25, 0.8 + 0.1*float64(k) - d, 0.2})
		a.Position, b.Position = float64(k), float64(k)
		base, variant = append(base, find(t, a, structure.Options{})), append(variant, find(t, b, structure.Options{}))
	}
	paths, err := structure.Follow(base)
	if err != nil {
		t.Fatal(err)
	}
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
	s := along(t, paths[0], base, variant)
	if !cmp.Equal(s.Resolved, []bool{true, true, false}) || *s.LastResolved != 1 || !strings.Contains(s.Text, "no longer from x = +2.00 m") {
		t.Errorf("%v: %s", s.Resolved, s.Text)
	}
	if _, err := structure.Follow([]*structure.Set{base[1], base[0]}); err == nil {
		t.Error("stations out of order are taken")
	}
}

// A wake behind x = 0 with edges at ±(0.5 + 0.1x), of which the variant's right one
// lies 20 mm further in.
func TestTopView(t *testing.T) {
	view := func(kind string, in float64) *structure.TopView {
		p := plane(t, kind)
		f := &structure.Field{Name: p.Name(), Position: 0.36, Mesh: p.Mesh, Scale: 1, Level: 0.001, Weight: make([]float64, len(p.Mesh.Points))}
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
		v, err := structure.NewTopView(f, structure.TopOptions{})
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
		s, err := a.Against(b)
		if err != nil {
			t.Fatal(err)
		}
		right, ok := s.At(0.6, 0.2, "right")
		left, ok2 := s.At(0.6, 0.2, "left")
		if !ok || !ok2 {
			t.Fatalf("%s: no edge at 0.6 m", kind)
		}
		near(t, kind+": right edge's move", *right.Inboard, 0.020, 1e-6)
		near(t, kind+": right edge's lateral move", right.Lateral, -0.020, 1e-6)
		near(t, kind+": left edge's move", *left.Inboard, 0, 1e-6)
		if _, ok := s.At(-1, 0.2, "right"); ok {
			t.Errorf("%s: an edge ahead of the wake", kind)
		}
	}
}

// All breakdowns sum to the total, and those with closed forms have these.
func TestLedger(t *testing.T) {
	const sigma = 0.3
	for _, kind := range kinds {
		p := plane(t, kind)
		a := find(t, fieldOf(p, blob{0.5, sigma, sigma, 0, 0}, blob{0.3, 0.2, 0.2, 1.3, 0.4}), structure.Options{})
		b := find(t, fieldOf(p, blob{0.6, sigma, sigma, 0, 0}), structure.Options{})
		l, err := structure.NewLedger(a, b, structure.Match(a, b), structure.LedgerOptions{
			Sectors: 4, Strips: 16,
			Regions: []measure.Box{
				{Name: "right", Box: grid.Box{Min: grid.Point{X: 0.83, Y: -0.21}, Max: grid.Point{X: 1.91, Y: 1.3}}},
				{Name: "low", Box: grid.Box{Min: grid.Point{X: -1.03, Y: -1.5}, Max: grid.Point{X: 0.83, Y: 0}}},
			},
		})
		if err != nil {
			t.Fatal(err)
		}
		want := 2*math.Pi*sigma*sigma*0.1 - 2*math.Pi*0.2*0.2*0.3
		near(t, kind+": difference", l.Delta, want, 0.02*math.Abs(want)+1e-3)
		for _, by := range []string{"regions", "structures", "span", "height", "sectors"} {
			d := l.By(by)
			if d == nil {
				t.Fatalf("%s: no breakdown by %s", kind, by)
			}
			sum := 0.0
			for _, e := range d.Entries {
				sum += e.Delta
			}
			if d.Rest != nil {
				sum += d.Rest.Delta
			}
			near(t, kind+": sum by "+by, sum, l.Delta, 1e-9)
			near(t, kind+": residual by "+by, d.Residual, 0, 1e-9)
		}
		span := l.By("span").Entries
		near(t, kind+": cumulative by span", *span[len(span)-1].Cumulative, l.Delta, 1e-9)
		// Up to y = 0 there is half of the round wake's change.
		near(t, kind+": cumulative at y = 0", *span[7].Cumulative, math.Pi*sigma*sigma*0.1, 1e-3)
		near(t, kind+": y there", *span[7].To, 0, 1e-9)
		sectors := l.By("sectors").Entries
		// Quarters 2 to 4 have a quarter of the round wake each and next to nothing else.
		for k := 1; k < 3; k++ {
			near(t, kind+": quarter", sectors[k].Delta, math.Pi*sigma*sigma/2*0.1, 1e-3)
		}
		regions := l.By("regions")
		near(t, kind+": the right region", regions.Entries[0].B-regions.Entries[0].A, -2*math.Pi*0.2*0.2*0.3, 0.05*0.0754)
		last := l.By("structures").Entries
		if !strings.Contains(last[len(last)-1].Name, "alone") {
			t.Errorf("%s: %+v", kind, last)
		}
	}
}

func TestLedgerRefuses(t *testing.T) {
	a := find(t, fieldOf(plane(t, "nodes"), blob{0.5, 0.2, 0.2, 0, 0}), structure.Options{})
	l, err := structure.NewLedger(a, a, structure.Match(a, a), structure.LedgerOptions{Regions: []measure.Box{
		{Name: "one", Box: grid.Box{Max: grid.Point{X: 1, Y: 1}}}, {Name: "two", Box: grid.Box{Max: grid.Point{X: 0.5, Y: 2}}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Warnings) != 1 || l.By("regions").Rest != nil {
		t.Errorf("overlapping regions: %+v", l.Warnings)
	}
	if _, err := structure.NewLedger(a, a, structure.Match(a, a), structure.LedgerOptions{Centre: [2]float64{math.NaN(), 0}}); err == nil {
		t.Error("a centre of NaN is taken")
	}
}
