package report

import (
	"strings"
	"testing"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// TestRunTables: repeats and refinements reach the text in run order, with their
// sentence.
func TestRunTables(t *testing.T) {
	o := &study.Outcome{Baseline: "bare", Stations: []study.StationOutcome{{
		Name: "near", Normal: "x", Position: 2.91,
		Repeats: []study.Repeats{{
			Configuration: "bare", Mean: 2.3, AreaBudget: uncertainty.AreaBudget{Expanded: 0.02}, Text: "three runs, no drift",
			Runs: []study.RepeatRun{{File: "a.csv", DragArea: 2.29}, {File: "b.csv", DragArea: 2.31}, {File: "c.csv", DragArea: 2.30}},
		}},
		Refinements: []study.Refinement{{
			Configuration: "bare", Text: "order 1.9",
			Meshes: []study.RefinedMesh{{File: "fine.csv", Spacing: 0.02, DragArea: 2.30}, {File: "coarse.csv", Spacing: 0.04, DragArea: 2.34}},
		}},
	}}}
	var b strings.Builder
	if err := StudyText(&b, o); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	last := -1
	for _, want := range []string{"Repeats, bare", "a.csv", "−0.01", "b.csv", "+0.01", "c.csv", "three runs, no drift", "Refinement, bare", "20.00", "fine.csv", "coarse.csv", "order 1.9"} {
		at := strings.Index(text, want)
		if at < 0 {
			t.Errorf("%q is missing:\n%s", want, text)
			return
		}
		if want != "20.00" && want != "fine.csv" && at < last {
			t.Errorf("%q stands before what should precede it", want)
		}
		last = at
	}
}
