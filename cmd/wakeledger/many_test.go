//go:build unix

package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// manyPlanes writes a study of two configurations at so many stations, with 4096
// samples a plane: a wake that spreads downstream as far wakes do, with its drag
// unchanged, and a trailing pair of vortices. The variant's wake has 3 % less drag and
// lies 10 mm further to the right.
func manyPlanes(t *testing.T, dir string, stations int) {
	t.Helper()
	var study strings.Builder
	study.WriteString("title = \"many planes\"\nbaseline = \"bare\"\n[reference]\nspeed = 25\ndensity = 1.2\npressure = 0\nfrontal_area = 2.55\n")
	for k := range stations {
		fmt.Fprintf(&study, "[[station]]\nname = \"station %d\"\nposition = \"%.2f m\"\n", k+1, 2+0.1*float64(k))
	}
	for c, name := range []string{"bare", "fairing"} {
		fmt.Fprintf(&study, "[[configuration]]\nname = %q\nsurveys = [", name)
		for k := range stations {
			x := 2 + 0.1*float64(k)
			s := 0.3 * math.Pow(x/2, 1.0/3)
			depth := 0.3 * 0.09 / (s * s) * (1 - 0.03*float64(c))
			at := 0.01 * float64(c)
			b := []byte("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
			for j := range 64 {
				for i := range 64 {
					y, z := -3+6*float64(i)/63, 3.5*float64(j)/63
					r := (y-at)*(y-at) + (z-0.8)*(z-0.8)
					g := math.Exp(-r / (2 * s * s))
					row := []float64{x, y, z, 25 * (1 - depth*g), -2 * (z - 0.8) * g, 2 * (y - at) * g, -4 * depth * g}
					for q, v := range row {
						if q > 0 {
							b = append(b, ',')
						}
						b = strconv.AppendFloat(b, v, 'g', 7, 64)
					}
					b = append(b, '\n')
				}
			}
			file := fmt.Sprintf("%s_%03d.csv", name, k)
			put(t, filepath.Join(dir, file), string(b))
			fmt.Fprintf(&study, "%q, ", file)
		}
		study.WriteString("]\n")
	}
	put(t, filepath.Join(dir, "study.toml"), study.String())
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
		cmd, stderr := program(t, "study", filepath.Join(dir, "study.toml"), "--out", filepath.Join(dir, "ledger"))
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
