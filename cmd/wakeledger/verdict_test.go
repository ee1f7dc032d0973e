package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// judged compares two planes of the second shuttle computation with nothing stated but the
// reference, and gives the JSON of the variant, and the text when it is asked for.
func judged(t *testing.T, base, variant string, flags ...string) (map[string]any, func() string) {
	t.Helper()
	args := []string{"compare"}
	for _, name := range []string{base, variant} {
		path, ok := waketest.Shared(filepath.Join("..", ".."), "data", "shuttle2", name+".csv.gz")
		if !ok {
			t.Skipf("%s is not here; set WAKELEDGER_SHARED to the folder that holds data", filepath.Join("data", "shuttle2", name))
		}
		args = append(args, path)
	}
	args = append(append(args, "--speed", "25", "--density", "1.2", "--pressure", "0", "--area", "2.58", "--full"), flags...)
	call := func(args []string) []byte {
		var out, stderr bytes.Buffer
		if code := run(args, strings.NewReader(""), &out, &stderr); code != 0 {
			t.Fatalf("%v: %s", args, stderr.String())
		}
		return out.Bytes()
	}
	var doc struct {
		Variants []map[string]any `json:"variants"`
	}
	if err := json.Unmarshal(call(append(args, "--json")), &doc); err != nil {
		t.Fatal(err)
	}
	return doc.Variants[0], func() string { return strings.Join(strings.Fields(string(call(args))), " ") }
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
	for _, station := range []string{"x+2.91_whole", "x-0.62", "x+0.62"} {
		v, print := judged(t, "bare_"+station, "bare2_"+station, "--region", "right wheel:0.66,1.8,0,1", "--region", "left wheel:-1.8,-0.66,0,1", "--side", "right", "--side", "left")
		open, seen := 0, 0
		each("", v, func(at string, o map[string]any) {
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
		text := print()
		if seen < 10 || open == 0 || !strings.Contains(text, "not judged; time averaging and run-to-run scatter are not known. It stays resolved if together they are below u = ") ||
			!strings.Contains(text, "To settle what is not judged: a second run of any configuration") {
			t.Errorf("%s: %d verdicts, %d not judged: %.400s", station, seen, open, text)
		}
	}
}

// A real change is not judged either as long as the planes are all that is known; its margin
// is 1.5 % of the drag.
func TestRealChangeIsNotJudged(t *testing.T) {
	v, print := judged(t, "bare_x+2.91_whole", "fairing_x+2.91_whole")
	text := print()
	d := v["delta"].(map[string]any)
	drag := 100 * d["drag_area_m2"].(float64) / d["percent"].(float64)
	if part := 100 * d["margin"].(float64) / drag; d["verdict"] != uncertainty.NotJudged || !(1.3 < part && part < 1.7) {
		t.Errorf("%v, margin %.2f %% of the drag", d["verdict"], part)
	}
	if !strings.Contains(text, "−0.063 m² (−24.4 counts of 0.001, −3.0 %): not judged; time averaging and run-to-run scatter are not known. It stays resolved if together they are below u = 0.031 m² (1.5 % of the drag)") {
		t.Errorf("%.600s", text)
	}
}

// With another run of the baseline, or with the forces' records, the same change is resolved, and
// a change that is no larger than what another run changes is not, with what would tell.
func TestWhatDecides(t *testing.T) {
	file := func(name string) string {
		path, ok := waketest.Shared(filepath.Join("..", ".."), "data", "shuttle2", name)
		if !ok {
			t.Skip("the shuttle's planes are not here; set WAKELEDGER_SHARED to the folder that holds data/shuttle2")
		}
		return path
	}
	for _, c := range []struct{ variant, by, want, would string }{
		{"fairing", "repeat", uncertainty.Resolved, ""},
		{"lip", "repeat", uncertainty.NotResolved, "runs of each would resolve it"},
		{"fairing", "force", uncertainty.Resolved, ""},
		{"flare", "force", uncertainty.Resolved, ""},
		{"lip", "force", uncertainty.NotResolved, "times as long would resolve it"},
		{"bare2", "force", uncertainty.NotResolved, "mostly by time averaging"},
	} {
		flags := []string{"--repeat", file("bare2_x+2.91_whole.csv.gz")}
		if c.by == "force" {
			flags = []string{"--force", file("bare_force.csv"), "--force", file(c.variant + "_force.csv")}
		}
		v, print := judged(t, "bare_x+2.91_whole", c.variant+"_x+2.91_whole", flags...)
		d := v["delta"].(map[string]any)
		if d["verdict"] != c.want || d["missing"] != nil || c.would != "" && !strings.Contains(print(), c.would) {
			t.Errorf("%s by %s: %v, missing %v, want %s: %v", c.variant, c.by, d["verdict"], d["missing"], c.want, d["text"])
		}
	}
}
