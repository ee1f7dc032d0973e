// Package average_test runs the scripts of this folder as a user would.
package average_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
)

// scene builds the program and writes n snapshots and their list into a folder
// whose name has a blank.
func scene(t *testing.T, n int) (dir string, env []string, files []string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "a shuttle")
	bin := filepath.Join(dir, "bin")
	if out, err := exec.Command("go", "build", "-o", filepath.Join(bin, "wakeledger"), "wakeledger/cmd/wakeledger").CombinedOutput(); err != nil {
		t.Fatalf("building: %v\n%s", err, out)
	}
	for k := range n {
		var b bytes.Buffer
		b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
		for j := range 6 {
			for i := range 7 {
				y, z := float64(i)*0.1, float64(j)*0.1
				u := 20 + 3*math.Sin(float64(k)+5*y) + z
				fmt.Fprintf(&b, "1.5,%g,%g,%.4f,%.4f,%.4f,%.3f\n", y, z, u, math.Cos(float64(k)), y*z, -u)
			}
		}
		name := filepath.Join(dir, fmt.Sprintf("bare_%03d.csv", k))
		if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, name)
	}
	if err := os.WriteFile(filepath.Join(dir, "list.txt"), []byte(strings.Join(files, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir, append(os.Environ(), "PATH="+bin+string(os.PathListSeparator)+os.Getenv("PATH"), "HOME="+dir), files
}

var flags = []string{"--speed", "25", "--density", "1.2", "--pressure", "0", "--time-step", "29.1 ms"}

// run runs a command in the folder of the scripts.
func run(t *testing.T, env []string, name string, args ...string) {
	t.Helper()
	c := exec.Command(name, args...)
	c.Env = env
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
}

// same compares the files of two result folders.
func same(t *testing.T, a, b string) {
	t.Helper()
	for _, f := range []string{"mean.csv", "series.csv", "average.json", "average.txt"} {
		x, err := os.ReadFile(filepath.Join(a, f))
		if err != nil {
			t.Fatal(err)
		}
		y, err := os.ReadFile(filepath.Join(b, f))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(x, y) {
			t.Errorf("%s differs between one call and the parts", f)
		}
	}
}

// TestParallel: parts by GNU parallel give the bytes of one call.
func TestParallel(t *testing.T) {
	gridtest.Tool(t, "bash")
	gridtest.Tool(t, "parallel")
	dir, env, files := scene(t, 13)
	run(t, env, filepath.Join(dir, "bin", "wakeledger"), append(append([]string{"average", "--out", filepath.Join(dir, "one")}, flags...), files...)...)
	run(t, env, "./parallel.sh", append([]string{filepath.Join(dir, "list.txt"), filepath.Join(dir, "split"), "4"}, flags...)...)
	same(t, filepath.Join(dir, "one"), filepath.Join(dir, "split", "mean"))
	// More parts than snapshots: the empty ones are left out, and states of an
	// earlier run do not stay.
	run(t, env, "./parallel.sh", append([]string{filepath.Join(dir, "list.txt"), filepath.Join(dir, "split"), "20"}, flags...)...)
	same(t, filepath.Join(dir, "one"), filepath.Join(dir, "split", "mean"))
	if parts, _ := filepath.Glob(filepath.Join(dir, "split", "parts", "*", "mean.state")); len(parts) != 13 {
		t.Errorf("%d states of 13 snapshots in 20 parts", len(parts))
	}
}

// TestArray runs the tasks of the job array one after the other, with what the
// scheduler sets.
func TestArray(t *testing.T) {
	gridtest.Tool(t, "bash")
	dir, env, files := scene(t, 11)
	wl := filepath.Join(dir, "bin", "wakeledger")
	run(t, env, wl, append(append([]string{"average", "--out", filepath.Join(dir, "one")}, flags...), files...)...)
	parts := filepath.Join(dir, "parts")
	for _, task := range []int{7, 5, 6} {
		e := append(env, fmt.Sprintf("SLURM_ARRAY_TASK_ID=%d", task), "SLURM_ARRAY_TASK_MIN=5", "SLURM_ARRAY_TASK_COUNT=3")
		run(t, e, "./slurm.sh", append([]string{filepath.Join(dir, "list.txt"), parts}, flags...)...)
	}
	states, _ := filepath.Glob(filepath.Join(parts, "part-*", "mean.state"))
	if len(states) != 3 {
		t.Fatalf("%d states of 3 tasks", len(states))
	}
	run(t, env, wl, "merge", states[2], states[0], states[1], "--out", filepath.Join(dir, "merged"))
	same(t, filepath.Join(dir, "one"), filepath.Join(dir, "merged"))
}
