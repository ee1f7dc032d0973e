package parts_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wakeledger/grid"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
)

func TestMatch(t *testing.T) {
	p := plane(t, "nodes")
	right, left := blob{0.5, 0.2, 0.25, 0.8, 0.2}, blob{0.5, 0.2, 0.25, -0.8, 0.2}
	two := find(t, fieldOf(p, right, left), parts.Options{})
	kindsOf := func(m *parts.Matching) (k []string) {
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
		other := find(t, fieldOf(p, c.other...), parts.Options{})
		m := parts.Match(two, other)
		if len(m.Pairs) != c.pairs || !cmp.Equal(kindsOf(m), c.events) {
			t.Errorf("%s: %d pairs, events %+v", c.name, len(m.Pairs), m.Events)
		}
		for _, q := range m.Pairs {
			if two.Structures[two.Index(q.A)].Side != other.Structures[other.Index(q.B)].Side || !(q.Score > 0.3 && q.Score <= 1) {
				t.Errorf("%s: %+v", c.name, q)
			}
		}
		// The other way round splits are merges, appearances the opposite.
		back := parts.Match(other, two)
		var mirror []string
		for _, e := range c.events {
			mirror = append(mirror, map[string]string{"vanishes": "appears", "appears": "vanishes", "splits": "merges"}[e])
		}
		if len(back.Pairs) != c.pairs || !cmp.Equal(kindsOf(back), mirror) {
			t.Errorf("%s, the other way round: %d pairs, events %+v", c.name, len(back.Pairs), back.Events)
		}
	}
	self := parts.Match(two, two)
	for _, q := range self.Pairs {
		if q.A != q.B || q.Score != 1 {
			t.Errorf("a set against itself: %+v", q)
		}
	}
}

// All breakdowns sum to the total, and those with closed forms have these.
func TestLedger(t *testing.T) {
	const sigma = 0.3
	for _, kind := range kinds {
		p := plane(t, kind)
		a := find(t, fieldOf(p, blob{0.5, sigma, sigma, 0, 0}, blob{0.3, 0.2, 0.2, 1.3, 0.4}), parts.Options{})
		b := find(t, fieldOf(p, blob{0.6, sigma, sigma, 0, 0}), parts.Options{})
		l := parts.NewLedger(a, b, parts.Match(a, b), []measure.Box{
			{Name: "right", Box: grid.Box{Min: grid.Point{X: 0.83, Y: -0.21}, Max: grid.Point{X: 1.91, Y: 1.3}}},
			{Name: "low", Box: grid.Box{Min: grid.Point{X: -1.03, Y: -1.5}, Max: grid.Point{X: 0.83, Y: 0}}},
		})
		want := 2*math.Pi*sigma*sigma*0.1 - 2*math.Pi*0.2*0.2*0.3
		near(t, kind+": difference", l.Delta, want, 0.02*math.Abs(want)+1e-3)
		for _, by := range []string{"regions", "structures", "span", "height"} {
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
		near(t, kind+": cumulative at y = 0", *span[9].Cumulative, math.Pi*sigma*sigma*0.1, 1e-3)
		near(t, kind+": y there", *span[9].To, 0, 1e-9)
		regions := l.By("regions")
		near(t, kind+": the right region", regions.Entries[0].B-regions.Entries[0].A, -2*math.Pi*0.2*0.2*0.3, 0.05*0.0754)
		last := l.By("structures").Entries
		if !strings.Contains(last[len(last)-1].Name, "alone") {
			t.Errorf("%s: %+v", kind, last)
		}
	}
}

func TestLedgerRefuses(t *testing.T) {
	a := find(t, fieldOf(plane(t, "nodes"), blob{0.5, 0.2, 0.2, 0, 0}), parts.Options{})
	l := parts.NewLedger(a, a, parts.Match(a, a), []measure.Box{
		{Name: "one", Box: grid.Box{Max: grid.Point{X: 1, Y: 1}}}, {Name: "two", Box: grid.Box{Max: grid.Point{X: 0.5, Y: 2}}},
	})
	if len(l.Warnings) != 1 || l.By("regions").Rest != nil {
		t.Errorf("overlapping regions: %+v", l.Warnings)
	}
}
