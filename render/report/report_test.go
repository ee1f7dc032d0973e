package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

var update = flag.Bool("update", false, "write the golden files")

// write runs a writer of this package into memory.
func write(t *testing.T, f func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := f(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var goldens = []struct {
	file string
	text bool // for people: at most Width columns
	of   func(io.Writer) error
}{
	{"measure.txt", true, func(w io.Writer) error {
		return MeasureText(w, []*measure.Result{far("bare", areaBare), wheel("bare"), topView()}, true, 0)
	}},
	{"compare.txt", true, func(w io.Writer) error {
		return CompareText(w, wheelComparison(), []string{"bare", "fairing", "flare"}, true)
	}},
	{"study.txt", true, func(w io.Writer) error { return StudyText(w, sampleOutcome()) }},
	{"ledger.csv", false, func(w io.Writer) error { return LedgerCSV(w, sampleOutcome()) }},
	{"ledger.md", false, func(w io.Writer) error { return LedgerMarkdown(w, sampleOutcome()) }},
	{"compare.json", false, func(w io.Writer) error { return CompareJSON(w, wheelComparison()) }},
}

func TestGolden(t *testing.T) {
	for _, g := range goldens {
		t.Run(g.file, func(t *testing.T) {
			got := write(t, g.of)
			if again := write(t, g.of); again != got {
				t.Error("two runs differ")
			}
			path := filepath.Join("testdata", g.file)
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
			if !strings.HasSuffix(got, "\n") {
				t.Error("no newline at the end")
			}
			if g.text {
				checkWidth(t, got)
			}
		})
	}
}

func checkWidth(t interface{ Errorf(string, ...any) }, text string) {
	for i, l := range strings.Split(text, "\n") {
		if w := textWidth(l); w > Width {
			t.Errorf("line %d has %d columns: %q", i+1, w, l)
		}
		if l != strings.TrimRight(l, " ") {
			t.Errorf("line %d ends in blanks", i+1)
		}
	}
}

// TestTextKeepsWidth: whatever the names, no line is wider than Width and no
// control character reaches the terminal.
func TestTextKeepsWidth(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		o := sampleOutcome()
		name := rapid.StringN(1, 36, -1)
		rename(o, func(string) string { return name.Draw(rt, "name") })
		var b bytes.Buffer
		if err := StudyText(&b, o); err != nil {
			rt.Fatal(err)
		}
		for i, l := range strings.Split(b.String(), "\n") {
			for _, r := range l {
				if r < ' ' || 0x7f <= r && r < 0xa0 || r == 0x202e || r == 0x2028 {
					rt.Fatalf("line %d holds %U", i+1, r)
				}
			}
			// A word that is longer than a line stays whole: only tables are held to
			// the width here, and they are what begins with two blanks and has gaps.
			if w := textWidth(l); w > Width && strings.Contains(strings.TrimSpace(l), "   ") {
				rt.Fatalf("line %d has %d columns: %q", i+1, w, l)
			}
		}
	})
}

// rename gives new names to everything in the outcome that a file can name: its strings that are
// names, wherever they stand, and the texts of warnings.
func rename(o *study.Outcome, f func(string) string) {
	names := map[string]string{o.Title: f(o.Title)}
	add := func(old string) {
		if _, ok := names[old]; !ok {
			names[old] = f(old)
		}
	}
	for _, c := range o.Configurations {
		add(c.Name)
	}
	for _, st := range o.Stations {
		add(st.Name)
		for _, sv := range st.Surveys {
			add(sv.Result.File)
			for _, r := range sv.Result.Regions {
				add(r.Name)
			}
			for _, w := range sv.Result.Warnings {
				add(w.Where)
				add(w.Text)
				add(w.Cure)
			}
		}
		if st.Comparison != nil {
			add(st.Comparison.Common.Grid)
		}
	}
	for _, in := range o.Inputs {
		add(in.File)
	}
	visit(reflect.ValueOf(o), map[uintptr]bool{}, names)
}

func visit(v reflect.Value, seen map[uintptr]bool, names map[string]string) {
	switch v.Kind() {
	case reflect.String:
		if to, ok := names[v.String()]; ok && v.CanSet() {
			v.SetString(to)
		}
	case reflect.Pointer:
		if !v.IsNil() && !seen[v.Pointer()] {
			seen[v.Pointer()] = true
			visit(v.Elem(), seen, names)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			visit(v.Field(i), seen, names)
		}
	case reflect.Slice:
		for i := range v.Len() {
			visit(v.Index(i), seen, names)
		}
	}
}

// TestNumbers: rounding by hand, two digits of the uncertainty (JCGM 100:2008,
// 7.2.6).
func TestNumbers(t *testing.T) {
	for _, tt := range []struct {
		u    float64
		want int
	}{
		{0.0331, 3}, {0.033, 3}, {0.0996, 2}, {0.00994, 4}, {0.00996, 3}, {1.04, 1}, {9.96, 0}, {12, 0}, {340, 0}, {1e-12, maxDecimals},
		{0, 7}, {-1, 7}, {math.NaN(), 7}, {math.Inf(1), 7},
	} {
		if got := decimalsFor(tt.u, 7); got != tt.want {
			t.Errorf("decimalsFor(%g) = %d, want %d", tt.u, got, tt.want)
		}
	}
	for _, tt := range []struct{ got, want string }{
		{fixed(-0.0004, 3), "0.000"}, {fixed(-0.0006, 3), "−0.001"}, {signed(-0.0004, 3), "0.000"}, {signed(0, 0), "0"},
		{signed(2, 1), "+2.0"}, {signed(-34.23, 1), "−34.2"}, {signed(1000, 0), "+1000"},
		{plusMinus(2.2919, 0.0334, 4, "m²"), "2.292 ± 0.033 m²"}, {plusMinus(2.2919, 0, 4, "m²"), "2.2919 m²"},
		{thousands(52992), "52\u00a0992"}, {thousands(999), "999"}, {thousands(0), "0"},
		{coverage(2.26, ptr(9)), "k = 2.26, ν = 9"}, {coverage(2, nil), "k = 2.00"}, {coverage(2.1, ptr(16.77)), "k = 2.10, ν = 16.8"},
		{budgetTable("", new(uncertainty.Only("steady", uncertainty.Item{Name: "level", Category: uncertainty.Sampling}))).Foot, "without part in it: the reference (steady), time averaging (steady), run-to-run scatter (steady), level"},
		{percent(0.0312), "3.12 %"}, {number(math.Copysign(0, -1)), "0"}, {number(-0.58), "-0.58"},
		{typeset("-2 Pa (-0.5), cpt <= 0: 2 m2/s2, 3 m2/s, 1 m2 of bare_x-0.62.csv, m2.csv"), "−2 Pa (−0.5), cpt ≤ 0: 2 m²/s², 3 m²/s, 1 m² of bare_x-0.62.csv, m2.csv"},
		// Of 2.069 ± 0.22 m² the coefficient is known to 0.085, and one digit more than most is not printed.
		{coefficient(ptr(0.8023), ptr(2.069), 0.22, fixed, 4), "0.802"}, {coefficient(ptr(0.8023), ptr(2.069), 2.2, fixed, 4), "0.80"}, {coefficient(ptr(0.80234), ptr(2.069), 2e-6, fixed, 4), "0.8023"}, {coefficient(nil, nil, 1, fixed, 4), ""},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

func TestLayout(t *testing.T) {
	for _, tt := range []struct{ got, want string }{
		{clean("bare\x1b[31m\u202egnp\n2"), `bare\u001b[31m\u202egnp 2`},
		{clean("größe 測定 ✓"), "größe 測定 ✓"},
		{clean("a\xff"), "a\ufffd"},
		{Shorten("front-right wheel", 9), "fron…heel"},
		{Shorten("abc", 3), "abc"},
		{Shorten("測定測定測定", 6), "測…定"},
		{strings.Join(wrap(strings.Repeat("x", 95)+" 2.55 m², then", 0, 4), "|"), strings.Repeat("x", 95) + "|    2.55 m², then"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
	if w := textWidth("測定e\u0301"); w != 5 {
		t.Errorf("two wide letters and an accented one take %d columns", w)
	}
}

// contract lists the keys that the JSON promises.
var contract = map[string][]string{
	"measure": {
		"schema", "warnings[].code", "warnings[].where", "warnings[].text", "warnings[].cure",
		"surveys[].file", "surveys[].station.normal", "surveys[].station.position_m", "surveys[].station.scatter_m", "surveys[].samples", "surveys[].rejected",
		"surveys[].mesh.kind", "surveys[].mesh.elements", "surveys[].mesh.area_m2", "surveys[].mesh.holes", "surveys[].window.y_m[]", "surveys[].window.z_m[]",
		"surveys[].reference.speed_m_s", "surveys[].reference.density_kg_m3", "surveys[].reference.pressure_pa", "surveys[].reference.total_pressure_pa", "surveys[].reference.dynamic_pressure_pa",
		"surveys[].reference.anchor.kind", "surveys[].reference.anchor.shift_pa", "surveys[].reference.anchor.points",
		"surveys[].drag.headline", "surveys[].drag.momentum.drag_area_m2", "surveys[].drag.momentum.cd", "surveys[].drag.momentum.terms.total_pressure_m2", "surveys[].drag.momentum.terms.axial_m2",
		"surveys[].drag.momentum.terms.crossflow_m2", "surveys[].drag.momentum.terms.turbulence_m2", "surveys[].drag.jones.drag_area_m2", "surveys[].drag.jones.invalid_area_fraction",
		"surveys[].drag.betz.drag_area_m2", "surveys[].drag.velocity_only.drag_area_m2", "surveys[].drag.energy.dissipation_m2", "surveys[].drag.energy.axial_m2", "surveys[].drag.energy.crossflow_m2", "surveys[].drag.energy.pressure_m2",
		"surveys[].wake.weight", "surveys[].wake.centroid_m[]", "surveys[].wake.spread_m[]", "surveys[].wake.tilt_deg", "surveys[].wake.areas[].threshold", "surveys[].wake.areas[].area_m2",
		"surveys[].wake.effective_area_m2", "surveys[].wake.displacement_area_m2", "surveys[].wake.momentum_area_m2",
		"surveys[].regions[].name", "surveys[].regions[].drag_area_m2", "surveys[].regions[].area_m2", "surveys[].regions[].centroid_m[]",
		"surveys[].uncertainty.drag_area_m2.standard", "surveys[].uncertainty.drag_area_m2.expanded", "surveys[].uncertainty.drag_area_m2.coverage", "surveys[].uncertainty.drag_area_m2.dof",
		"surveys[].uncertainty.drag_area_m2.items[].name", "surveys[].uncertainty.drag_area_m2.items[].kind", "surveys[].uncertainty.drag_area_m2.items[].standard",
	},
	"compare": {
		"schema", "warnings[].code", "baseline.file", "variants[].survey.file",
		"variants[].delta.drag_area_m2", "variants[].delta.cd", "variants[].delta.counts", "variants[].delta.percent", "variants[].delta.standard", "variants[].delta.expanded",
		"variants[].delta.coverage", "variants[].delta.dof", "variants[].delta.verdict", "variants[].delta.interval_m2[]",
		"variants[].shift.centroid_m[]", "variants[].shift.inboard_m", "variants[].shift.expanded_m", "variants[].shift.verdict",
		"variants[].areas[].threshold", "variants[].areas[].delta_m2", "variants[].regions[].name", "variants[].regions[].delta.drag_area_m2", "variants[].regions[].shift.inboard_m",
	},
	"study": {"schema", "warnings[].code", "title", "baseline", "stations[].surveys[].survey.file", "stations[].comparison.variants[].delta.verdict", "inputs[].file", "inputs[].bytes", "inputs[].sha256", "forces[].difference_m2"},
}

// TestJSONContract: the keys that scripts rely upon are there, the documents read
// back strictly into the same values, and nothing in them is null.
func TestJSONContract(t *testing.T) {
	results := []*measure.Result{far("bare", areaBare), wheel("bare"), topView()}
	c := sampleComparison()
	c.Variants[0].Regions = wheelComparison().Variants[0].Regions
	c.Variants[0].Shift = sampleShift(-0.01, "resolved")
	docs := map[string]struct {
		text, schema string
		into         any
	}{
		"measure": {write(t, func(w io.Writer) error { return MeasureJSON(w, results) }), "wakeledger.measure/1", &measureDoc{}},
		"compare": {write(t, func(w io.Writer) error { return CompareJSON(w, c) }), "wakeledger.compare/1", &compareDoc{}},
		"study":   {write(t, func(w io.Writer) error { return StudyJSON(w, sampleOutcome()) }), "wakeledger.study/1", &studyDoc{Outcome: &study.Outcome{}}},
	}
	for name, d := range docs {
		if !strings.HasPrefix(d.text, "{\n  \"schema\": \""+d.schema+"\",\n  \"warnings\": [\n    {\n") || !strings.HasSuffix(d.text, "\n}\n") {
			t.Errorf("%s begins or ends wrongly:\n%.200s", name, d.text)
		}
		var tree any
		if err := json.Unmarshal([]byte(d.text), &tree); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		paths := map[string]bool{}
		walk(t, tree, "", paths)
		for _, p := range contract[name] {
			if !paths[p] {
				t.Errorf("%s lacks %s", name, p)
			}
		}
		dec := json.NewDecoder(strings.NewReader(d.text))
		dec.DisallowUnknownFields()
		if err := dec.Decode(d.into); err != nil {
			t.Errorf("%s does not read back: %v", name, err)
		}
		again := write(t, func(w io.Writer) error { return WriteJSON(w, reflect.ValueOf(d.into).Elem().Interface()) })
		if diff := cmp.Diff(d.text, again); diff != "" {
			t.Errorf("%s changes when read and written again\n%s", name, diff)
		}
	}
}

func walk(t *testing.T, v any, at string, paths map[string]bool) {
	paths[at] = true
	switch v := v.(type) {
	case nil:
		t.Errorf("%s is null", at)
	case map[string]any:
		for k, e := range v {
			walk(t, e, strings.TrimPrefix(at+"."+k, "."), paths)
		}
	case []any:
		for _, e := range v {
			walk(t, e, at+"[]", paths)
		}
	}
}

func TestJSONEmpty(t *testing.T) {
	got := write(t, func(w io.Writer) error { return MeasureJSON(w, nil) })
	if want := "{\n  \"schema\": \"wakeledger.measure/1\",\n  \"warnings\": [],\n  \"surveys\": []\n}\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	got = write(t, func(w io.Writer) error { return MeasureJSON(w, []*measure.Result{{Wake: &measure.Wake{}}}) })
	for _, want := range []string{`"areas": []`, `"method": []`} {
		if !strings.Contains(got, want) || strings.Contains(got, "null") {
			t.Errorf("no %s, or a null, in\n%s", want, got)
		}
	}
}

// TestRefusesNaN: the error names the place in the document's own keys, and
// nothing is written.
func TestRefusesNaN(t *testing.T) {
	nan := far("bare", math.NaN())
	inf := far("bare", areaBare)
	inf.Uncertainty.DragArea.Items[1].Standard = math.Inf(-1)
	bad := sampleOutcome()
	bad.Stations[1].Comparison.Variants[1].Delta.Interval[1] = math.NaN()
	for _, tt := range []struct {
		name string
		of   func(io.Writer) error
	}{
		{"measure", func(w io.Writer) error {
			return MeasureJSON(w, []*measure.Result{far("flare", areaFlare), nan})
		}},
		{"infinite", func(w io.Writer) error { return MeasureJSON(w, []*measure.Result{inf}) }},
		{"compare", func(w io.Writer) error { return CompareJSON(w, &compare.Comparison{Baseline: nan}) }},
		{"study", func(w io.Writer) error { return StudyJSON(w, bad) }},
	} {
		var b bytes.Buffer
		err := tt.of(&b)
		if err == nil || !strings.Contains(err.Error(), "check their units") || b.Len() > 0 {
			t.Errorf("%s: error %v with %d bytes written", tt.name, err, b.Len())
		}
	}
}

// TestLedgerCSV reads the ledger back by its headings.
func TestLedgerCSV(t *testing.T) {
	o := sampleOutcome()
	names := map[string]string{"fairing": "=cmd|' /C calc'!A0", "flare": "-flare, \"big\"\nplate"}
	rename(o, func(s string) string {
		if n, ok := names[s]; ok {
			return n
		}
		return s
	})
	text := write(t, func(w io.Writer) error { return LedgerCSV(w, o) })
	if strings.Count(text, "\n") != strings.Count(text, "\r\n") {
		t.Error("a line does not end with CRLF")
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 11 {
		t.Fatalf("%d rows, want a heading and 10", len(rows))
	}
	column := map[string]int{}
	for i, h := range rows[0] {
		if _, ok := column[h]; ok {
			t.Errorf("heading %q occurs twice", h)
		}
		column[h] = i
	}
	i := slices.IndexFunc(rows, func(r []string) bool {
		return r[column["station"]] == "far wake" && r[column["configuration"]] == "'=cmd|' /C calc'!A0" && r[column["region"]] == "total"
	})
	if i < 0 {
		t.Fatal("a row is missing")
	}
	// The golden file has the others.
	if got, err := strconv.ParseFloat(rows[i][column["change of drag area [m2]"]], 64); err != nil || got != o.Stations[1].Comparison.Variants[0].Delta.DragArea {
		t.Errorf("row %q", rows[i])
	}
	for i, r := range rows[1:] {
		for c, cell := range r {
			if col := ledgerColumns[c]; strings.HasSuffix(col.head, "]") && cell != "" {
				if _, err := strconv.ParseFloat(cell, 64); err != nil {
					t.Errorf("row %d, %s: %q is no number", i+1, col.head, cell)
				}
			} else if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") {
				t.Errorf("row %d, %s: %q would run as a formula", i+1, col.head, cell)
			}
		}
	}
}

// TestLedgerMarkdown: names cannot break the table or bring marks into it.
func TestLedgerMarkdown(t *testing.T) {
	o := sampleOutcome()
	rename(o, func(s string) string { return s + "|x\n<b>`*" })
	text := write(t, func(w io.Writer) error { return LedgerMarkdown(w, o) })
	heads, _, _ := strings.Cut(text, "\n")
	for i, l := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		bars := strings.Count(l, "|") - strings.Count(l, `\|`)
		if bars != strings.Count(heads, "|") {
			t.Errorf("line %d has %d bars: %s", i+1, bars, l)
		}
		if strings.Contains(strings.ReplaceAll(l, `\<`, ""), "<") {
			t.Errorf("line %d holds a tag: %s", i+1, l)
		}
	}
}

// What would settle a change is named as it is asked for: by flags beside compare, by
// settings beside a study.
func TestSettling(t *testing.T) {
	c := &compare.Comparison{Variants: []compare.Variant{{Delta: &compare.Delta{}}}}
	c.Variants[0].Delta.Judgement = uncertainty.Judgement{Verdict: uncertainty.NotJudged, Missing: []uncertainty.Category{uncertainty.TimeAverage, uncertainty.RunToRun}}
	for by, want := range map[bool]string{true: "--repeat", false: "repeats = […]"} {
		var s sheet
		s.settling(by, c)
		if got := write(t, s.print); !strings.Contains(got, want) || strings.Contains(got, "--") != by {
			t.Errorf("%q is expected in %q", want, got)
		}
	}
}
