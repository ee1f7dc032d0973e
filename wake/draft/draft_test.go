package draft_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/wake/draft"
	"wakeledger/wake/study"
)

// Contents of files: planes of 6×6 samples at the given places, with a wake and without one; a
// wider window; one quantity alone; a force.
func plane(kind string, places ...float64) string {
	header, width := "x [m],y [m],z [m],u [m/s],p [Pa]", 1.0
	if kind == "wide" {
		width = 3
	}
	if kind == "u" || kind == "p" {
		header = "x [m],y [m],z [m]," + map[string]string{"u": "u [m/s]", "p": "p [Pa]"}[kind]
	}
	s := header + "\n"
	for _, x := range places {
		for i := range 36 {
			y, z := width*(float64(i%6)-2.5), width*float64(i/6)
			u := 20.0
			if kind != "even" {
				u *= 1 - 0.5*math.Exp(-y*y-(z-2)*(z-2))
			}
			switch kind {
			case "u":
				s += fmt.Sprintf("%g,%g,%g,%g\n", x, y, z, u)
			case "p":
				s += fmt.Sprintf("%g,%g,%g,%g\n", x, y, z, 0.1*y)
			default:
				s += fmt.Sprintf("%g,%g,%g,%g,%g\n", x, y, z, u, 0.1*y)
			}
		}
	}
	return s
}

func record(heading string, from float64) string {
	s := "time [s]," + heading + "\n"
	for i := range 40 {
		s += fmt.Sprintf("%g,%d\n", from+0.1*float64(i), 500+i%7)
	}
	return s
}

// What names and contents make of a folder. Each draft is a study file whose files are there.
func TestDraft(t *testing.T) {
	wake, even, wide := plane("wake", 2), plane("even", -5), plane("wide", 2)
	snapshots, alone := map[string]string{"bare_2.csv": wide, "lip_2.csv": wide}, map[string]string{}
	for i := range 10 {
		alone[fmt.Sprintf("t%d.csv", i)] = wake
		snapshots[fmt.Sprintf("snapshots/bare_%03d.csv", i)] = wake
		snapshots[fmt.Sprintf("snapshots/lip_%03d.csv", i)] = wake
	}
	for _, c := range []struct {
		name  string
		files map[string]string
		want  string
	}{
		{"a folder for each", map[string]string{"bare/plane_1.csv": plane("wake", 1), "bare/plane_2.csv": wake, "lip/plane_1.csv": plane("wake", 1), "lip/plane_2.csv": wake},
			"bare: bare/plane_1.csv bare/plane_2.csv; lip: lip/plane_1.csv lip/plane_2.csv; at x = 1 m, x = 2 m; left density speed pressure"},
		{"one alone", map[string]string{"near.csv": plane("wake", 1), "far.csv": wake}, "exports: far.csv near.csv; at near, far; left density speed pressure"},
		{"words added to none", map[string]string{"near.csv": plane("wake", 1), "far.csv": wake, "long-lip_near.csv": plane("wake", 1), "long-lip_far.csv": wake},
			"base: far.csv near.csv; long lip: long-lip_far.csv long-lip_near.csv; at near, far; left density speed pressure"},
		{"several planes in a file", map[string]string{"bare.csv": plane("wake", 1, 2), "lip.csv": plane("wake", 1.01, 2)}, "bare: bare.csv; lip: lip.csv; at x = 1 m, x = 2 m; left density speed pressure"},
		{"runs by a word", map[string]string{"bare_run1_rear.csv": wake, "bare_run2_rear.csv": wake, "lip_rear.csv": wake},
			"bare: bare_run1_rear.csv repeats bare_run2_rear.csv; lip: lip_rear.csv; at rear; left density speed pressure"},
		{"runs by a number", map[string]string{"bare_rear.csv": wake, "bare2_rear.csv": wake, "bare2_inlet.csv": even, "v1_rear.csv": wake, "v2_rear.csv": wake},
			"bare: bare_rear.csv repeats bare2_rear.csv note bare2 is taken; v1: v1_rear.csv; v2: v2_rear.csv; at rear; left density speed pressure"},
		{"inlets of their own", map[string]string{"a_inlet.csv": even, "a_rear.csv": wake, "b_inlet.csv": plane("even", -6), "b_rear.csv": wake},
			"a: a_rear.csv from a_inlet.csv; b: b_rear.csv from b_inlet.csv; at rear; left density"},
		{"one inlet", map[string]string{"inlet.csv": even, "a_rear.csv": wake, "b_rear.csv": wake}, "a: a_rear.csv; b: b_rear.csv; at rear; all from inlet.csv; left density"},
		{"an inlet without u", map[string]string{"inlet.csv": plane("p", -5), "a_rear.csv": wake, "b_rear.csv": wake}, "a: a_rear.csv; b: b_rear.csv; at rear; all from inlet.csv; left density speed"},
		{"no inlet, but a wake upstream", map[string]string{"a_1.csv": plane("wake", -5), "a_2.csv": wake}, "exports: a_1.csv a_2.csv; at x = -5 m, x = 2 m; left density speed pressure"},
		{"quantities apart", map[string]string{"a/rear.U": plane("u", 2), "a/rear.p": plane("p", 2), "b/rear.U": plane("u", 2), "b/rear.p": plane("p", 2)},
			"a: a/rear.U+rear.p; b: b/rear.U+rear.p; at rear; left density speed pressure"},
		{"windows at one place", map[string]string{"a_2.csv": wake, "a_2_whole.csv": wide, "b_2.csv": wake, "b_2_whole.csv": wide},
			"a: a_2.csv a_2_whole.csv; b: b_2.csv b_2_whole.csv; at x = 2 m of *_2.csv, whole of *_2_whole.csv; left density speed pressure"},
		{"windows of one alone", map[string]string{"rear.csv": wake, "rear_whole.csv": wide},
			"exports: rear.csv rear_whole.csv; at x = 2 m of rear.csv, whole of rear_whole.csv; left density speed pressure"},
		{"each with a window of its own", map[string]string{"bare.csv": wake, "lip.csv": wide}, "bare: bare.csv; lip: lip.csv; at x = 2 m; left density speed pressure"},
		{"snapshots", snapshots, "bare: bare_2.csv snapshots snapshots/bare_*.csv note 10 files; lip: lip_2.csv snapshots snapshots/lip_*.csv note 10 files; " +
			"at x = 2 m of *_2.csv, snapshots of *_[*].csv; left density speed pressure"},
		{"snapshots alone", alone, "exports: snapshots t*.csv note 10 files; at x = 2 m; left density speed pressure"},
		{"two files for one thing", map[string]string{"a_rear.csv": wake, "a_rear.txt": wake, "b_rear.csv": wake},
			"a: a_rear.csv note two files are a at x = 2 m: a_rear.txt; b: b_rear.csv; at rear; left density speed pressure"},
		{"records", map[string]string{"a_rear.csv": wake, "b_rear.csv": wake, "B/force.dat": record("drag [N]", 0), "B/2/force.dat": record("drag [N]", 2), "force.dat": record("drag [N]", 0)},
			"a: a_rear.csv; b: b_rear.csv force B/2/force.dat B/force.dat; at rear; unused force.dat; left density speed pressure"},
		{"records of further runs", map[string]string{"a_rear.csv": wake, "a2_rear.csv": wake, "b_rear.csv": wake, "b2_rear.csv": wake, "a_force.csv": record("drag [N]", 0), "a2_force.csv": record("drag [N]", 0), "a2_force2.csv": record("drag [N]", 2), "b2_force.csv": record("drag [N]", 0)},
			"a: a_rear.csv repeats a2_rear.csv force a_force.csv and a2_force.csv note a2 is taken; b: b_rear.csv repeats b2_rear.csv note b2 is taken; at rear; unused a2_force2.csv b2_force.csv; left density speed pressure"},
		{"names of all kinds", map[string]string{"a[1]_\"rear\".csv": wake, "é b_rear.csv": wake, "notes.txt": "call back", "p.csv": plane("p", 3)},
			"a[1] \"rear\": a[1]_\"rear\".csv; é b rear: é b_rear.csv; at x = 2 m; unused notes.txt p.csv; left density speed pressure"},
		{"folders of times", map[string]string{"a/1000/rear.csv": wake, "b/1200/rear.csv": wake, "a/forces/0/f.dat": record("drag [N]", 0)},
			"a: a/1000/rear.csv force a/forces/0/f.dat; b: b/1200/rear.csv; at rear; left density speed pressure"},
		{"a view from above", map[string]string{"a_top.csv": strings.Replace(wake, "x [m],y [m],z [m]", "z [m],y [m],x [m]", 1), "a_rear.csv": wake}, "exports: a_rear.csv a_top.csv; at rear, top; left density speed pressure"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "exports [1]") // no wildcard
			for name, text := range c.files {
				path := filepath.Join(dir, filepath.FromSlash(name))
				if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			files, err := draft.Files(dir)
			if err != nil {
				t.Fatal(err)
			}
			d, err := draft.Look(t.Context(), dir, "exports\a", files, draft.Options{}, func() {})
			if err != nil {
				t.Fatal(err)
			}
			if got := summary(d); got != c.want {
				t.Errorf("%s\nwant\n%s\n%s", got, c.want, d.Text)
			}
			cfg, err := study.Parse("study.toml", []byte(d.Text))
			if err == nil {
				err = cfg.Expand(dir)
			}
			if err != nil {
				t.Errorf("%v\n%s", err, d.Text)
			}
		})
	}
}

func summary(d *draft.Draft) string {
	var out []string
	list := func(what string, names []string) string {
		if len(names) == 0 {
			return ""
		}
		return " " + what + strings.Join(names, " ")
	}
	for _, c := range d.Configurations {
		s := c.Name + ":" + list("", c.Surveys) + list("repeats ", c.Repeats)
		if c.Snapshots != "" {
			s += " snapshots " + c.Snapshots
		}
		if c.Inlet != "" {
			s += " from " + c.Inlet
		}
		s += list("force ", c.Records)
		s += list("and ", c.ForceRepeats)
		for _, w := range d.Warnings {
			if w.Where == c.Name {
				n, _, _ := strings.Cut(w.Text, " as another")
				n, _, _ = strings.Cut(n, " is left out")
				n, _, _ = strings.Cut(n, " are taken")
				s += " note " + n
			}
		}
		out = append(out, s)
	}
	var at, unused []string
	for _, s := range d.Stations {
		if s.Files != "" {
			s.Name += " of " + s.Files
		}
		at = append(at, s.Name)
	}
	out = append(out, "at "+strings.Join(at, ", "))
	if d.Inlet != "" {
		out = append(out, "all from "+d.Inlet)
	}
	for _, w := range d.Warnings {
		if w.Code == "not-used" {
			unused = append(unused, w.Where)
		}
	}
	if len(unused) > 0 {
		out = append(out, strings.TrimSpace(list("unused ", unused)))
	}
	return strings.Join(append(out, strings.TrimSpace(list("left ", d.Left))), "; ")
}
