package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/average"
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

// TestNoDragQuoted takes absolute pressures at --pressure 0, and tubes in a jet, through
// every command: each ends well, quotes no drag, and says what would mend it.
func TestNoDragQuoted(t *testing.T) {
	t.Chdir(t.TempDir())
	write := func(name, head string, row func(g float64) string) {
		var b strings.Builder
		b.WriteString(head + "\n")
		for j := range 25 {
			for i := range 25 {
				y, z := -1.2+0.1*float64(i), 0.1*float64(j)
				fmt.Fprintf(&b, "2.5,%.3f,%.3f,%s\n", y, z, row(math.Exp(-(y*y+(z-1)*(z-1))/0.08)))
			}
		}
		put(t, name, b.String())
	}
	for k, eps := range []float64{0.3, 0.2} {
		write(fmt.Sprintf("absolute%d.csv", k), "x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]", func(g float64) string {
			return fmt.Sprintf("%.4f,0,0,101325", 25*(1-eps*g))
		})
		write(fmt.Sprintf("tubes%d.csv", k), "x [m],y [m],z [m],pt [Pa]", func(g float64) string {
			return fmt.Sprintf("%.4f", 375*math.Pow(1+eps*g, 2))
		})
	}
	for kind, fix := range map[string]string{"absolute": "101325 Pa", "tubes": "negative-drag"} {
		put(t, kind+".toml", fmt.Sprintf("baseline = \"a\"\n[reference]\nspeed = 25\ndensity = 1.2\npressure = 0\nfrontal_area = 2.55\n[[configuration]]\nname = \"a\"\nsurveys = [\"%[1]s0.csv\"]\n[[configuration]]\nname = \"b\"\nsurveys = [\"%[1]s1.csv\"]\n", kind))
		for _, c := range []struct{ args, want, never string }{
			{"measure K0.csv @ --area 2.55 --full", "No total drag: the ", "Drag area [0-9]"},
			{"measure K0.csv @ --area 2.55 --full", fix, "Drag area [0-9]"},
			{"measure K0.csv @ --area 2.55 --json --out K", `"headline": ""`, `"headline": "[a-z]`},
			{"compare K0.csv K1.csv @ --area 2.55 --full", "", "resolved: drag"},
			{"compare K0.csv K1.csv @ --area 2.55 --json", "", `"delta": \{`},
			{"study K.toml --out K-study --json", "", `"headline": "(momentum|jones)"`},
		} {
			code, out, stderr := call(words(strings.ReplaceAll(c.args, "K", kind))...)
			if code != exitDone || !strings.Contains(out+stderr, c.want) || regexp.MustCompile(c.never).MatchString(out) {
				t.Errorf("%s %s: %d, %s%s", kind, c.args, code, out, stderr)
			}
		}
	}
}

// TestStatesApart: snapshots that switch between two pressures are told as two states, and
// averaged by state: the integrals are those of the pressures, −p/q over an area of 6 m².
func TestStatesApart(t *testing.T) {
	t.Parallel()
	const seed, count = 1, 240
	r := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	args := []string{"average", "--speed", "10", "--density", "2", "--pressure", "0", "--support", "nodes", "--json"}
	state := 0
	for k := range count {
		var b strings.Builder
		b.WriteString("x [m],y [m],z [m],u [m/s],p [Pa]\n")
		p := -10 - 10*float64(state) + r.NormFloat64()
		for i := range 12 {
			fmt.Fprintf(&b, "1,%d,%d,10,%.4f\n", i%4, i/4, p)
		}
		name := filepath.Join(dir, fmt.Sprintf("s%03d.csv", k))
		put(t, name, b.String())
		args = append(args, name)
		if r.Float64() < 0.1 {
			state = 1 - state
		}
	}
	for flag, want := range map[string]float64{"": 0, "1": 0.6, "2": 1.2} {
		call1 := args
		if flag != "" {
			call1 = append([]string{"average", "--state", flag}, args[1:]...)
		}
		code, out, stderr := call(call1...)
		got := decode[average.Result](t, out)
		if code != 0 || len(got.Series) != 1 {
			t.Fatal(code, stderr)
		}
		v := got.Series[0]
		told := strings.Contains(out, `"two-states"`)
		if flag == "" {
			if !told || v.States == nil || v.States.Switches < 10 || got.Snapshots != count {
				t.Errorf("the whole record: %+v", got)
			}
			continue
		}
		if told || v.States != nil || !(want-0.03 < v.Mean && v.Mean < want+0.03) || !(50 < got.Snapshots && got.Snapshots < 190) {
			t.Errorf("--state %s: %+v, %g m² is expected", flag, got, want)
		}
	}
	if code, _, stderr := call("average", "--state", "1", filepath.Join(dir, "s000.csv"), filepath.Join(dir, "s001.csv")); code != 2 || !strings.Contains(stderr, "--state 1 without a momentum integral, which tells the states") {
		t.Errorf("--state without a reference: %d %s", code, stderr)
	}
}
