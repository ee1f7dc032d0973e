package report

import (
	"bytes"
	"strings"
	"testing"

	"wakeledger/wake/plan"
	"wakeledger/wake/uncertainty"
)

// TestPlanText: twelve lines at most, and what a record that cannot be judged needs.
func TestPlanText(t *testing.T) {
	r := &plan.Record{File: "short.csv", TimeMean: uncertainty.TimeMean{N: 50, Mean: 2, Scale: 5, Doubt: uncertainty.RecordShort, Need: 100}, Scale: 5, Step: 0.1, Rerun: true}
	for _, c := range []struct {
		least  *float64
		change float64
		want   []string
	}{
		{nil, 0.1, []string{"verdict: not judged; ", "a record of 10 s of each at least, to judge its mean at all"}},
		{new(0.01), 0.1, []string{"verdict: at least ± 0.028 m² on the difference: not judged; ", "a record of 12 s of each at least, to judge its mean at all"}},
		{new(0.01), 0.01, []string{"verdict: at least ± 0.028 m² on the difference: not resolved; ", "a record of 40 s of each, or 8 runs"}},
	} {
		r.AtLeast = c.least
		var b bytes.Buffer
		if err := PlanText(&b, plan.New(c.change, plan.Pilot{DragArea: 2, Record: r})); err != nil {
			t.Fatal(err)
		}
		for _, want := range c.want {
			if s := b.String(); strings.Count(s, "\n") > 12 || !strings.Contains(s, want) {
				t.Errorf("%q is not in\n%s", want, s)
			}
		}
	}
}
