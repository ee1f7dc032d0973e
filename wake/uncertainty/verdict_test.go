package uncertainty

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// complete are items for all categories, of which the sampling is u.
func complete(u float64) []Item {
	return []Item{
		{Name: "samples", Category: Sampling, Standard: u}, Declared(Reference, Absent, "one reference"),
		Declared(TimeAverage, Absent, "steady"), {Name: "band", Category: RunToRun, How: Stated},
	}
}

// The verdict on all sides of the interval, with every set of categories that may lack.
func TestJudge(t *testing.T) {
	all := complete(1)
	for set := range 16 {
		var items []Item
		var missing []Category
		for k, it := range all {
			if set>>k&1 == 0 {
				items = append(items, it)
			} else {
				missing = append(missing, Categories[k])
			}
		}
		b := NewBudget(items...)
		for _, d := range []float64{-5, -2, -1, 0, 1.9999, 2, 2.0001, 5, math.NaN()} {
			j := Judge(d, &b)
			want := Resolved
			switch {
			case !(math.Abs(d) > b.Expanded):
				want = NotResolved
			case missing != nil:
				want = NotJudged
			}
			if j.Verdict != want || !slices.Equal(j.Missing, missing) || (j.Margin != nil) != (want == NotJudged) {
				t.Errorf("d = %g without %v: %+v, %s is expected", d, missing, j, want)
			}
			if j.Margin == nil {
				continue
			}
			// What is missing decides at the margin, to either side.
			for _, c := range []struct {
				part float64
				want string
			}{{0.999, Resolved}, {1.001, NotResolved}} {
				full := NewBudget(append(slices.Clone(items), Item{Name: "missing", Category: missing[0], Standard: c.part * *j.Margin})...)
				rest := Only("nothing more", full.Items...)
				if v := Judge(d, &rest).Verdict; v != c.want {
					t.Errorf("d = %g with %g of the margin: %s, %s is expected", d, c.part, v, c.want)
				}
			}
		}
	}
	// Nothing known at all is not judged.
	if j := Judge(1, &Budget{Coverage: 2}); j.Verdict != NotJudged {
		t.Errorf("an empty budget: %+v", j)
	}
}

// Trials that do not agree with the budget decide in its place.
func TestJudgeByTrials(t *testing.T) {
	b := NewBudget(complete(1)...)
	b.MonteCarlo = &MonteCarlo{Interval: [2]float64{-0.1, 6}}
	if v := Judge(3, &b).Verdict; v != NotResolved {
		t.Errorf("zero within the trials: %s", v)
	}
	b.MonteCarlo.Agrees = true
	if v := Judge(3, &b).Verdict; v != Resolved {
		t.Errorf("trials that agree: %s", v)
	}
}

// Repeats hold the time average: its own items are not counted beside them.
func TestRepeatsHoldTheTimeAverage(t *testing.T) {
	dof := 5.0
	b := NewBudget(Item{Name: "time average", Category: TimeAverage, Standard: 3},
		Item{Name: "repeats", Category: RunToRun, HoldsTime: true, Standard: 2, DOF: &dof})
	if b.Standard != 2 || b.States[2].How != Estimated || b.States[3].How != Estimated {
		t.Errorf("u = %g, %+v", b.Standard, b.States)
	}
	near(t, "t of 5", b.Coverage, 2.571, 0.0005)
}

// What would resolve a difference: T_needed = T (U_time/|Δ|)² where the time average is
// all there is, and the number of runs by the same law.
func TestNeed(t *testing.T) {
	items := complete(0)
	items[2] = Item{Name: "time average", Category: TimeAverage, Standard: 3}
	b := NewBudget(items...)
	c, f := Need(2, &b)
	if c != TimeAverage || f != 9 {
		t.Errorf("%s × %g, 9 times as long is expected", c, f)
	}
	j := Judge(2, &b)
	if s := j.Sentence(2, &b, Format{Scale: 1000, Decimals: 1, Unit: "mm"}, 0); !strings.Contains(s, "about 9 times as long") || !strings.Contains(s, "contains zero") {
		t.Error(s)
	}
	// A little more is more than once.
	j = Judge(5.999, &b)
	if s := j.Sentence(5.999, &b, Format{Scale: 1000, Decimals: 1, Unit: "mm"}, 0); !strings.Contains(s, "about 1.1 times as long") {
		t.Error(s)
	}
	// What nobody does is not advised.
	one, four := 1.0, 4.0
	for _, c := range []struct {
		d, u float64
		dof  *float64
		runs int
		want string
	}{
		{1.21, 3, nil, 0, "; the means of 25 runs of each would"},
		{1, 3, nil, 0, "mostly by run-to-run"},
		// Two of each have t of 2 for that of 1: 4.303/√2 is below 5, 12.7 is not.
		{5, 1, &one, 1, "; the means of 2 runs of each would"},
		{3, 1, &one, 1, "; the means of 3 runs of each would"},
		{1.5, 1, &four, 3, "; the means of 4 runs of each would"},
		{1.5, 1, &four, 5, "; the means of the 5 runs of each that are there would"},
	} {
		many := Only("nothing else", Item{Name: "repeats", Category: RunToRun, Standard: c.u, DOF: c.dof, Runs: c.runs})
		j = Judge(c.d, &many)
		if s := j.Sentence(c.d, &many, Format{Scale: 1, Unit: "m"}, 0); !strings.Contains(s, c.want) {
			t.Errorf("%g: %s", c.d, s)
		}
	}
	// With an average so long the difference is resolved, just.
	items[2].Standard /= math.Sqrt(f) * 1.001
	b = NewBudget(items...)
	if v := Judge(2, &b).Verdict; v != Resolved {
		t.Errorf("after %g times as long: %s", f, v)
	}
	for name, want := range map[string]string{"samples": "times as many samples", WindowEdge + " (does not close)": "wider planes might", TurbulenceTerm: "the normal stress <u'u'> in both"} {
		b = Only("nothing else", Item{Name: name, Category: Sampling, Standard: 1.5})
		j = Judge(2, &b)
		if s := j.Sentence(2, &b, Format{Scale: 1, Unit: "m"}, 0); !strings.Contains(s, want) {
			t.Errorf("%s: %s", name, s)
		}
	}
	items[0].Standard = 1.5
	b = NewBudget(items...)
	if c, f := Need(2, &b); c != Sampling || math.IsNaN(f) || f < 2 {
		t.Errorf("%s × %g", c, f)
	}
}

// The limits that are printed are the sum and the difference of the two numbers that are printed, and a margin
// that is larger than the drag has no power of ten.
func TestLimitsAddUp(t *testing.T) {
	mm := Format{Scale: 1000, Decimals: 1, Unit: "mm"}
	rapid.Check(t, func(r *rapid.T) {
		u := math.Pow(10, rapid.Float64Range(-4, 1).Draw(r, "u"))
		d := 1.9 * u * rapid.Float64Range(-1, 1).Draw(r, "d")
		b := NewBudget(complete(u)...)
		j := Judge(d, &b)
		n := regexp.MustCompile(`[−+]?[0-9.]+`).FindAllString(j.Number(d, &b, mm), -1)
		in := regexp.MustCompile(`\[(.*), (.*)\]`).FindStringSubmatch(j.Reason(d, &b, mm, 0))
		var x, half, lo, hi float64
		fmt.Sscan(strings.ReplaceAll(strings.Join(append(n[:2], in[1:]...), " "), "−", "-"), &x, &half, &lo, &hi)
		if half == 0 || math.Abs(x-half-lo) > 1e-9*half || math.Abs(x+half-hi) > 1e-9*half {
			r.Errorf("%v and %v", n, in)
		}
	})
	b := NewBudget(Item{Name: "samples", Category: Sampling, Standard: 0.01})
	if j := Judge(16, &b); !strings.HasSuffix(j.Reason(16, &b, mm, 1), " (800 % of the drag)") {
		t.Error(j.Reason(16, &b, mm, 1))
	}
}

func ExampleJudge() {
	items := []Item{{Name: "sampling distance", Category: Sampling, Standard: 0.0001}, Declared(Reference, Absent, "one reference for both")}
	b := NewBudget(items...)
	d, area := -0.0642, Format{Scale: 1, Decimals: 5, Unit: "m²"}
	j := Judge(d, &b)
	fmt.Println(j.Number(d, &b, area)+":", j.Sentence(d, &b, area, 2.1))
	b = b.With(Item{Name: "repeats", Category: RunToRun, HoldsTime: true, Standard: 0.005})
	j = Judge(d, &b)
	fmt.Println(j.Number(d, &b, area)+":", j.Sentence(d, &b, area, 2.1))
	// Output:
	// −0.064 m²: not judged; time averaging and run-to-run scatter unknown; resolved if together below u = 0.032 m² (1.5 % of the drag)
	// −0.064 ± 0.010 m²: resolved
}

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

// An error that two repeats tell at one place and a band at the other has the mean of the two
// intervals, not the factor of many degrees of freedom on the mean of the two u.
func TestPoolFewRepeats(t *testing.T) {
	two := 1.0
	few := NewBudget(append(complete(0)[:3], Item{Name: "repeats", Category: RunToRun, HoldsTime: true, Standard: 1.3, DOF: &two})...)
	band := NewBudget(append(complete(0)[:3], Item{Name: "band", Category: RunToRun, How: Stated, Standard: 8.8})...)
	p := NewPool([]float64{15, 15}, []*Budget{&few, &band})
	near(t, "U", p.Budget.Expanded, (few.Expanded+band.Expanded)/2, 1e-6)
	near(t, "u", p.Budget.Standard, 5.05, 1e-9)
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
	lacking = b.With(Item{Name: TurbulenceTerm, Category: Sampling, How: Unknown})
	p = NewPool([]float64{30, 30}, []*Budget{&b, &lacking})
	if s := p.Budget.Lacking(); s != TurbulenceTerm {
		t.Errorf("of a missing term is said %q", s)
	}
	whole := NewBudget(complete(0)...)
	if p := NewPool([]float64{1, 3}, []*Budget{&whole, &b}); p.ChiSquare != nil || p.Value != 2 {
		t.Errorf("without an own uncertainty: %+v", p)
	}
}
