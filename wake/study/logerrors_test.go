package study_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/survey/rake"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// loggedPlane invents a log of a Gaussian wake, 20 mm wide, with noise and zeros of its
// own, and reduces it to a plane.
func loggedPlane(t *testing.T, seed uint64) *wake.Plane {
	t.Helper()
	k := waketest.Rake{
		Field: waketest.Gaussian(0.5, 0.02, 0, 0), Half: 0.1, Step: 0.01, Shift: 0.15 * 0.002,
		Zeros: 2, Drifts: 0.5, Noise: 0.01, Wander: 0.01, Seed: seed,
	}
	text, layout, _ := k.Log()
	lay, err := rake.ParseLayout("rake.toml", append(layout, "[corrections]\nlaw = \"constant\"\n"...))
	if err != nil {
		t.Fatal(err)
	}
	log, err := rake.ParseLog("log.csv", string(text))
	if err != nil {
		t.Fatal(err)
	}
	r, err := rake.Reduce(context.Background(), log, lay, rake.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return waketest.Plane(t, r.Survey(r.Nominal()), wake.PlaneOptions{Support: grid.Nodes, SupportBy: "rake"})
}

var logged = measure.Options{
	Reference: wake.Freestream{Speed: 25, Density: 1.2, TotalPressure: math.NaN()},
	Floor:     "none", Thresholds: []float64{0.3},
}

// fromLog is the root of the sum of squares of a budget's items that the log tells and
// that come anew with each log.
func fromLog(b *uncertainty.Budget) float64 {
	var sq float64
	for _, it := range b.Items {
		if strings.HasSuffix(it.Name, wake.FromLog) && it.Kind != uncertainty.Common {
			sq += it.Standard * it.Standard
		}
	}
	return math.Sqrt(sq)
}

// TestLogErrorsReachTheBudget: what the log of a rake tells of its samples' errors is in
// the budgets of the plane, as items from the log, and of the size by which drag,
// centroid and area scatter over logs of the same wake.
func TestLogErrorsReachTheBudget(t *testing.T) {
	logs := 120
	if testing.Short() {
		logs = 30
	}
	names := []string{"drag", "centroid y", "centroid z", "area"}
	got, said := make([][]float64, len(names)), make([]float64, len(names))
	const budgets = 12
	held, truth := 0, 2*math.Pi*0.02*0.02*0.5*1.5
	for seed := range logs {
		opt := logged
		res, err := measure.Take(loggedPlane(t, uint64(seed)), opt)
		if err != nil {
			t.Fatal(err)
		}
		if res.Drag.Headline != "jones" {
			t.Fatalf("headline %q", res.Drag.Headline)
		}
		for i, v := range []float64{res.Drag.Jones.DragArea, res.Wake.Centroid[0], res.Wake.Centroid[1], res.Wake.Areas[0].Area} {
			got[i] = append(got[i], v)
		}
		if math.Abs(res.Drag.Jones.DragArea-truth) <= res.Uncertainty.DragArea.Expanded {
			held++
		}
		if seed >= budgets {
			continue
		}
		u := res.Uncertainty
		for i, b := range []*uncertainty.Budget{u.DragArea, &u.Centroid[0], &u.Centroid[1], &u.Areas[0]} {
			f := fromLog(b)
			said[i] += f * f / budgets
		}
	}
	// What the log cannot tell, such as the law of displacement, is in the interval too.
	if share := 100 * held / logs; share < 92 {
		t.Errorf("the interval of the drag holds the truth in %d %% of the logs", share)
	}
	t.Logf("the interval of the drag holds the truth in %d of %d logs", held, logs)
	for i, name := range names {
		sd := uncertainty.NewSample(got[i]).SD
		u := math.Sqrt(said[i])
		t.Logf("%s: scatters by %.3g over %d logs, %.3g by the items from the log", name, sd, logs, u)
		// The standard deviation of 120 logs is known to 6.5 %, the items of 12 budgets to less.
		if tol := 3 / math.Sqrt(2*float64(logs)); !(math.Abs(u/sd-1) <= tol) {
			t.Errorf("%s: scatters by %.3g over %d logs, the items from the log say %.3g", name, sd, logs, u)
		}
	}
}

// TestLogErrorsOfDifferences: in the difference of two logs what is anew in each adds up,
// what is common to all samples of one rake cancels as far as both feel it alike, and a
// slice without known errors adds none.
func TestLogErrorsOfDifferences(t *testing.T) {
	a, b := loggedPlane(t, 1), loggedPlane(t, 2)
	bare := *b
	bare.Errors = nil
	items := func(planes ...*wake.Plane) map[string]uncertainty.Item {
		c := comparison(t, logged, planes...)
		out := map[string]uncertainty.Item{}
		for _, it := range c.Variants[0].Delta.Items {
			out[it.Name] = it
		}
		return out
	}
	both, one := items(a, b), items(a, &bare)
	// Of the areas, what scatter shows and what the log knows of it come to the scatter
	// again, in the difference as in the two: nothing is taken off twice. (In one of the two
	// the log knows of a little more than scatter shows.)
	c := comparison(t, logged, a, b)
	random := func(items []uncertainty.Item) (sq float64) {
		for _, it := range items {
			if it.Kind == uncertainty.Random {
				sq += it.Standard * it.Standard
			}
		}
		return sq
	}
	v := c.Variants[0]
	two := random(c.Baseline.Uncertainty.Areas[0].Items) + random(v.Survey.Uncertainty.Areas[0].Items)
	if got := random(v.Areas[0].Items); !(math.Abs(got/two-1) < 0.02) {
		t.Errorf("the scatter of the area difference is %.4g m4, that of the two %.4g m4", got, two)
	}
	noise := "sample noise of total pressure" + wake.FromLog
	if r := both[noise].Standard / one[noise].Standard; !(math.Abs(r-math.Sqrt2) < 0.35) {
		t.Errorf("two noises are %.3f of one, √2 is expected", r)
	}
	shear := "displacement in shear" + wake.FromLog
	if it := both[shear]; it.Cancelled == nil || !(it.Standard < 0.2**it.Cancelled) {
		t.Errorf("the displacement of both: %+v", it)
	}
	if it := one[shear]; !(it.Standard > 0) || it.Cancelled != nil && it.Standard < 0.99**it.Cancelled {
		t.Errorf("the displacement of one: %+v", it)
	}
}

// comparison measures planes by one set of options and compares them.
func comparison(t *testing.T, by measure.Options, planes ...*wake.Plane) *compare.Comparison {
	t.Helper()
	var all []*compare.Survey
	for _, p := range planes {
		m, err := measure.Take(p, by)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, &compare.Survey{Name: p.Name(), Measurement: m, By: by})
	}
	c, _, err := compare.Compare(all, compare.Options{Measure: by})
	if err != nil {
		t.Fatal(err)
	}
	return c
}
