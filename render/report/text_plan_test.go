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
	var b bytes.Buffer
	if err := PlanText(&b, plan.New(0.1, plan.Pilot{DragArea: 2, Record: r})); err != nil {
		t.Fatal(err)
	}
	if s := b.String(); strings.Count(s, "\n") > 12 || !strings.Contains(s, "a record of 10 s of each at least, to judge its mean at all") || !strings.Contains(s, "not judged") {
		t.Error(s)
	}
}
