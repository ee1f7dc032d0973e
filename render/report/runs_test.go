package report

import (
	"io"
	"strings"
	"testing"

	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// TestRunTables: repeats and refinements reach the text in run order, with what they come to.
func TestRunTables(t *testing.T) {
	o := &study.Outcome{Baseline: "bare", Stations: []study.StationOutcome{{
		Name: "near", Normal: "x", Position: 2.91,
		Repeats: []study.Repeats{{
			Configuration: "bare", Mean: 2.3, AreaBudget: uncertainty.AreaBudget{Expanded: 0.02}, SD: 0.01,
			Runs: []study.RepeatRun{{File: "a.csv", DragArea: 2.29}, {File: "b.csv", DragArea: 2.31}, {File: "c.csv", DragArea: 2.30}},
		}},
		Refinements: []study.Refinement{{
			Configuration: "bare", Convergence: &uncertainty.GridConvergence{Extrapolated: 2.28, Used: 1.9, Factor: 3, Index: ptr(0.35), Standard: 0.004, Fallback: "no order", Doubt: "close"},
			Meshes: []study.RefinedMesh{{File: "fine.csv", Spacing: 0.02, DragArea: 2.30}, {File: "coarse.csv", Spacing: 0.04, DragArea: 2.34}},
		}},
	}}}
	text := write(t, func(w io.Writer) error { return StudyText(w, o) })
	for _, want := range []string{"Repeats, bare", "1    a.csv      2.290         −0.010", "2    b.csv      2.310         +0.010", "3    c.csv", "mean       2.300        ± 0.020", "Refinement, bare", "20.00", "coarse.csv", "extrapolated to zero spacing (order 1.90, GCI 0.35 %)", "2.2800 ± 0.0080", "  no order\n", "  close\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing:\n%s", want, text)
		}
	}
}
