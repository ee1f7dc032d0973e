package uncertainty

import (
	"math"
	"testing"
)

// What is of each value falls as 1/√n, what all share does not fall at all, however it is told:
// by a band, by repeats, or by a record's scatter at one place and by repeats at the other.
func TestPool(t *testing.T) {
	nu := 5.0
	own := func(u float64) Item { return Item{Name: "samples", Category: Sampling, Standard: u} }
	repeats := func(u float64) []Item {
		return []Item{own(0), {Name: "repeats", Category: RunToRun, HoldsTime: true, Standard: u, DOF: &nu}, Declared(Reference, Absent, "one")}
	}
	record := func(u float64) []Item {
		return []Item{own(0), {Name: "record", Category: TimeAverage, Standard: u, DOF: &nu}, Declared(Reference, Absent, "one"), Declared(RunToRun, Estimated, "in the record")}
	}
	off := []Item{own(0), {Name: "pressure", Category: Reference, How: Stated, Standard: 3}, Declared(TimeAverage, Absent, "steady"), {Name: "band", Category: RunToRun, How: Stated, Standard: 4}}
	for _, c := range []struct {
		name    string
		budgets [][]Item
		u, dof  float64
	}{
		{"independent", [][]Item{append(complete(0)[1:], own(2)), append(complete(0)[1:], own(2)), append(complete(0)[1:], own(2)), append(complete(0)[1:], own(2))}, 1, math.Inf(1)},
		{"of two sizes", [][]Item{append(complete(0)[1:], own(1)), append(complete(0)[1:], own(2))}, 1 / math.Sqrt(1+0.25), math.Inf(1)},
		{"all common", [][]Item{off, off, off}, 5, math.Inf(1)},
		{"repeats", [][]Item{repeats(3), repeats(3), repeats(3)}, 3, nu},
		{"a record and repeats", [][]Item{record(3), repeats(3)}, 3, nu},
		{"both", [][]Item{append(repeats(3), own(math.Sqrt(32))), append(repeats(3), own(math.Sqrt(32)))}, 5, nu * 625 / 81},
	} {
		values, budgets := make([]float64, len(c.budgets)), make([]*Budget, len(c.budgets))
		for i, items := range c.budgets {
			b := NewBudget(items...)
			values[i], budgets[i] = 7, &b
		}
		p := NewPool(values, budgets)
		got := math.Inf(1)
		if p.Budget.DOF != nil {
			got = *p.Budget.DOF
		}
		if math.Abs(p.Value-7) > 1e-12 || math.Abs(p.Budget.Standard-c.u) > 1e-12 || !(math.Abs(got-c.dof) < 1e-9 || got == c.dof) {
			t.Errorf("%s: %g, u = %g, ν = %g; 7, %g and %g are expected", c.name, p.Value, p.Budget.Standard, got, c.u, c.dof)
		}
		if j := Judge(p.Value, &p.Budget); len(j.Missing) > 0 {
			t.Errorf("%s: lacks %v", c.name, j.Missing)
		}
	}
}

// Two values 4 apart with own u of 1 have χ² = 4²/(1²+1²) = 8: they differ, and the scatter of their
// mean, 2, is in u. What is unknown at one station is unknown of all.
func TestPoolScatter(t *testing.T) {
	b := NewBudget(complete(1)...)
	p := NewPool([]float64{8, 12}, []*Budget{&b, &b})
	if p.ChiSquare == nil || math.Abs(*p.ChiSquare-8) > 1e-12 || p.Agree || math.Abs(p.Value-10) > 1e-12 || math.Abs(p.Budget.Standard-2) > 1e-12 {
		t.Errorf("%+v", p)
	}
	// 1.9²/2 = 1.8 is within 3.84.
	if p := NewPool([]float64{8, 9.9}, []*Budget{&b, &b}); !p.Agree {
		t.Errorf("χ² = %g does not agree", *p.ChiSquare)
	}
	lacking := NewBudget(complete(1)[:3]...)
	p = NewPool([]float64{30, 30}, []*Budget{&b, &lacking})
	if j := Judge(p.Value, &p.Budget); j.Verdict != NotJudged || len(j.Missing) != 1 || j.Missing[0] != RunToRun {
		t.Errorf("%+v", j)
	}
	whole := NewBudget(complete(0)...)
	if p := NewPool([]float64{1, 3}, []*Budget{&whole, &b}); p.ChiSquare != nil || p.Value != 2 {
		t.Errorf("without an own uncertainty: %+v", p)
	}
}
