package study

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

const shuttle = `title = "Campus shuttle: front-wheel fairing and flare"
baseline = "bare"

[reference]
speed = "90 km/h"
density = 1.2
pressure = "0 Pa"
total_pressure = "3.75 hPa"
frontal_area = "2.55 m2"
count = 0.001
frame = "x aft, y right, z up"
anchor = "edge"

[section]
width = 10.8
height = "690 cm"
floor = "slip"

[[region]]
name = "front-right wheel"
box = { y = [0.66, "1800 mm"], z = [0.0, 1] }
side = "right"

[[station]]
name = "behind the front wheel"
normal = "x"
position = "-0.58 m"
tolerance = "20 mm"

[[station]]
name = "far wake"
position = 2.91

[[configuration]]
name = "bare"
surveys = ["bare_x-0.58.csv.gz", "../slices/bare_x+2.91_whole.csv.gz"]
force = { drag_area = "2.303 m2", standard_uncertainty = "0.016 m2" }
repeats = ["bare_again.csv"]

[[configuration]]
name = "fairing"
note = "boat tail behind each front wheel"
surveys = [
  "fairing_x-0.58.csv.gz",  # a comment between
  "fairing_x+2.91_whole.csv.gz",
  { rake = "fairing_rake.csv", layout = "rake.toml" },
  { rake = ["a.csv", "b.csv"], layout = "rake.toml" },
]

[measure]
threshold = [0.05, "10 %", 0.5]
weight = "total-pressure"
support = "cells"
symmetry = "full"
turbulence = "stress"
columns = { p = "Pressure [Pa]", u = "Velocity:0" }

[structures]
by = "weight"
threshold = "12 %"
prominence = 0.04
width = "205 mm"

[maps]
quantities = ["cpt", "u/U"]
levels = { cpt = [-0.5, 0, 0.9] }
limits = { "u/U" = [-0.2, 1.1] }
change_limits = { cpt = 0.5 }
size = "160 mm x 90 mm"
dpi = 254
theme = "dark"
vectors = true
single = true
silhouette = "side.csv"
window = { y = ["-1500 mm", 1.5] }

[uncertainty]
speed = "0.2 %"
density = 0.002
pressure = "0.5 Pa"
total_pressure = "0.1 %"
position = "1 mm"
solution = "1 %"
`

func ptr(x float64) *float64 { return &x }

// near compares numbers to a part in 10¹², which a unit's factor may cost.
var near = cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) })

func TestParseWholeFile(t *testing.T) {
	want := &Config{
		File:     "shuttle.toml",
		Title:    "Campus shuttle: front-wheel fairing and flare",
		Baseline: "bare",
		Settings: Settings{
			Reference: Reference{
				Stream:      Stream{Speed: ptr(25), Density: ptr(1.2), Pressure: ptr(0), TotalPressure: ptr(375)},
				FrontalArea: ptr(2.55), Count: 0.001, Frame: "x aft, y right, z up", Anchor: "edge",
			},
			Section: Section{Width: 10.8, Height: 6.9, Floor: "slip"},
			Regions: []Region{{Name: "front-right wheel", Box: Box{Y: [2]float64{0.66, 1.8}, Z: [2]float64{0, 1}}, Side: "right"}},
			Measure: Measure{
				Threshold: []float64{0.05, 0.1, 0.5}, Weight: "total-pressure", Support: "cells", Symmetry: "full", Turbulence: "stress",
				Columns: map[string]string{"p": "Pressure [Pa]", "u": "Velocity:0"},
			},
			Structures: Structures{By: "weight", Threshold: 0.12, Prominence: 0.04, Width: ptr(0.205)},
			Maps: Maps{
				Quantities: []string{"cpt", "u/U"}, Levels: map[string][]float64{"cpt": {-0.5, 0, 0.9}},
				Limits: map[string][2]float64{"u/U": {-0.2, 1.1}}, ChangeLimits: map[string]float64{"cpt": 0.5},
				DPI: 254, Theme: "dark", Vectors: true, Single: true, Silhouette: "side.csv", Window: Window{Y: &[2]float64{-1.5, 1.5}}, Size: "160 mm x 90 mm",
			},
			Uncertainty: Uncertainty{
				Speed: &Band{0.002, true}, Density: &Band{0.002, false}, Pressure: &Band{0.5, false},
				TotalPressure: &Band{0.001, true}, Position: &Band{0.001, false}, Solution: &Band{0.01, true},
			},
		},
		Stations: []Station{{Name: "behind the front wheel", Normal: "x", Position: -0.58, Tolerance: 0.02}, {Name: "far wake", Normal: "x", Position: 2.91, Tolerance: 0.02}},
		Configurations: []Configuration{
			{Name: "bare", Surveys: []Survey{{File: "bare_x-0.58.csv.gz"}, {File: "../slices/bare_x+2.91_whole.csv.gz"}}, Force: &Force{DragArea: ptr(2.303), StandardUncertainty: ptr(0.016)}, Repeats: []Survey{{File: "bare_again.csv"}}},
			{Name: "fairing", Note: "boat tail behind each front wheel", Surveys: []Survey{{File: "fairing_x-0.58.csv.gz"}, {File: "fairing_x+2.91_whole.csv.gz"}, {Logs: []string{"fairing_rake.csv"}, Layout: "rake.toml"}, {Logs: []string{"a.csv", "b.csv"}, Layout: "rake.toml"}}},
		},
	}
	for _, form := range []struct{ name, text string }{
		{"as it is", shuttle},
		{"byte-order mark", "\xef\xbb\xbf" + shuttle},
		{"carriage returns", strings.ReplaceAll(shuttle, "\n", "\r\n")},
	} {
		got, err := Parse("shuttle.toml", []byte(form.text))
		if err != nil {
			t.Errorf("%s: %v", form.name, err)
			continue
		}
		if diff := cmp.Diff(want, got, near); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", form.name, diff)
		}
	}
}

// small is the least study; the cases below add a line or take one away.
const small = `baseline = "bare"
[[station]]
name = "far"
position = 2.91
[[configuration]]
name = "bare"
surveys = ["bare.csv"]
[[configuration]]
name = "flare"
surveys = ["flare.csv"]
`

func TestParseDefaults(t *testing.T) {
	c, err := Parse("s.toml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	want := Reference{Count: 0.001, Anchor: "none"}
	if diff := cmp.Diff(want, c.Reference); diff != "" {
		t.Errorf("reference (-want +got)\n%s", diff)
	}
	if c.Section != (Section{}) || c.Stations[0].Normal != "x" || c.Stations[0].Tolerance != defaultTolerance || c.Maps.Size != "" {
		t.Errorf("defaults: %+v", c)
	}
	one := "[[configuration]]\nname = \"only\"\nsurveys = [\"a.csv\"]\n"
	if c, err = Parse("s.toml", []byte(one)); err != nil || c.Baseline != "only" || len(c.Stations) != 0 {
		t.Errorf("a single configuration is its own baseline, and stations may be left to the planes: got %+v, %v", c, err)
	}
	apart := strings.Replace(small, "position = 2.91", "position = 2.91\nfiles = \"*_whole*\"", 1) + "[[station]]\nname = \"window\"\nposition = 2.91\nfiles = \"*2.91.csv\"\n"
	if c, err = Parse("s.toml", []byte(apart)); err != nil || c.Stations[1].Files != "*2.91.csv" {
		t.Errorf("two stations at one place told apart by their files: got %+v, %v", c, err)
	}
}

// TestParseRefuses pins the whole line of each message.
func TestParseRefuses(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"unknown key", small + "[reference]\nfrontal_aera = 2.55\n",
			`s.toml:12:1: unknown key "frontal_aera" in [reference]; did you mean "frontal_area"?`},
		{"unknown table", small + "[reference.wind]\nx = 1\n",
			`s.toml:11:12: unknown key "wind" in [reference]; the nearest known key is "speed"; known here: speed, density, pressure, total_pressure, plane, frontal_area, count, frame, anchor, tare, yaw`},
		{"unknown key in a list", small + "[[region]]\nname = \"w\"\nbox = { y = [0, 1], zz = [0, 1] }\n",
			`s.toml:13:1: the box has no z; a box needs y = [lower, upper] and z = [lower, upper]` + "\n" +
				`s.toml:13:21: unknown key "zz" in the box; did you mean "z"?`},
		{"window of maps", small + "[maps]\nwindow = { y = [1, -1], u = [0, 1] }\n",
			`s.toml:12:16: y runs from 1 to -1; put the lower limit first and the upper limit above it` + "\n" +
				`s.toml:12:25: unknown key "u" in [maps.window]; the nearest known key is "x"; known here: x, y, z`},
		{"number for a text", strings.Replace(small, `"bare"`, `3`, 1),
			`s.toml:1:12: baseline is 3, not a text; put it in quotes`},
		{"truth for a number", small + "[reference]\nspeed = true\n",
			`s.toml:12:9: speed is true, not a number; write a plain SI number or a text with its unit, as in "25 m/s"`},
		{"date for a number", small + "[reference]\nspeed = 2026-01-01\n",
			`s.toml:12:9: speed is a date or a time, not a number; write a plain SI number or a text with its unit, as in "25 m/s"`},
		{"number for a table", "reference = 3\n" + small,
			`s.toml:1:13: reference is 3, not a table; write the keys speed, density, pressure, total_pressure, plane, frontal_area, count, frame, anchor, tare, yaw in it`},
		{"table for a list", "[region]\nname = \"w\"\n" + strings.Replace(small, "baseline", "[x]\nbaseline", 1),
			`s.toml:1:2: region is a table, not a list; begin each one with [[region]]` + "\n" +
				`s.toml:3:2: unknown key "x" in the top level; the nearest known key is "maps"; known here: title, baseline, quote, reference, section, region, measure, structures, maps, uncertainty, station, configuration` + "\n" +
				`s.toml: no baseline is named among 2 configurations; add baseline = "bare" at the top`},
		{"not a number", small + "[reference]\ndensity = nan\n",
			`s.toml:12:11: density is NaN; a finite number is needed`},
		{"infinite", small + "[reference]\npressure = -inf\n",
			`s.toml:12:12: pressure is -Inf; a finite number is needed`},
		{"negative speed", small + "[reference]\nspeed = -25\n",
			`s.toml:12:9: speed is -25; it has to be greater than zero`},
		{"no density", small + "[reference]\ndensity = 0.0\n",
			`s.toml:12:11: density is 0; it has to be greater than zero`},
		{"negative area with unit", small + "[reference]\nfrontal_area = \"-2.55 m2\"\n",
			`s.toml:12:16: frontal_area is "-2.55 m2"; it has to be greater than zero`},
		{"total pressure below static", small + "[reference]\npressure = 101325\ntotal_pressure = 375\n",
			`s.toml:13:18: total_pressure is 375 Pa, not above pressure = 101325 Pa; give both on the same scale, both gauge or both absolute`},
		{"unit of another dimension", small + "[reference]\nspeed = \"25 kg\"\n",
			`s.toml:12:9: speed is "25 kg": unit "kg" does not measure a velocity; a unit such as m/s is expected; write a number with its unit, as in "25 m/s"`},
		{"no number", small + "[reference]\nspeed = \"fast\"\n",
			`s.toml:12:9: speed is "fast": "fast" does not begin with a number; write a number with its unit, as in "25 m/s"`},
		{"frame", small + "[reference]\nframe = \"x aft, y right, z sideways\"\n",
			`s.toml:12:9: frame "x aft, y right, z sideways": "sideways" is not a direction; expected aft, forward, left, right, up or down`},
		{"anchor", small + "[reference]\nanchor = \"egde\"\n",
			`s.toml:12:10: anchor is "egde"; did you mean "edge"? use none or edge`},
		{"half a section", small + "[section]\nwidth = 10.8\n",
			`s.toml:11:2: [section] has no height; a section needs both width and height; remove it for free air`},
		{"reversed box", small + "[[region]]\nname = \"w\"\nbox = { y = [1.8, 0.66], z = [0, 1] }\n",
			`s.toml:13:13: y runs from 1.8 to 0.66; put the lower limit first and the upper limit above it`},
		{"empty box", small + "[[region]]\nname = \"w\"\nbox = { y = [0.66, 1.8], z = [1, 1.0] }\n",
			`s.toml:13:30: z runs from 1 to 1; put the lower limit first and the upper limit above it`},
		{"one limit", small + "[[region]]\nname = \"w\"\nbox = { y = [0.66], z = [0, 1] }\n",
			`s.toml:13:13: y is a list of 1, not two numbers; write [lower limit, upper limit]`},
		{"limit that is no number", small + "[[region]]\nname = \"w\"\nbox = { y = [0.66, nan], z = [0, 1] }\n",
			`s.toml:13:20: upper limit of y is NaN; a finite number is needed`},
		{"no box", small + "[[region]]\nname = \"w\"\n",
			`s.toml:11:3: [[region]] has no box; add box = { y = [lower, upper], z = [lower, upper] }`},
		{"side", small + "[[region]]\nname = \"w\"\nbox = { y = [0, 1], z = [0, 1] }\nside = \"starboard\"\n",
			`s.toml:14:8: side is "starboard"; use left or right`},
		{"reserved region", small + "[[region]]\nname = \"total\"\nbox = { y = [0, 1], z = [0, 1] }\n",
			`s.toml:12:8: the region name "total" is taken by the program's own tables; choose another name`},
		{"repeated region", small + "[[region]]\nname = \"w\"\nbox = { y = [0, 1], z = [0, 1] }\n[[region]]\nname = \"w\"\nbox = { y = [0, 1], z = [0, 1] }\n",
			`s.toml:15:8: the region name "w" is taken on line 12; give each region a name of its own`},
		{"normal", small + "[[station]]\nname = \"top\"\nposition = 1\nnormal = \"Z\"\n",
			`s.toml:14:10: normal is "Z"; use x, y or z`},
		{"repeated station", small + "[[station]]\nname = \"far\"\nposition = 6.02\n",
			`s.toml:12:8: the station name "far" is taken on line 3; give each station a name of its own`},
		{"station at the same place", small + "[[station]]\nname = \"again\"\nposition = \"2910 mm\"\n",
			`s.toml:13:12: station "again" is at x = 2.91 m like station "far"; a plane has to belong to one station; remove one of them, or tell their files apart with files = "*_whole*"`},
		{"station without place", small + "[[station]]\nname = \"near\"\n",
			`s.toml:11:3: [[station]] has no position; add position = "-0.58 m"`},
		{"empty station list", "station = []\n[[configuration]]\nname = \"bare\"\nsurveys = [\"a.csv\"]\n",
			`s.toml:1:11: station is an empty list; add [[station]] or remove the key`},
		{"no pattern", small + "[[station]]\nname = \"near\"\nposition = 1\nfiles = \"[\"\n",
			`s.toml:14:9: files = "[" is no pattern; * means any letters and ? one, as in "*_whole*"`},
		{"no configuration", "[[station]]\nname = \"far\"\nposition = 0\n",
			`s.toml: no configuration is named; add [[configuration]] with name and surveys`},
		{"empty configuration list", "configuration = []\n[[station]]\nname = \"far\"\nposition = 0\n",
			`s.toml:1:17: configuration is an empty list; add [[configuration]] or remove the key`},
		{"tare of a wrong type", small + "[reference]\ntare = 3\n",
			`s.toml:12:8: tare is 3, not a text; put it in quotes`},
		{"rake without layout", strings.Replace(small, `["flare.csv"]`, `[{ rake = "flare.csv" }]`, 1),
			`s.toml:10:12: the survey has no file, nor a rake's log and layout; write "file.csv" or { rake = "log.csv", layout = "rake.toml" }`},
		{"unknown key of a survey", strings.Replace(small, `["flare.csv"]`, `["flare.csv", { rake = "f.csv", layuot = "r.toml", layout = "r.toml" }]`, 1),
			`s.toml:10:43: unknown key "layuot" in the survey; did you mean "layout"?`},
		{"empty name", strings.Replace(small, `name = "flare"`, `name = "  "`, 1),
			`s.toml:9:8: name is empty; give it a text or remove it`},
		{"no name", strings.Replace(small, "name = \"flare\"\n", "", 1),
			`s.toml:8:3: [[configuration]] has no name; add name = "…"`},
		{"name in two lines", strings.Replace(small, `name = "flare"`, `name = "fl\nare"`, 1),
			`s.toml:9:8: name "fl\nare" holds a control character; write it in one line of plain text`},
		{"name with a blank", strings.Replace(small, `name = "flare"`, `name = "flare "`, 1),
			`s.toml:9:8: the name "flare " begins or ends with a blank; remove the blank`},
		{"side of the other box", small + "[[region]]\nname = \"wheel\"\nside = \"left\"\nbox = { y = [0.66, 1.8], z = [0, 1] }\n",
			`s.toml:13:8: region "wheel" is said to be on the left, but its box runs from y = 0.66 m to 1.8 m; y is positive to the vehicle's right; correct the side or the box`},
		{"repeated configuration", strings.Replace(small, `name = "flare"`, `name = "bare"`, 1),
			`s.toml:9:8: the configuration name "bare" is taken on line 6; give each configuration a name of its own`},
		{"unknown baseline", strings.Replace(small, `"bare"`, `"baer"`, 1),
			`s.toml:1:12: baseline "baer" is no configuration; did you mean "bare"? configurations are bare, flare`},
		{"no baseline", strings.Replace(small, "baseline = \"bare\"\n", "", 1),
			`s.toml: no baseline is named among 2 configurations; add baseline = "bare" at the top`},
		{"empty surveys", strings.Replace(small, `["flare.csv"]`, `[]`, 1),
			`s.toml:10:11: surveys is an empty list; give at least one or remove the key`},
		{"survey that is a number", strings.Replace(small, `["flare.csv"]`, `["flare.csv", 7]`, 1),
			`s.toml:10:25: element 2 of surveys is 7, neither a text nor a table; write "file.csv" or { rake = "log.csv", layout = "rake.toml" }`},
		{"no surveys", strings.Replace(small, "surveys = [\"flare.csv\"]\n", "", 1),
			`s.toml:8:3: [[configuration]] has no surveys; add surveys = ["file.csv"] or snapshots = "snapshots/bare_*.csv"`},
		{"parts of no record", small + "force = { parts = { a = \"body\" } }\n",
			`s.toml:11:9: the force has a start, parts or repeats without a record; add record = "force.csv"`},
		{"parts no table", small + "force = { record = [\"a.csv\", \"b.csv\"], parts = 3 }\n",
			`s.toml:11:48: parts is 3, not a table; write parts = { wheels = ["front wheels", "rear wheels"] }`},
		{"force without drag", small + "force = { standard_uncertainty = 0.01 }\n",
			`s.toml:11:9: the force has no drag_area; add drag_area = "2.303 m2" or record = "force.csv"`},
		{"weight", small + "[measure]\nweight = \"total_pressure\"\n",
			`s.toml:12:10: weight is "total_pressure"; did you mean "total-pressure"? use total-pressure, deficit, momentum or drag`},
		{"thresholds that fall", small + "[measure]\nthreshold = [0.5, 0.1]\n",
			`s.toml:12:19: threshold goes from 0.5 to 0.1; list the numbers from low to high, each once`},
		{"column of no quantity", small + "[measure]\ncolumns = { pp = \"Pressure [Pa]\" }\n",
			`s.toml:12:13: "pp" is no quantity in columns; did you mean "p"? quantities are x, y, z, u, v, w, p, pt, cp, cpt, rho, k, uu, vv, ww, area`},
		{"limits of what is not drawn", small + "[maps]\nquantities = [\"cpt\"]\nlimits = { ctp = [0, 1] }\n",
			`s.toml:13:12: limits names "ctp", which is not among the quantities; did you mean "cpt"?`},
		{"map of no quantity", small + "[maps]\nquantities = [\"Cpt\", \"vortcity\"]\n",
			`s.toml:12:22: "vortcity" is no map in quantities; did you mean "vorticity"? maps are u/U, Cpt, local drag, vorticity, 1-Cpt, Cp, k`},
		{"limit of changes", small + "[maps]\nchange_limits = { Cpt = 0 }\n",
			`s.toml:12:25: change_limits.Cpt is 0; it has to be greater than zero`},
		{"size", small + "[maps]\nsize = \"1600\"\n",
			`s.toml:12:8: size "1600" is no size; write "1600x900" in pixels or "160 mm x 90 mm" in print`},
		{"how structures are found", small + "[structures]\nby = \"wieght\"\n",
			`s.toml:12:6: by is "wieght"; did you mean "weight"? use weight, vorticity or none`},
		{"prominence", small + "[structures]\nprominence = 1\n",
			`s.toml:12:14: prominence is 1; it has to be zero or more and less than one`},
		{"negative band", small + "[uncertainty]\nspeed = \"-1 %\"\n",
			`s.toml:12:9: speed is "-1 %"; it has to be zero or more`},
		{"key given twice", small + "name = \"x\"\n",
			`s.toml:11:1: key name is already defined; the study file has to be TOML 1.0`},
		{"not TOML", "baseline = bare\n",
			`s.toml:1:12: unexpected character U+0062 'b' at start of value; the study file has to be TOML 1.0`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := Parse("s.toml", []byte(tt.text))
			if err == nil {
				t.Fatalf("accepted: %+v", c)
			}
			var first *wake.InputError
			if !errors.As(err, &first) || first.File != "s.toml" {
				t.Errorf("not an input error of s.toml: %#v", err)
			}
			got := strings.Split(err.Error(), "\n")
			want := strings.Split(tt.want, "\n")
			if diff := cmp.Diff(sorted(want), sorted(got)); diff != "" {
				t.Errorf("message (-want +got)\n%s", diff)
			}
		})
	}
}

// sorted leaves the order to TestParseReportsAll.
func sorted(s []string) map[string]int {
	m := map[string]int{}
	for _, x := range s {
		m[x]++
	}
	return m
}

func TestParseReportsAll(t *testing.T) {
	text := strings.NewReplacer("baseline = \"bare\"", "baseline = \"bear\"\ntitel = \"x\"", "2.91", "inf", "\"flare.csv\"", "7").Replace(small)
	_, err := Parse("s.toml", []byte(text))
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		t.Fatalf("not a joined error: %v", err)
	}
	var got []string
	for _, e := range joined.Unwrap() {
		var ie *wake.InputError
		if !errors.As(e, &ie) {
			t.Fatalf("%v is no input error", e)
		}
		got = append(got, fmt.Sprintf("%d:%d", ie.Line, ie.Column))
	}
	if diff := cmp.Diff([]string{"1:12", "2:1", "5:12", "11:12"}, got); diff != "" {
		t.Errorf("places (-want +got)\n%s\n%v", diff, err)
	}
}

// FuzzParse: no input may panic; what is accepted meets the promises of Config,
// what is refused is told with a place in the text.
func FuzzParse(f *testing.F) {
	f.Add([]byte(shuttle))
	f.Add([]byte(small))
	f.Add([]byte("\xef\xbb\xbf[[configuration]]\nname='a'\nsurveys=['x']\n[[station]]\nname='s'\nposition=1e308\n"))
	f.Add([]byte("region = [3, {}]\n'a.b'.c = [[1, {d = [true]}]]\n[[station]]\n[station.x]\n"))
	for _, s := range waketest.Corpus(f, "study", "study.toml", "*.toml") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Parse("f.toml", data)
		if err != nil {
			lines := strings.Count(string(data), "\n") + 1
			for _, e := range flatten(err) {
				var ie *wake.InputError
				if !errors.As(e, &ie) || ie.Text == "" || !(0 <= ie.Line && ie.Line <= lines) {
					t.Fatalf("%#v for %q", e, data)
				}
			}
			return
		}
		names := map[string]bool{}
		for _, k := range c.Configurations {
			if strings.TrimSpace(k.Name) == "" || names[k.Name] || len(k.Surveys) == 0 {
				t.Fatalf("configuration %+v", k)
			}
			names[k.Name] = true
		}
		if !names[c.Baseline] || !(c.Reference.Count > 0) {
			t.Fatalf("accepted %+v", c)
		}
		for _, r := range c.Regions {
			if !(r.Box.Y[0] < r.Box.Y[1] && r.Box.Z[0] < r.Box.Z[1]) {
				t.Fatalf("region %+v", r)
			}
		}
		for _, s := range c.Stations {
			if math.IsNaN(s.Position) || math.IsInf(s.Position, 0) {
				t.Fatalf("station %+v", s)
			}
		}
	})
}

func flatten(err error) []error {
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		return j.Unwrap()
	}
	return []error{err}
}

// Errors of one table come in the same order every time.
func TestErrorsInOrder(t *testing.T) {
	for range 20 {
		_, err := Parse("s.toml", []byte(small+"[section]\n"))
		text := fmt.Sprint(err)
		if w, h := strings.Index(text, "no width"), strings.Index(text, "no height"); !(0 <= w && w < h) {
			t.Fatal(text)
		}
	}
}

// The words are part of the contract: none goes, and a new one has its place in the list.
func TestWords(t *testing.T) {
	const want = `
baseline configuration maps measure quote reference region section station structures title uncertainty
reference: anchor count density frame frontal_area plane pressure speed tare total_pressure yaw
section: floor height width
region: box name side
region.box: y z
measure: columns pressure_includes_k support symmetry threshold turbulence weight
structures: by prominence threshold width
maps: change_limits dpi levels limits quantities silhouette single size theme vectors window
maps.window: x y z
uncertainty: density effective_samples position pressure solution speed steady total_pressure trials
station: files name normal position tolerance
configuration: force name note reference refinements repeats snapshots steady surveys time_step
configuration.surveys: file layout rake reference
configuration.surveys.reference: density plane pressure speed total_pressure
configuration.force: drag_area parts record repeats standard_uncertainty start`
	var got []string
	var walk func(at string, of reflect.Type)
	seen := map[reflect.Type]bool{}
	walk = func(at string, of reflect.Type) {
		for of.Kind() == reflect.Slice || of.Kind() == reflect.Pointer {
			of = of.Elem()
		}
		if of.Kind() != reflect.Struct || seen[of] {
			return
		}
		seen[of] = true
		var words []string
		row := len(got)
		got = append(got, "")
		for _, f := range reflect.VisibleFields(of) {
			if key := f.Tag.Get("toml"); key != "" {
				words = append(words, key)
				walk(strings.TrimPrefix(at+"."+key, "."), f.Type)
			}
		}
		if words == nil {
			got = got[:row]
			return
		}
		slices.Sort(words)
		got[row] = strings.TrimPrefix(at+": ", ": ") + strings.Join(words, " ")
	}
	walk("", reflect.TypeFor[Config]())
	if diff := cmp.Diff(want, "\n"+strings.Join(got, "\n")); diff != "" {
		t.Errorf("words (-want +got)\n%s", diff)
	}
}
