package uncertainty

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
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
	if s := j.Sentence(2, &b, Format{Scale: 1000, Decimals: 1, Unit: "mm"}, 0, ""); !strings.Contains(s, "about 9 times as long") || !strings.Contains(s, "contains zero") {
		t.Error(s)
	}
	// A little more is more than once.
	j = Judge(5.999, &b)
	if s := j.Sentence(5.999, &b, Format{Scale: 1000, Decimals: 1, Unit: "mm"}, 0, ""); !strings.Contains(s, "about 1.1 times as long") {
		t.Error(s)
	}
	// What nobody does is not advised.
	for d, want := range map[float64]string{1.2: "25 runs of each", 1: "mostly by run-to-run"} {
		many := Only("nothing else", Item{Name: "repeats", Category: RunToRun, Standard: 3})
		j = Judge(d, &many)
		if s := j.Sentence(d, &many, Format{Scale: 1, Unit: "m"}, 0, ""); !strings.Contains(s, want) {
			t.Errorf("%g: %s", d, s)
		}
	}
	// With an average so long the difference is resolved, just.
	items[2].Standard /= math.Sqrt(f) * 1.001
	b = NewBudget(items...)
	if v := Judge(2, &b).Verdict; v != Resolved {
		t.Errorf("after %g times as long: %s", f, v)
	}
	items[0].Standard = 1.5
	b = NewBudget(items...)
	if c, f := Need(2, &b); c != Sampling || math.IsNaN(f) || f < 2 {
		t.Errorf("%s × %g", c, f)
	}
}

func ExampleJudge() {
	items := []Item{{Name: "sampling distance", Category: Sampling, Standard: 0.0001}, Declared(Reference, Absent, "one reference for both")}
	b := NewBudget(items...)
	d, area := -0.0642, Format{Scale: 1, Decimals: 5, Unit: "m²"}
	j := Judge(d, &b)
	fmt.Println(j.Number(d, &b, area)+":", j.Sentence(d, &b, area, 2.1, "drag"))
	b = b.With(Item{Name: "repeats", Category: RunToRun, HoldsTime: true, Standard: 0.005})
	j = Judge(d, &b)
	fmt.Println(j.Number(d, &b, area)+":", j.Sentence(d, &b, area, 2.1, "drag"))
	// Output:
	// −0.064 m²: not judged; time averaging and run-to-run scatter are not known. It stays resolved if together they are below u = 0.032 m² (1.5 % of the drag)
	// −0.064 ± 0.010 m²: resolved
}
