//go:build unix

package delaunay

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"runtime/debug"
	"slices"
	"syscall"
	"testing"
	"time"

	"wakeledger/grid/gridtest"
)

// timed triangulates points from standard input with scipy and prints the seconds
// that this takes alone, by the clock and of the processor, and the triangles.
const timed = `
import sys, time, numpy as np
from scipy.spatial import Delaunay
p = np.frombuffer(sys.stdin.buffer.read(), '<f8').reshape(-1, 2).copy()
t, c = time.perf_counter(), time.process_time()
n = len(Delaunay(p).simplices)
print(time.perf_counter() - t, time.process_time() - c, n)
`

// TestSpeedTable sets the triangulation's time against scipy's on planes of a
// million samples, in five rounds of one after the other, and prints the medians.
// Memory is given back before each round, so that both start with fresh pages. It
// holds that both have the same number of triangles where these are unique; times
// depend on the machine and are only shown.
func TestSpeedTable(t *testing.T) {
	if os.Getenv("WAKELEDGER_LARGE") == "" {
		t.Skip("set WAKELEDGER_LARGE=1 to time planes of a million samples, some three minutes")
	}
	python := gridtest.Python(t, "scipy.spatial", "python3-scipy")
	const rounds = 5
	for _, kind := range []string{"scatter", "octree"} {
		p := gridtest.Rounded(gridtest.SurveyPoints(kind, 1_000_000, 1), 7)
		var in []byte
		for _, q := range p {
			in = append(in, floats(q.X, q.Y)...)
		}
		var wall, cpu, theirWall, theirCPU []float64
		for range rounds {
			cmd := exec.Command(python, "-c", timed)
			cmd.Stdin = bytes.NewReader(in)
			out, err := cmd.Output()
			if err != nil {
				t.Fatal(err)
			}
			var w, c float64
			var n int
			if _, err := fmt.Sscan(string(out), &w, &c, &n); err != nil {
				t.Fatalf("unexpected answer %q: %v", out, err)
			}
			theirWall, theirCPU = append(theirWall, w), append(theirCPU, c)

			debug.FreeOSMemory()
			begin, used := time.Now(), processorTime()
			tr, err := Triangulate(p)
			wall, cpu = append(wall, time.Since(begin).Seconds()), append(cpu, processorTime()-used)
			if err != nil {
				t.Fatal(err)
			}
			if kind == "scatter" && n != len(tr.Triangles)/3 {
				t.Fatalf("%d triangles, the reference has %d", len(tr.Triangles)/3, n)
			}
		}
		for _, s := range [][]float64{wall, cpu, theirWall, theirCPU} {
			slices.Sort(s)
		}
		m := rounds / 2
		t.Logf("%-8s n=%d  here %.3f s, %.3f s of processor; scipy %.2f s, %.2f s; ratio %.1f, %.1f",
			kind, len(p), wall[m], cpu[m], theirWall[m], theirCPU[m], theirWall[m]/wall[m], theirCPU[m]/cpu[m])
	}
}

// processorTime is the user and system time of the process, in seconds.
func processorTime() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return math.NaN()
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}
