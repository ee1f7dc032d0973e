//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// manyPlanes writes a study of two configurations at so many stations, with 4096
// samples a plane.
func manyPlanes(t *testing.T, dir string, stations int) {
	t.Helper()
	study := "baseline = \"bare\"\n[reference]\nspeed = 25\ndensity = 1.2\npressure = 0\nfrontal_area = 2.55\n"
	for _, c := range exportCases() {
		study += fmt.Sprintf("[[configuration]]\nname = %q\nsurveys = [\"%s_*.csv\"]\n", c.name, c.name)
		c.pressure, c.mesh = 0, gridtest.LatticePoints(64, 64, grid.Box{Min: grid.Point{X: -1.5}, Max: grid.Point{X: 1.5, Y: 2.4}})
		for _, text := range exportForms["text"](c.name, c.rows(2)) {
			for k := range stations {
				put(t, filepath.Join(dir, fmt.Sprintf("%s_%03d.csv", c.name, k)), strings.ReplaceAll(text, "\n2,", fmt.Sprintf("\n%.2f,", 2+0.1*float64(k))))
			}
		}
	}
	for k := range stations {
		study += fmt.Sprintf("[[station]]\nname = \"station %d\"\nposition = \"%.2f m\"\n", k+1, 2+0.1*float64(k))
	}
	put(t, filepath.Join(dir, "study.toml"), study)
}

// A study of many planes costs as much a plane as one of few, and what it says stays
// readable: the page can be sent, and the text printed is no list of all planes.
func TestManyPlanes(t *testing.T) {
	if os.Getenv("WAKELEDGER_LARGE") != "1" {
		t.Skip("set WAKELEDGER_LARGE=1 to run a study of 200 planes, some two minutes")
	}
	const few, many = 10, 100
	cost := func(stations int) float64 {
		dir := t.TempDir()
		manyPlanes(t, dir, stations)
		cmd, stderr := program("study", filepath.Join(dir, "study.toml"), "--out", filepath.Join(dir, "ledger"))
		var stdout bytes.Buffer
		cmd.Stdout = &stdout
		begin := time.Now()
		if err := cmd.Run(); err != nil {
			t.Fatalf("%v: %s", err, stderr)
		}
		wall := time.Since(begin)
		cpu := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		peak := float64(cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss) / 1024
		page, err := os.Stat(filepath.Join(dir, "ledger", "report.html"))
		must(t, err)
		files, bytes := 0, 0
		for _, s := range contents(t, filepath.Join(dir, "ledger")) {
			files++
			bytes += len(s)
		}
		// Samples, fields, pictures and the page, before a collection: 660 MB were measured of
		// 200 planes.
		if most := 200 + 4*float64(2*stations); peak > most {
			t.Errorf("%.0f MB of memory for %d planes, at most %.0f are expected", peak, 2*stations, most)
		}
		if page.Size() > 25e6 {
			t.Errorf("a page of %d bytes", page.Size())
		}
		lines := strings.Count(stdout.String(), "\n")
		t.Logf("%d planes: %.1f s, processor %.1f s, %.0f MB at most; %d files of %.1f MB, the page %.1f MB; %d lines printed",
			2*stations, wall.Seconds(), cpu.Seconds(), peak, files, float64(bytes)/1e6, float64(page.Size())/1e6, lines)
		if lines > 40+3*stations {
			t.Errorf("%d lines printed", lines)
		}
		return cpu.Seconds() / float64(stations)
	}
	a, b := cost(few), cost(many)
	if b > 1.5*a {
		t.Errorf("a plane of %d costs %.2f s, of %d %.2f s", 2*many, b/2, 2*few, a/2)
	}
}
