package study_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Two stations behind each of three wakes of known depth: the change between any two, pooled,
// is that of the closed form; what samples tell falls by √2, what is stated of each run does not; a pair with
// one station is not pooled; and with another baseline the changes are the same with the other sign.
func TestPooled(t *testing.T) {
	dir := t.TempDir()
	eps := map[string]float64{"shallow": 0.3, "deep": 0.4, "deepest": 0.5}
	for name, e := range eps {
		plane(t, dir, name+"1.csv", 1, e, 0.3)
		plane(t, dir, name+"2.csv", 2, e, 0.3)
	}
	text := strings.NewReplacer("a1", "shallow1", "a2", "shallow2", `["b1.csv"]`, `["deep1.csv", "deep2.csv"]`, "0.005 m2", "0.0005 m2", `"0.188 m2"`, `"0.188 m2", standard_uncertainty = "0.0005 m2"`).Replace(wakeStudy) + `
[[configuration]]
name = "deepest"
surveys = ["deepest1.csv", "deepest2.csv"]
force = { drag_area = "0.19 m2", standard_uncertainty = "0.0005 m2" }
[uncertainty]
solution = "0.2 %"
`
	of := func(text, against string) *study.Outcome {
		t.Helper()
		c, err := study.Parse("s.toml", []byte(text))
		if err == nil && against != "" {
			err = c.Against(against)
		}
		if err != nil {
			t.Fatal(err)
		}
		o, _, err := study.Run(context.Background(), c, dir, nil)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	o := of(text, "")
	drag := func(e float64) float64 { return 2 * math.Pi * 0.04 * e * (2 - e) }
	if len(o.Pooled) != 3 || len(o.Stations[0].Comparison.Pairs) != 3 {
		t.Fatalf("%d are pooled, of %d", len(o.Pooled), len(o.Stations[0].Comparison.Pairs))
	}
	sampling := func(items []uncertainty.Item) (sum float64) {
		for _, it := range items {
			if it.Category == uncertainty.Sampling {
				sum = math.Hypot(sum, it.Standard)
			}
		}
		return sum
	}
	for k, p := range o.Pooled {
		one := o.Stations[0].Comparison.Pairs[k].Delta
		want := drag(eps[p.Of]) - drag(eps[p.Minus])
		if math.Abs(p.Difference-want) > 2e-5 || p.Verdict != uncertainty.Resolved || !p.Agree || p.Stations[0].Station != "near" || math.Abs(p.Stations[0].Weight-0.5) > 1e-9 {
			t.Errorf("%s minus %s: %+v, want %g", p.Of, p.Minus, p, want)
		}
		if got, want := sampling(p.Items), sampling(one.Items)/math.Sqrt2; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%s minus %s: u of the samples %g, %g is expected", p.Of, p.Minus, got, want)
		}
		band := math.Hypot(0.002*math.Hypot(drag(eps[p.Of]), drag(eps[p.Minus])), 0.0005*math.Sqrt2)
		i := slices.IndexFunc(p.Items, func(it uncertainty.Item) bool { return it.Standard > 0 && it.Category == uncertainty.RunToRun })
		if it := p.Items[i]; math.Abs(it.Standard/band-1) > 1e-3 || it.How != uncertainty.Stated {
			t.Errorf("%s minus %s: %+v of the runs, %g is expected", p.Of, p.Minus, it, band)
		}
	}
	back := of(text, "deepest")
	if p := back.Pooled[0]; back.Baseline != "deepest" || p.Minus != "deepest" || p.Of != "shallow" || p.Difference != -o.Pooled[1].Difference || math.Abs(p.Standard-o.Pooled[1].Standard) > 1e-12 {
		t.Errorf("against the deepest: %+v, before %+v", p, o.Pooled[1])
	}
	if one := of(strings.Replace(text, `"deep2.csv"`, "", 1), ""); len(one.Pooled) != 1 || one.Pooled[0].Of != "deepest" {
		t.Errorf("with deep at one station: %+v", one.Pooled)
	}
	c, _ := study.Parse("s.toml", []byte(text))
	if err := c.Against("depest"); err == nil || !strings.Contains(err.Error(), `"depest" is no configuration; did you mean "deepest"?`) {
		t.Errorf("%v", err)
	}
}
