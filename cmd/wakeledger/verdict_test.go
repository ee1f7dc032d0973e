package main

import (
	"bufio"
	"cmp"
	"compress/gzip"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// plane is a survey of the second shuttle computation; of a whole section, whose rows have 288
// samples, every second one each way.
func plane(t *testing.T, name string) string {
	t.Helper()
	file := waketest.Shared(t, "shuttle2", name+".csv.gz")
	if !strings.HasSuffix(name, "_whole") {
		return file
	}
	f, err := os.Open(file)
	must(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	must(t, err)
	var b strings.Builder
	s := bufio.NewScanner(z)
	for i := -1; s.Scan(); i++ {
		if i < 0 || i%288%2 == 0 && i/288%2 == 0 {
			b.WriteString(s.Text() + "\n")
		}
	}
	thin := filepath.Join(t.TempDir(), name+".csv")
	put(t, thin, b.String())
	return thin
}

// judged compares planes with nothing stated but the reference, and gives the JSON of the
// variants, and the text in one line.
func judged(t *testing.T, planes []string, flags ...string) ([]map[string]any, string) {
	t.Helper()
	args := []string{"compare"}
	for _, name := range planes {
		args = append(args, plane(t, name))
	}
	out := t.TempDir()
	args = append(args, "--speed", "25", "--density", "1.2", "--pressure", "0", "--area", "2.58", "--full", "--json", "--map", "none", "--out", out)
	stdout := done(t, append(args, flags...)...)
	doc := decode[struct {
		Variants []map[string]any `json:"variants"`
	}](t, stdout)
	return doc.Variants, strings.Join(strings.Fields(read(t, filepath.Join(out, "compare.txt"))), " ")
}

// each calls f for every object of a JSON value, with where it is.
func each(at string, v any, f func(at string, o map[string]any)) {
	switch v := v.(type) {
	case map[string]any:
		f(at, v)
		for k, x := range v {
			each(at+"."+k, x, f)
		}
	case []any:
		for i, x := range v {
			each(fmt.Sprintf("%s[%d]", at, i), x, f)
		}
	}
}

// Two runs of one and the same body: of drag, centroid, areas, regions and parts nothing is
// resolved when the planes are all that is known, and the margin is told. Each item of each
// budget has its category.
func TestSameBodyTwice(t *testing.T) {
	t.Parallel()
	for _, station := range []string{"x+2.91_whole", "x-0.62", "x+0.62"} {
		v, text := judged(t, []string{"bare_" + station, "bare2_" + station}, "--region", "right wheel:0.66,1.8,0,1", "--region", "left wheel:-1.8,-0.66,0,1")
		open, seen := 0, 0
		each("", v[0], func(at string, o map[string]any) {
			if verdict, ok := o["verdict"].(string); ok {
				seen++
				switch verdict {
				case uncertainty.Resolved:
					t.Errorf("%s%s is resolved", station, at)
				case uncertainty.NotJudged:
					if strings.Contains(at, "sentences") {
						break
					}
					open++
					missing := fmt.Sprint(o["missing"])
					if m, _ := o["margin"].(float64); !(m > 0) || missing != "[time average run to run]" && missing != "[sampling time average run to run]" {
						t.Errorf("%s%s: margin %v, missing %s", station, at, o["margin"], missing)
					}
				}
			}
			if items, ok := o["items"].([]any); ok {
				for _, it := range items {
					if c := it.(map[string]any)["category"]; !slices.Contains(uncertainty.Categories, uncertainty.Category(c.(string))) {
						t.Errorf("%s%s: an item without a category: %v", station, at, it)
					}
				}
			}
		})
		if seen < 10 || open == 0 || !strings.Contains(text, "not judged; time averaging and run-to-run scatter unknown; resolved if together below u = ") ||
			!strings.Contains(text, "To settle what is not judged: a second run of any configuration") {
			t.Errorf("%s: %d verdicts, %d not judged: %.400s", station, seen, open, text)
		}
	}
}

// A real change is not judged either as long as the planes are all that is known; its margin
// is 1.5 % of the drag.
func TestRealChangeIsNotJudged(t *testing.T) {
	t.Parallel()
	v, text := judged(t, []string{"bare_x+2.91_whole", "fairing_x+2.91_whole"})
	d := v[0]["delta"].(map[string]any)
	drag := 100 * d["drag_area_m2"].(float64) / d["percent"].(float64)
	if part := 100 * d["margin"].(float64) / drag; d["verdict"] != uncertainty.NotJudged || !(1.3 < part && part < 1.7) {
		t.Errorf("%v, margin %.2f %% of the drag", d["verdict"], part)
	}
	if !strings.Contains(text, "−0.063 m² (−24.3 counts of 0.001, −3.0 %): not judged; time averaging and run-to-run scatter unknown; resolved if together below u = 0.031 m² (1.5 % of the drag)") {
		t.Errorf("%.600s", text)
	}
}

// With another run of the baseline, or with the forces' records, the same change is resolved, and
// a change that is no larger than what another run changes is not, with what would tell. A force that
// says otherwise is told beside the verdict.
func TestWhatDecides(t *testing.T) {
	t.Parallel()
	type variant struct{ name, want, would string }
	for _, c := range []struct {
		by       string
		variants []variant
	}{
		{"repeat", []variant{
			{"fairing", uncertainty.Resolved, ""},
			{"lip", uncertainty.NotResolved, "the means of 2 runs of each would resolve it"},
		}},
		{"force", []variant{
			{"fairing", uncertainty.Resolved, ""},
			{"lip", uncertainty.NotResolved, "times as long would resolve it"},
			{"bare2", uncertainty.NotResolved, "mostly by time averaging"},
		}},
		{"lip", []variant{{"fairing", uncertainty.Resolved, "resolved; but the force of the same runs says +0.011 m²"}}},
	} {
		planes, forces := []string{"bare_x+2.91_whole"}, []string{"--force", waketest.Shared(t, "shuttle2", "bare_force.csv")}
		for _, v := range c.variants {
			planes = append(planes, v.name+"_x+2.91_whole")
			record := map[string]string{"lip": "lip"}[c.by] // not that of the fairing
			forces = append(forces, "--force", waketest.Shared(t, "shuttle2", cmp.Or(record, v.name)+"_force.csv"))
		}
		if c.by == "repeat" {
			forces = []string{"--support", "cells", "--repeat", plane(t, "bare2_x+2.91_whole")}
		}
		got, text := judged(t, planes, forces...)
		for k, v := range c.variants {
			d := got[k]["delta"].(map[string]any)
			if d["verdict"] != v.want || d["missing"] != nil || !strings.Contains(text, v.would) {
				t.Errorf("%s by %s: %v, missing %v, want %s and %q: %v", v.name, c.by, d["verdict"], d["missing"], v.want, v.would, d["text"])
			}
			beside, _ := got[k]["wake_and_force"].(map[string]any)
			if (beside != nil) != (c.by != "repeat") || (beside["contradicts"] != nil) != (c.by == "lip") || strings.Contains(text, "(force-differs)") != (c.by == "lip") || strings.Contains(text, "Change in wake and force") != (c.by != "repeat") {
				t.Errorf("%s by %s: %v beside the force", v.name, c.by, beside)
			}
		}
	}
}

// Behind a window that does not close a change is of the wake alone; it is set beside that of the force as well.
func TestWakeOnlyBesideForce(t *testing.T) {
	t.Parallel()
	force := func(name string) string { return waketest.Shared(t, "shuttle2", name+"_force.csv") }
	v, text := judged(t, []string{"bare_x+5.98", "lip_x+5.98"}, "--support", "cells", "--force", force("bare"), "--force", force("lip"))
	beside, _ := v[0]["wake_and_force"].(map[string]any)
	if d := v[0]["delta"].(map[string]any); d["method"] != "wake_only" || d["verdict"] != uncertainty.Resolved || beside == nil || beside["contradicts"] != true {
		t.Errorf("%v, %v beside the force", d["method"], beside)
	}
	if !strings.Contains(text, "resolved; but the force of the same runs says +0.011 m²") || !strings.Contains(text, "(force-differs)") {
		t.Errorf("%.600s", text)
	}
}

// A size of a count that is stated gives the drag coefficient of a plane in it.
func TestMeasureCounts(t *testing.T) {
	call := []string{"measure", sound(t, "plane.csv"), "--speed", "25", "--density", "1.2", "--pressure", "0", "--area", "2.55"}
	var cd, counts, exact float64
	_, after, _ := strings.Cut(done(t, append(call, "--json")...), `"cd": `)
	fmt.Sscanf(after, "%g", &exact) // the quoted method's, which is the first
	text := strings.ReplaceAll(done(t, append(call, "--count", "0.0001")...), "\n", " ")
	if _, after, ok := strings.Cut(text, "C_D "); !ok {
		t.Fatal(text)
	} else if _, err := fmt.Sscanf(after, "%g (%g counts of 0.0001)", &cd, &counts); err != nil || !(math.Abs(counts*0.0001-exact) <= 0.00005) || !(math.Abs(cd-exact) <= 0.0005) {
		t.Errorf("%v: C_D %g, %g counts, in %s", err, cd, counts, text)
	}
	if text := done(t, call...); strings.Contains(text, "counts") {
		t.Error(text)
	}
}
