package study

import (
	"testing"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	u "wakeledger/wake/uncertainty"
)

// Wake and force of one run saw the same flow, with one reference that shifts the wake alone; so did
// their changes. What is stated of a force counts once, also where the wake's budget has it too.
func TestCloses(t *testing.T) {
	sampling, reference := u.Item{Category: u.Sampling, Standard: 0.001}, u.Item{Category: u.Reference, Standard: 0.001}
	time, runs := u.Item{Category: u.TimeAverage, Standard: 0.008}, u.Item{Category: u.RunToRun, Standard: 0.006}
	repeats := u.Item{Category: u.RunToRun, HoldsTime: true, Standard: 0.006}
	for name, c := range map[string]struct {
		difference float64
		items      []u.Item
		verdict    string
		expanded   float64
	}{
		"one run, reference known":    {0.007, ofOneRun(nil, []u.Item{sampling, reference, time}), differ, 0.00283},
		"one run, reference unknown":  {0.007, ofOneRun(nil, []u.Item{sampling, time}), u.NotJudged, 0.002},
		"what is stated of the force": {0.007, ofOneRun([]u.Item{reference}, []u.Item{sampling}), u.NotJudged, 0.00283},
		"within what is known":        {0.001, ofOneRun(nil, []u.Item{sampling, time}), agree, 0.002},
		"repeats of the wake":         {0.007, ofOneRun(nil, []u.Item{sampling, reference, repeats}), differ, 0.00283},
		"run to run known":            {0.0015, ofOneRun(nil, []u.Item{sampling, reference, time, runs}), agree, 0.00283},
		"a force stated":              {0.003, ofOneRun([]u.Item{reference}, []u.Item{sampling, reference, time}), agree, 0.00346},
	} {
		got := closes(c.difference, 2, c.items)
		if got.Verdict != c.verdict || got.Expanded < 0.99*c.expanded || got.Expanded > 1.01*c.expanded {
			t.Errorf("%s: %s ± %g, want %s ± %g", name, got.Verdict, got.Expanded, c.verdict, c.expanded)
		}
	}
}

// A change that the wake resolves is told beside that of the force where this is nearer to zero and not resolved
// by what the forces scatter by, 95 % of √2 u, although the two are no further apart than their budget.
func TestForceNotResolved(t *testing.T) {
	const change, standard = 0.05, 0.015
	for force, want := range map[float64]bool{-0.005: true, 0.02: true, 0.041: true, 0.044: false, 0.06: false} {
		d := &compare.Delta{DragArea: change, Judgement: u.Judgement{Verdict: u.Resolved}}
		d.Budget = u.NewBudget(u.Item{Category: u.Sampling, Standard: 0.02}, u.Item{Category: u.Reference, Standard: 0.001})
		v := []compare.Variant{{Survey: &measure.Result{}, Delta: d}}
		r := &runner{c: &Config{Baseline: "a"}, out: &Outcome{Stations: []StationOutcome{{Variants: []string{"b"}, Comparison: &compare.Comparison{Variants: v}}}}}
		f := func(area float64) *ForceValue { u := standard; return &ForceValue{DragArea: area, stated: &u} }
		out := r.forceDelta(0, "b", map[string]*ForceValue{"a": f(2), "b": f(2 + force)})
		if out.Contradicts || (out.Unresolved != nil) != want || (len(r.out.Warnings) == 1) != want {
			t.Errorf("%g beside %g ± 0.042: %+v, %v", change, force, out, r.out.Warnings)
		}
	}
}
