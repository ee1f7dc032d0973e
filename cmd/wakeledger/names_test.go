package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/study"
)

func TestShortNames(t *testing.T) {
	for _, c := range []struct{ files, want string }{
		{"a/plane.csv b/plane.csv", "a/plane b/plane"},
		{"run1/x/plane.csv run2/x/plane.csv run1/y.csv.gz", "run1/x/plane run2/x/plane y"},
		{"plane.csv a/plane.csv", "plane a/plane"},
		{"a/plane.csv ./a/plane.csv bare.csv", "plane plane_(2) bare"},
		{"a/u.csv+a/p.csv b/u.csv+b/p.csv", "a/u+a/p b/u+b/p"},
		{"two.csv#1 two.csv#2 b/two.csv#1", "two_1 two_2 b/two_1"},
		{"plane.csv plane.txt", "plane plane_(2)"},
	} {
		var list []study.Named
		for _, f := range strings.Fields(c.files) {
			f, part, ok := strings.Cut(f, "#")
			if ok {
				part = "_" + part
			}
			list = append(list, study.Named{Files: strings.Split(f, "+"), Part: part})
		}
		var got []string
		for _, n := range study.ShortNames(list) {
			got = append(got, strings.ReplaceAll(n, " ", "_"))
		}
		if !slices.Equal(got, strings.Fields(c.want)) {
			t.Errorf("%s: %q, %s is expected", c.files, got, c.want)
		}
	}
}

// Files of one name in two folders, whole or joined from two, are told apart in titles, tables, pictures
// and their names, and each row has its own numbers.
func TestEqualNames(t *testing.T) {
	plane := read(t, sound(t, "plane.csv"))
	t.Chdir(t.TempDir())
	for _, dir := range []string{"a", "b"} {
		must(t, os.Mkdir(dir, 0o755))
		put(t, filepath.Join(dir, "plane.csv"), plane)
	}
	ref := []string{"--speed", "25", "--density", "1.2", "--pressure", "0", "--size", "480x300", "--map", "u/U", "--out"}
	_, stdout, stderr := call(append([]string{"compare", "a/plane.csv", "b/plane.csv"}, append(ref, "compared")...)...)
	out := contents(t, "compared")
	if csv := string(out["compare.csv"]); !strings.HasPrefix(stdout, "Against a/plane, ") || !strings.Contains(csv, ",a/plane,total,,a/plane.csv,") || !strings.Contains(csv, ",b/plane,total,,b/plane.csv,") {
		t.Errorf("%s%.80s\n%.300s", stderr, stdout, csv)
	}
	call(append([]string{"measure", "a/plane.csv", "b/plane.csv"}, append(ref, "measured")...)...)
	out = contents(t, "measured")
	for _, dir := range []string{"a", "b"} {
		if png := string(out[dir+"-plane_u-over-u.png"]); !strings.Contains(png, dir+"/plane, plane x = ") {
			t.Errorf("no picture of %s/plane.csv among %d files, or not in its title", dir, len(out))
		}
	}
}
