package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// exportCase is one of two cases of a solver: a Gaussian wake of width 0.2 m and given depth in a
// stream of 25 m/s and 1.2 kg/m3 with an inlet pressure of its own, on a mesh of its own.
type exportCase struct {
	name            string
	depth, pressure float64 // Pa
	tilt            float64 // of the inlet's pressure, Pa/m2
	mesh            []grid.Point
}

func exportCases() []exportCase {
	window := grid.Box{Min: grid.Point{X: -1.5}, Max: grid.Point{X: 1.5, Y: 2.4}}
	// Twice refined towards the wake, where the cells are a fifth wider than the lattice's.
	level := func(p grid.Point) int {
		r := math.Hypot(p.X-0.1, p.Y-1.2)
		return 2 - min(2, int(r/0.75))
	}
	return []exportCase{
		{"bare", 0.4, 3.1, 0, gridtest.LatticePoints(76, 61, window)},
		{"skirts", 0.35, 5.2, 0.02, gridtest.OctreeNodes(16, 13, window, 2, level)},
	}
}

// rows are the values at points of the plane x: y, z, u, v, w, p.
func (c exportCase) rows(x float64) (out [][7]float64) {
	points := c.mesh
	if x < 0 {
		points = gridtest.LatticePoints(9, 9, grid.Box{Min: grid.Point{X: -2}, Max: grid.Point{X: 2, Y: 4}})
	}
	for _, p := range points {
		u, pressure := 25.0, c.pressure+c.tilt*p.X*(p.Y-2)
		if x > 0 {
			r2 := (p.X-0.1)*(p.X-0.1) + (p.Y-1.2)*(p.Y-1.2)
			u, pressure = 25*(1-c.depth*math.Exp(-r2/0.08)), c.pressure
		}
		out = append(out, [7]float64{x, p.X, p.Y, u, 0, 0, pressure})
	}
	return out
}

// exportForms write a plane as files whose names begin with name.
var exportForms = map[string]func(name string, rows [][7]float64) map[string]string{
	// Rows of text, with the pressure over the density.
	"text": func(name string, rows [][7]float64) map[string]string {
		var s strings.Builder
		s.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [m2/s2]\n")
		for _, r := range rows {
			fmt.Fprintf(&s, "%g,%.12g,%.12g,%.12g,%g,%g,%.12g\n", r[0], r[1], r[2], r[3], r[4], r[5], r[6]/1.2)
		}
		return map[string]string{name + ".csv": s.String()}
	},
	"vtk": func(name string, rows [][7]float64) map[string]string {
		var at, u, p strings.Builder
		for _, r := range rows {
			fmt.Fprintf(&at, "%g %.12g %.12g\n", r[0], r[1], r[2])
			fmt.Fprintf(&u, "%.12g %g %g\n", r[3], r[4], r[5])
			fmt.Fprintf(&p, "%.12g\n", r[6])
		}
		n := len(rows)
		return map[string]string{name + ".vtk": fmt.Sprintf("# vtk DataFile Version 3.0\nplane\nASCII\nDATASET POLYDATA\nPOINTS %d double\n%sPOINT_DATA %d\nVECTORS velocity double\n%sSCALARS p double 1\nLOOKUP_TABLE default\n%s", n, at.String(), n, u.String(), p.String())}
	},
	// Velocity and pressure apart, in a folder for each plane.
	"joined": func(name string, rows [][7]float64) map[string]string {
		var u, p strings.Builder
		u.WriteString("x y z u v w\n")
		p.WriteString("x y z p\n")
		for _, r := range rows {
			fmt.Fprintf(&u, "%g %.12g %.12g %.12g %g %g\n", r[0], r[1], r[2], r[3], r[4], r[5])
			fmt.Fprintf(&p, "%g %.12g %.12g %.12g\n", r[0], r[1], r[2], r[6])
		}
		name = strings.ReplaceAll(name, "_", "/")
		return map[string]string{name + "/U.dat": u.String(), name + "/p.dat": p.String()}
	},
}

// From a folder of exports to a verdict: draft, three values by hand, study. The drags are within
// 0.1 % of the closed form 2π·s²·a·(2−a), their difference within its U of that of the closed
// forms, and each inlet gives the pressure that was put in, uniform or not.
func TestDraftToVerdict(t *testing.T) {
	t.Parallel()
	for form, write := range exportForms {
		t.Run(form, func(t *testing.T) {
			t.Parallel()
			exports := filepath.Join(t.TempDir(), "exports")
			want := map[string]float64{}
			for _, c := range exportCases() {
				want[c.name] = 2 * math.Pi * 0.04 * c.depth * (2 - c.depth)
				for plane, x := range map[string]float64{"inlet": -6, "rear": 2} {
					for file, text := range write(c.name+"_"+plane, c.rows(x)) {
						put(t, filepath.Join(exports, file), text)
					}
				}
			}
			code, stdout, stderr := call("draft", exports)
			if code != exitDone || !strings.Contains(stdout, "Fill in density, then: wakeledger study "+filepath.Join(exports, "study.toml")) {
				t.Fatalf("%d %s%s", code, stdout, stderr)
			}
			name := filepath.Join(exports, "study.toml")
			b := read(t, name)
			text := string(b)
			for _, v := range [][2]string{{`# density = "? kg/m3"`, `density = "1.2 kg/m3"`}, {"# steady = true", "steady = true"}, {`# solution = "? %"`, `solution = "0.01 %"`}} {
				if strings.Count(text, v[0]) != 1 {
					t.Fatalf("the draft has not %s once:\n%s", v[0], text)
				}
				text = strings.Replace(text, v[0], v[1], 1)
			}
			// Few pictures, for speed.
			put(t, name, text+"\n[maps]\nquantities = [\"Cpt\"]\nsize = \"480x300\"\n")
			code, stdout, stderr = call("study", name, "--json", "--out", filepath.Join(exports, "ledger"))
			if code != exitDone {
				t.Fatalf("%s\n%s", stderr, text)
			}
			o := decode[study.Outcome](t, stdout)
			if len(o.Stations) != 1 || len(o.Stations[0].Surveys) != 2 {
				t.Fatalf("%.3000s\n%s", stdout, text)
			}
			s := o.Stations[0]
			for k, c := range exportCases() {
				r := s.Surveys[k].Result
				if got := r.Drag.Momentum.DragArea; s.Name != "rear" || s.Surveys[k].Configuration != c.name || !(math.Abs(got/want[c.name]-1) <= 1e-3) {
					t.Errorf("%s at %s: %g m2, want %g of %s", s.Surveys[k].Configuration, s.Name, got, want[c.name], c.name)
				}
				if got := r.Reference.Pressure; !(math.Abs(got/c.pressure-1) <= 1e-4) {
					t.Errorf("%s: p∞ = %g Pa, want %g", c.name, got, c.pressure)
				}
			}
			if d := s.Comparison.Variants[0].Delta; !(math.Abs(d.DragArea-(want["skirts"]-want["bare"])) <= d.Expanded) || d.Verdict != uncertainty.Resolved {
				t.Errorf("difference %+v, want %g", d, want["skirts"]-want["bare"])
			}
			if form != "text" {
				return
			}
			// One reference for both: no verdict, and why.
			text = regexp.MustCompile("(?m)^reference = .*\n").ReplaceAllString(text, "")
			put(t, name, strings.Replace(text, "[reference]\n", "[reference]\nspeed = 25\npressure = 3.1\n", 1))
			code, stdout, _ = call("study", name, "--out", filepath.Join(exports, "ledger"))
			if flat := strings.Join(strings.Fields(stdout), " "); code != exitDone || !strings.Contains(flat, "not judged; the reference unknown") {
				t.Errorf("%d %s", code, stdout)
			}
		})
	}
}

// A study file that is there stays, a folder without surveys is refused, and nothing else is
// written.
func TestDraftWrites(t *testing.T) {
	t.Chdir(t.TempDir())
	c := exportCases()[0]
	c.mesh = gridtest.LatticePoints(9, 9, grid.Box{Min: grid.Point{X: -1.5}, Max: grid.Point{X: 1.5, Y: 2.4}})
	for name, text := range exportForms["text"]("bare", c.rows(2)) {
		put(t, filepath.Join("exports", name), text)
	}
	put(t, "other/notes.txt", "call back")
	for _, v := range []struct {
		args         string
		code         int
		stdout, file string // what is printed, and the first survey in the file written
	}{
		{"exports", exitDone, "exports/study.toml written", "exports/study.toml bare.csv"},
		{"exports", exitFailed, "exports/study.toml is there already", ""},
		{"exports --force --json", exitDone, `"wakeledger.draft/1"`, "exports/study.toml bare.csv"},
		{"exports --out new --support cells --column p==0", exitDone, "new/study.toml written", "new/study.toml ../exports/bare.csv"},
		{"other", exitFailed, "other: holds no survey that is understood; notes.txt: ", ""},
		{"nowhere", exitFailed, "nowhere: the folder cannot be read: ", ""},
		{"exports other", exitUsage, "draft takes FOLDER alone, 2 given", ""},
	} {
		code, stdout, stderr := call(append([]string{"draft"}, strings.Fields(v.args)...)...)
		if said := filepath.ToSlash(stdout + stderr); code != v.code || !strings.Contains(said, v.stdout) {
			t.Errorf("draft %s: %d %s", v.args, code, said)
		}
		file, survey, _ := strings.Cut(v.file, " ")
		if b, err := os.ReadFile(file); file != "" && !strings.Contains(string(b), fmt.Sprintf("surveys = [%q]", survey)) {
			t.Errorf("draft %s: %v\n%s", v.args, err, b)
		}
	}
	b, _ := os.ReadFile("new/study.toml")
	if text := string(b); !strings.Contains(text, `support = "cells"`) || !strings.Contains(text, `columns = { p = "=0" }`) {
		t.Errorf("flags are not in the draft:\n%s", text)
	}
	if all, err := filepath.Glob("*/*"); err != nil || len(all) != 4 {
		t.Errorf("%q, %v", all, err)
	}
}

// A part that runs into the folder of the whole leaves no older number in a table, and what it
// leaves out and what stays is said.
func TestOnlyIntoTheSameFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, c := range exportCases() {
		c.mesh = gridtest.LatticePoints(31, 25, grid.Box{Min: grid.Point{X: -1.5}, Max: grid.Point{X: 1.5, Y: 2.4}})
		for plane, x := range map[string]float64{"close": 1, "distant": 2} {
			for name, text := range exportForms["text"](c.name+"_"+plane, c.rows(x)) {
				put(t, name, text)
			}
		}
	}
	put(t, "s.toml", `
baseline = "bare"
[reference]
speed = 25
density = 1.2
pressure = 3
[maps]
quantities = ["Cpt"]
size = "480x300"
[[station]]
name = "close"
position = 1
[[station]]
name = "rearward"
position = 2
[[configuration]]
name = "bare"
surveys = ["bare_*.csv"]
[[configuration]]
name = "skirts"
surveys = ["skirts_*.csv"]
`)
	done(t, "study", "s.toml")
	for _, c := range []struct{ only, said, gone string }{
		{"skirts,close", "(part: bare, skirts at close)", "rearward"},
		{"bare", "(part: bare at close, rearward)", "skirts"},
	} {
		code, stdout, stderr := call("study", "s.toml", "--only", c.only)
		if flat := strings.Join(strings.Fields(stdout), " "); code != exitDone || !strings.Contains(flat, c.said) {
			t.Errorf("%s: %d %s%s", c.only, code, stdout, stderr)
		}
		tables, err := filepath.Glob("s-ledger/*.*")
		if err != nil || len(tables) < 6 {
			t.Fatalf("%q, %v", tables, err)
		}
		for _, name := range tables {
			b := read(t, name)
			text := string(b)
			if filepath.Ext(name) == ".json" {
				// It says what was left out.
				if _, text, _ = strings.Cut(text, `"part": {`); text == "" {
					t.Errorf("%s names no part", name)
				}
				_, text, _ = strings.Cut(text, "}")
			}
			if strings.Contains(text, c.gone) {
				t.Errorf("%s: %s still has %s", c.only, name, c.gone)
			}
		}
	}
}
