package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"wakeledger/wake/study"
)

// ownExport is a plane as a solver may write it: a line above the header, semicolons,
// decimal commas, mm, and names that say nothing. Its pressure is that of the free
// stream, and its one wake is a Gaussian of the given depth and of width 0.2 m.
func ownExport(depth float64) string {
	var b strings.Builder
	b.WriteString("Plane \"rear\" of 14 October\n\"Node\";\"Xpos [mm]\";\"Ypos [mm]\";\"Zpos [mm]\";\"Vel_ax [m/s]\";\"Vel_lat [m/s]\";\"Vel_vert [m/s]\";\"Press_static [Pa]\"\n")
	n := 0
	for j := range 49 {
		for i := range 49 {
			n++
			y, z := -1.2+0.05*float64(i), 0.05*float64(j)
			u := 25 * (1 - depth*math.Exp(-(y*y+(z-1.2)*(z-1.2))/(2*0.2*0.2)))
			// A cross-flow that varies, too small to count.
			row := fmt.Sprintf("%d;2000.0;%.1f;%.1f;%.6f;%.6f;%.6f;%.1f", n, 1e3*y, 1e3*z, u, 1e-4*y, 1e-4*z, 1e-3*float64(n%2))
			b.WriteString(strings.ReplaceAll(row, ".", ",") + "\n")
		}
	}
	return b.String()
}

// The path from an export that the program does not know to a page, as the README tells
// it: check asks for the columns and says which it does not use, and the README's study
// gives the drag areas 2π·s²·a·(2−a) of the two wakes.
func TestOwnPlanes(t *testing.T) {
	readme := read(t, filepath.Join("..", "..", "README.md"))
	block := regexp.MustCompile("(?s)`own.toml`:\n```toml\n(.*?)```").FindStringSubmatch(readme)
	if block == nil {
		t.Fatal("the README has no own.toml")
	}
	t.Chdir(t.TempDir())
	depth := map[string]float64{"bare": 0.4, "fairing": 0.3}
	for name, a := range depth {
		put(t, name+".csv", ownExport(a))
	}
	put(t, "own.toml", block[1])
	code, _, stderr := call("check", "bare.csv")
	if want := `wakeledger: bare.csv:2: no column is understood as x, y, z; the columns are "Node", "Xpos [mm]"`; code != exitFailed || !strings.HasPrefix(stderr, want) {
		t.Errorf("%d %s", code, stderr)
	}
	places := []string{"check", "bare.csv", "--column", "x=Xpos [m]", "--column", "y=Ypos", "--column", "z=Zpos"}
	code, stdout, stderr := call(places...)
	flat := strings.Join(strings.Fields(stdout), " ")
	for _, want := range []string{
		"Columns that were not used: Node, Vel_ax [m/s], Vel_lat [m/s], Vel_vert [m/s].",
		"No column was understood as u, the velocity along x, or as a total pressure",
		`bare.csv: column "Xpos [mm]" is taken in m, as the flag says (unit-overridden)`,
	} {
		if code != exitDone || !strings.Contains(flat, want) {
			t.Errorf("%d without %q:\n%s%s", code, want, stdout, stderr)
		}
	}
	stdout = done(t, "study", "own.toml", "--out", "ledger", "--json")
	if _, err := os.Stat(filepath.Join("ledger", "report.html")); err != nil {
		t.Error(err)
	}
	for _, v := range decode[study.Outcome](t, stdout).Stations[0].Surveys {
		a := depth[v.Configuration]
		want := 2 * math.Pi * 0.04 * a * (2 - a)
		if got := v.Result.Drag.Momentum.DragArea; a == 0 || !(math.Abs(got-want) <= 1e-3*want) {
			t.Errorf("%s: drag area %g m2, want %g", v.Configuration, got, want)
		}
	}
	// Without the columns the study says where they are written.
	put(t, "own.toml", regexp.MustCompile("columns = .*").ReplaceAllString(block[1], ""))
	if code, _, stderr = call("study", "own.toml"); code != exitFailed || !strings.Contains(stderr, "under [measure]") {
		t.Errorf("%d %s", code, stderr)
	}
}
