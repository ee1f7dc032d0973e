package study

import (
	"testing"

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
