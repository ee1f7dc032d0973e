package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestMemoryShort: a run whose memory is limited below what its plane needs ends with one
// line that says so, exit code 1 and nothing written.
func TestMemoryShort(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file, out := filepath.Join(dir, "plane.csv"), filepath.Join(dir, "out")
	var b bytes.Buffer
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for i := range 300_000 {
		// The golden section fills a square evenly without any lines.
		y := float64(i) * 0.7548776662466927
		z := float64(i) * 0.5698402909980532
		fmt.Fprintf(&b, "2.9,%.6f,%.6f,%d,0,0,%d\n", y-float64(int(y)), z-float64(int(z)), 24+i%2, i%3)
	}
	put(t, file, b.String())
	cmd := exec.Command("wakeledger", "measure", file, "--speed", "25", "--density", "1.2", "--pressure", "0", "--out", out)
	cmd.Env = append(os.Environ(), "GOMEMLIMIT=40MiB")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	err := cmd.Run()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 || strings.Count(stderr.String(), "\n") != 1 || !strings.Contains(stderr.String(), "not enough memory") {
		t.Errorf("%v: %.500s", err, stderr.String())
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("the folder was written")
	}
}
