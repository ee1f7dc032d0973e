package main

import (
	"bytes"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
)

// TestTable runs the program on one plane of each kind and reads the table.
func TestTable(t *testing.T) {
	var out, text bytes.Buffer
	if code := run([]string{"--samples", "1e4", "--kinds", strings.Join(kinds, ","), "--rounds", "1", "--python", "none"}, &out, &text); code != 0 {
		t.Fatalf("exit %d\n%s", code, text.String())
	}
	rows := strings.Split(strings.TrimSpace(out.String()), "\n")[2:]
	if len(rows) != len(kinds) {
		t.Fatalf("%d rows:\n%s", len(rows), out.String())
	}
	for i, row := range rows {
		cell := strings.Split(row, " | ")
		n, err := strconv.Atoi(strings.TrimPrefix(cell[0], "| "))
		if err != nil || math.Abs(float64(n)/1e4-1) > 0.05 || cell[1] != kinds[i] {
			t.Errorf("row %q: about 10000 samples of %s are expected", row, kinds[i])
		}
		var peak, bytes float64
		if _, err := fmt.Sscanf(cell[6]+" "+cell[7], "– / %f %f", &peak, &bytes); err != nil || math.Abs(peak*(1<<20)/bytes/float64(n)-1) > 0.05 {
			t.Errorf("row %q: %v, or the memory a sample is not the peak over the samples", row, err)
		}
	}
}

// TestDemo races the demo and the study against themselves.
func TestDemo(t *testing.T) {
	if !gridtest.Large() {
		t.Skip("set WAKELEDGER_LARGE=1 to race the demo and a study, some 30 s")
	}
	program := filepath.Join(t.TempDir(), "wakeledger")
	if out, err := exec.Command("go", "build", "-o", program, "wakeledger/cmd/wakeledger").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var out, text bytes.Buffer
	if code := run([]string{"--kinds", "demo,study", "--rounds", "1", "--program", program, "--against", program}, &out, &text); code != 0 {
		t.Fatalf("exit %d\n%s", code, text.String())
	}
	if rows := strings.Split(strings.TrimSpace(out.String()), "\n"); len(rows) != 4 || !strings.HasPrefix(rows[2], "| – | demo | ") || !strings.HasPrefix(rows[3], "| – | study | ") || strings.Contains(rows[3], "– /") {
		t.Errorf("a row of the demo and one of the study are expected:\n%s", out.String())
	}
}

func TestUsage(t *testing.T) {
	for _, args := range [][]string{{"--samples", "NaN"}, {"--samples", "10"}, {"--kinds", "hexagons"}, {"--rounds", "0"}, {"--no-such"}} {
		var out, text bytes.Buffer
		if code := run(args, &out, &text); code != 2 || out.Len() > 0 || text.Len() == 0 {
			t.Errorf("%q: exit %d, %q, %q", args, code, out.String(), text.String())
		}
	}
}
