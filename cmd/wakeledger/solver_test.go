package main

import (
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/study"
)

// solverDrag is the drag area of the wake in testdata/solver: the integral of
// 2 u/U (1 − u/U) − cp over a half plane is πs²(e(2 − e) + c), with s = 0.6 m, e = 0.3 and
// c = 0.1 (gen.py there).
const solverDrag = math.Pi * 0.36 * (0.3*1.7 + 0.1)

// TestSolverFiles reads a wake as a finite-volume solver writes it: a surface with a
// header that announces a wrong length, cell-centred text, kinematic pressures, a packed
// history of coefficients below a comment header. The drag is the closed form's. Text
// taken as nodes lacks the half cells at the ground, 18 % of it.
func TestSolverFiles(t *testing.T) {
	t.Chdir(filepath.Join("..", "..", "testdata", "solver"))
	for _, file := range []string{"surface.vtp", "surface.xy"} {
		code, out, stderr := call("check", file)
		if code != 0 || !strings.Contains(out, "cells (by file)") {
			t.Errorf("check %s: %d, %s%s", file, code, out, stderr)
		}
		if said := strings.Contains(strings.Join(strings.Fields(out), " "), "header announces 30720 bytes; the 7680 that its counts need are there and were read (file-note)"); said != (file == "surface.vtp") {
			t.Errorf("check %s: %s", file, out)
		}
		// Without a unit p and p_t count as pascals, which they cannot be.
		code, out, stderr = call("measure", file, "--speed", "25", "--density", "1.2", "--pressure", "0")
		if code != 1 || !strings.Contains(stderr, `--column p="p [m2/s2]" --column pt="p_t [m2/s2]"`) {
			t.Errorf("measure %s without units: %d, %s%s", file, code, out, stderr)
		}
		code, out, stderr = call("measure", file, "--speed", "25", "--density", "1.2", "--pressure", "0", "--column", "p=p [m2/s2]", "--column", "pt=p_t [m2/s2]", "--json")
		if code != 0 {
			t.Errorf("measure %s: %d, %s", file, code, stderr)
			continue
		}
		got := decode[measured](t, out)
		if a := got.Surveys[0].Drag.Momentum.DragArea; !(math.Abs(a/solverDrag-1) < 1e-5) {
			t.Errorf("%s: drag area %.7g m2, want %.7g", file, a, solverDrag)
		}
		codes := codes(got.Warnings)
		if !slices.Contains(codes, "kinematic-pressure") || slices.Contains(codes, "file-note") != (file == "surface.vtp") {
			t.Errorf("%s: warnings %q", file, codes)
		}
	}

	dir := t.TempDir()
	done(t, "study", "study.toml", "--out", dir)
	ledger := decode[struct {
		Warnings []wake.Warning
		Forces   []study.ForceCheck
	}](t, read(t, filepath.Join(dir, "ledger.json")))
	if len(ledger.Forces) != 1 {
		t.Fatalf("%+v", ledger.Forces)
	}
	if f := ledger.Forces[0]; !(math.Abs(f.Wake/solverDrag-1) < 1e-5 && math.Abs(f.Force/solverDrag-1) < 1e-6) || f.Verdict != "agree" {
		t.Errorf("beside the force: %+v, want %.7g m2", f, solverDrag)
	}
	if !slices.ContainsFunc(ledger.Warnings, func(w wake.Warning) bool { return w.Code == "force-coefficient" && w.Where == "history.dat.gz" }) {
		t.Errorf("nothing is said of the coefficient's area: %+v", ledger.Warnings)
	}
}
