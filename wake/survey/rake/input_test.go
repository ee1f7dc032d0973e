package rake

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/survey"
	"wakeledger/wake/waketest"
)

// editLog gives a small sound log, changed line by line.
func editLog(edit func(lines []string) []string) (log, layout []byte) {
	k := waketest.Rake{Field: waketest.Gaussian(0.5, 0.04, 0, 0), Half: 0.1, Step: 0.02, Zeros: 1, Drifts: 0.2, Noise: 0.001, Seed: 3}
	log, layout, _ = k.Log()
	lines := strings.Split(strings.TrimSpace(string(log)), "\n")
	return []byte(strings.Join(edit(lines), "\n") + "\n"), layout
}

// eachRow changes one field in all rows.
func eachRow(lines []string, field int, f func(s string) string) []string {
	for k := 1; k < len(lines); k++ {
		c := strings.Split(lines[k], ",")
		c[field] = f(c[field])
		lines[k] = strings.Join(c, ",")
	}
	return lines
}

func setCell(lines []string, row, field int, s string) []string {
	c := strings.Split(lines[row], ",")
	c[field] = s
	lines[row] = strings.Join(c, ",")
	return lines
}

// Logs that cannot be used end with one error that names place, value and cure. Line 1
// is the header, lines 2 to 4 and the last three are wind-off; field 5 is T01.
func TestBadLogs(t *testing.T) {
	for name, c := range map[string]struct {
		edit func(l []string) []string
		want string
	}{
		"missing column": {func(l []string) []string { l[0] = strings.Replace(l[0], "T03", "X03", 1); return l },
			`log.csv:1: no column "T03"; the log has time, traverse, q_ref, p_ref, T01, T02, X03, T04, T05, T06, T07, T08, T09, T10, T11, S01, S02, S03; correct the layout`},
		"short row": {func(l []string) []string { l[6] = l[6][:strings.LastIndexByte(l[6], ',')]; return l },
			"log.csv:7:18: the row has 17 fields, expected 18; mend the row or leave it out"},
		"repeated tube": {func(l []string) []string { l[0] = strings.Replace(l[0], "T03", "T02", 1); return l },
			`log.csv:1:7: column "T02" occurs twice, as columns 6 and 7; give each column its own name`},
		"zero q wind-on": {func(l []string) []string { return setCell(l, 9, 2, "0") },
			"log.csv:10: the row counts as wind-off (q = 0 Pa) and its tubes read 201 Pa off their zeros: the wind was on; correct the dynamic pressure or take the row out"},
		"negative q": {func(l []string) []string { return setCell(l, 9, 2, "-375") },
			"log.csv:10: the row counts as wind-off (q = -375 Pa) and its tubes read 201 Pa off their zeros: the wind was on; correct the dynamic pressure or take the row out"},
		"text": {func(l []string) []string { return setCell(l, 9, 4, "n.v.") },
			`log.csv:10:5: "n.v." in column "T01 [Pa]" is no finite number; correct the cell or empty it`},
		"infinite": {func(l []string) []string { return setCell(l, 9, 4, "Inf") },
			`log.csv:10:5: "Inf" in column "T01 [Pa]" is no finite number; correct the cell or empty it`},
		"no position": {func(l []string) []string { return setCell(l, 9, 1, "") },
			`log.csv:10:2: column "traverse [mm]" has no value; the row cannot do without it; take the row out`},
		"clock": {func(l []string) []string { return setCell(l, 9, 0, "1") },
			"log.csv:10:1: the clock goes back from 35 s to 1 s; sort the rows by time or leave the clock out of the layout"},
		"wrong unit": {func(l []string) []string { l[0] = strings.Replace(l[0], "traverse [mm]", "traverse [Pa]", 1); return l },
			`log.csv:1:2: column "traverse [Pa]": unit "Pa" does not measure a length; a unit such as m is expected; correct the unit in the log or in the layout`},
		"all wind-off": {func(l []string) []string { return l[:4] }, "log.csv:2:3: the largest dynamic pressure of 3 rows is 0 Pa; log rows with the wind on, or name another column for q in [reference]"},
		"header alone": {func(l []string) []string { return l[:1] }, "log.csv:1: no table of numbers within the first 1 lines"},
		"no header":    {func(l []string) []string { return l[1:] }, `log.csv:1: no header of as many names stands above the rows`},
		"empty":        {func([]string) []string { return []string{""} }, "log.csv:1: no table of numbers within the first 1 lines"},
	} {
		log, layout := editLog(c.edit)
		_, err := tryReduce(log, layout, Options{})
		var in *wake.InputError
		if err == nil || !errors.As(err, &in) || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %v\nwant %s", name, err, c.want)
		}
	}
}

// ended puts a separator at the end of each line.
func ended(l []string) []string {
	for i := range l {
		l[i] += ","
	}
	return l
}

// Logs that are doubtful give a result with a warning.
func TestDoubtfulLogs(t *testing.T) {
	for name, c := range map[string]struct {
		edit   func(l []string) []string
		layout string
		code   string
	}{
		"sound":             {func(l []string) []string { return l }, "", ""},
		"ends of rows":      {func(l []string) []string { return append(l[:1], ended(l[1:])...) }, "", ""},
		"ends of all lines": {ended, "", ""},
		"and units below": {func(l []string) []string {
			return ended(slices.Insert(l, 1, "s,mm"+strings.Repeat(",Pa", strings.Count(l[0], ",")-1)))
		}, "", ""},
		"inches as mm":      {func(l []string) []string { return eachRow(l, 1, func(s string) string { return scaled(s, 1/25.4) }) }, "", "traverse-unit"},
		"mm as m":           {func(l []string) []string { l[0] = strings.Replace(l[0], "[mm]", "[m]", 1); return l }, "", "traverse-unit"},
		"no wind-off":       {func(l []string) []string { return slices.Concat(l[:1], l[4:len(l)-3]) }, "", "no-wind-off"},
		"wind-off once":     {func(l []string) []string { return l[:len(l)-3] }, "", "drift-unknown"},
		"no repeats":        {func(l []string) []string { return dropRepeats(l) }, "", "no-repeats"},
		"units disagree":    {func(l []string) []string { return l }, "traverse [cm]", "unit-clash"},
		"no unit":           {func(l []string) []string { l[0] = strings.Replace(l[0], "T01 [Pa]", "T01", 1); return l }, "", "no-unit"},
		"other dynamic":     {func(l []string) []string { return eachRow(l, 2, func(s string) string { return scaled(s, 2) }) }, "", "nominal-off"},
		"tube without data": {func(l []string) []string { return eachRow(l, 6, func(string) string { return "" }) }, "", "tube-blocked"},
	} {
		log, layout := editLog(c.edit)
		if c.layout != "" {
			layout = bytes.Replace(layout, []byte(`y = "traverse"`), fmt.Appendf(nil, "y = %q", c.layout), 1)
		}
		r, err := tryReduce(log, layout, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		// That the speed is not u goes with every pitot survey.
		if n := len(r.Warnings); c.code == "" && n != 1 || c.code != "" && !hasCode(r, c.code) {
			t.Errorf("%s: %v, code %q expected", name, r.Warnings, c.code)
		}
	}
}

func scaled(s string, f float64) string {
	var x float64
	fmt.Sscan(s, &x)
	return fmt.Sprint(x * f)
}

func dropRepeats(l []string) []string {
	out := l[:4]
	last := ""
	for _, row := range l[4 : len(l)-3] {
		if y := strings.Split(row, ",")[1]; y != last {
			out, last = append(out, row), y
		}
	}
	return append(out, l[len(l)-3:]...)
}

// Limits in the layout turn the doubt about inches into a refusal.
func TestTraverseLimits(t *testing.T) {
	log, layout := editLog(func(l []string) []string { return l })
	layout = bytes.Replace(layout, []byte(`y = "traverse"`), []byte("y = \"traverse\"\ny_limits = [\"-50 mm\", \"0.2 m\"]"), 1)
	_, err := tryReduce(log, layout, Options{})
	if want := "log.csv:2:2: the rake is at y = -0.1 m, outside -0.05 m to 0.2 m; correct the row, or the limits or the unit in the layout"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// Wind-off rows by flag, by list, by limit and by default are the same.
func TestWindOffRules(t *testing.T) {
	log, layout := editLog(func(l []string) []string {
		n := len(l)
		l[0] += ",run"
		for k := 1; k < n; k++ {
			l[k] += map[bool]string{true: ",OFF", false: ",on"}[k < 4 || k >= n-3]
		}
		return l
	})
	rows := bytes.Count(log, []byte("\n")) - 1
	want := mustReduce(t, log, layout, Options{}).jones()
	for _, rule := range []string{
		"[wind_off]\ncolumn = \"run\"\nvalue = \"off\"\n", "[wind_off]\nq_below = \"5 Pa\"\n",
		fmt.Sprintf("[wind_off]\nrows = [1, 2, 3, %d, %d, %d]\n", rows-2, rows-1, rows),
	} {
		if got := mustReduce(t, log, append([]byte(rule), layout[bytes.IndexByte(layout, '\n')+1:]...), Options{}).jones(); *got != *want {
			t.Errorf("%q: %v, %v by default", rule, got, want)
		}
	}
	_, err := tryReduce(log, append([]byte("[wind_off]\nrows = [9]\n"), layout[bytes.IndexByte(layout, '\n')+1:]...), Options{})
	if want := "log.csv:2:3: the dynamic pressure is 0 Pa in a wind-on row, 375 Pa in others; take the row out, or flag it as wind-off"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

func TestBadLayouts(t *testing.T) {
	const tubes = "[reference]\nq = \"q\"\nspeed = 25\n[[tubes]]\nkind = \"total\"\ncolumns = [\"T1\", \"T2\"]\nfirst = 0\nstep = \"10 mm\"\n"
	for text, want := range map[string]string{
		"":                                         "rake.toml: the layout has neither tubes nor probes; add [[tubes]] with kind, columns and places",
		"titel = \"x\"\n" + tubes:                  `rake.toml:1:1: unknown key "titel" in the top level; did you mean "title"?`,
		tubes + "bohr = 1\n":                       `rake.toml:9:1: unknown key "bohr" in [[tubes]]; the nearest known key is "bore"; known here: kind, columns, along, first, step, across, aft, angle, diameter, bore, factor, factors, zeros`,
		tubes + "diameter = \"? mm\"\n":            `rake.toml:9:12: diameter is "? mm": "? mm" does not begin with a number; write a number with its unit, as in "0.58 m"`,
		tubes + "diameter = \"3 Pa\"\n":            `rake.toml:9:12: diameter is "3 Pa": unit "Pa" does not measure a length; a unit such as m is expected; write a number with its unit, as in "0.58 m"`,
		tubes + "diameter = -1\n":                  "rake.toml:9:12: diameter is -1; it has to be greater than zero",
		tubes + "diameter = nan\n":                 "rake.toml:9:12: diameter is NaN; a finite number is needed",
		tubes + "diameter = 0.002\nbore = 0.003\n": "rake.toml:10:1: the bore, 0.003 m, is not less than the diameter, 0.002 m; diameter is the outer one",
		tubes + "along = [0, 1]\n":                 "rake.toml:9:1: both along and first or step place the tubes; keep one way",
		tubes + "factors = [1]\n":                  "rake.toml:9:1: factors has 1 values for 2 tubes; give one a tube",
		tubes + "[[tubes]]\nkind = \"static\"\ncolumns = [\"T2\"]\n": `rake.toml:11:12: column "T2" is listed twice as a tube; a tube has one place; the first is in group 1`,
		tubes + "[corrections]\nzeroes = false\n":                    `rake.toml:10:1: unknown key "zeroes" in [corrections]; did you mean "zero"?`,
		tubes + "[corrections]\nzero = 1\n":                          "rake.toml:10:8: zero is 1, not true or false; write zero = true",
		tubes + "[corrections]\nlaw = \"strong\"\n":                  `rake.toml:10:7: law is "strong"; use faded or constant`,
		tubes + "[traverse]\ny_limits = [2, 1]\n":                    "rake.toml:10:12: y_limits runs from 2 to 1; put the lower limit first",
		tubes + "[traverse]\nreverse = [\"q\"]\n":                    `rake.toml:10:12: element 1 of reverse is "q"; use x, y or z`,
		tubes + "[wind_off]\ncolumn = \"run\"\n":                     `rake.toml:9:2: wind_off has one of column and value; give both: column = "run", value = "off"`,
		strings.Replace(tubes, "step = \"10 mm\"\n", "", 1):          `rake.toml:4:3: 2 tubes have no places; add along = ["60 mm", …], or first and step`,
		strings.Replace(tubes, "q = \"q\"\n", "", 1):                 "rake.toml:1:2: no dynamic pressure is named for the rows; add q = \"COLUMN\" to [reference], or total and pressure",
		"ignore = [\"T9\"]\n" + tubes:                                `rake.toml:1:1: ignore names "T9", which is no tube; name a column of [[tubes]]`,
		"title = 1\nignore = 2\nline = 3\n" + tubes:                  "rake.toml:1:9: title is 1, not a text; put it in quotes\nrake.toml:2:10: ignore is 2, not a list; write [a, b, …]\nrake.toml:3:8: line is 3, not a table; write the keys chord, pressure, threshold in it",
		tubes + "zeros = [\"1 m\"]\n[wind_off]\nrows = [1.5]\n":      "rake.toml:9:1: zeros has 1 values for 2 tubes; give one a tube\nrake.toml:9:10: element 1 of zeros is \"1 m\": unit \"m\" does not measure a pressure; a unit such as Pa is expected; write a number with its unit, as in \"0.5 Pa\"\nrake.toml:11:9: element 1 of rows is 1.5, not a whole number; write it without a point or quotes",
		tubes + "[uncertainty]\nq = -0.1\n":                          "rake.toml:10:5: q is -0.1; it has to be zero or more",
		"a = \n":                                                     "rake.toml:1:",
	} {
		_, err := ParseLayout("rake.toml", []byte(text))
		var in *wake.InputError
		if err == nil || !errors.As(err, &in) || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q:\n%v\nwant %s", text, err, want)
		}
	}
	// All faults at once, in the order of the file.
	_, err := ParseLayout("rake.toml", []byte(tubes+"diameter = -1\nfactor = 0\n"))
	if err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("two faults: %v", err)
	}
	// Speed and density both unknown: nothing can be given in m/s.
	log, layout := editLog(func(l []string) []string { return l })
	layout = bytes.Replace(bytes.Replace(layout, []byte("speed = \"25 m/s\"\n"), nil, 1), []byte("density = \"1.2 kg/m3\"\n"), nil, 1)
	if _, err := tryReduce(log, layout, Options{}); err == nil || !strings.Contains(err.Error(), "neither the speed nor the density") {
		t.Errorf("%v", err)
	}
}

// What the plane file says is read back as it was written, with nothing else taken for
// a quantity, and the samples of Survey are the same.
func TestPlaneFile(t *testing.T) {
	dir := t.TempDir()
	k := waketest.Rake{Field: waketest.Gaussian(0.5, 0.04, 0, 0), Half: 0.1, Step: 0.02, Zeros: 1, Noise: 0.001, Blocked: 4, Seed: 3}
	log, layout, _ := k.Log()
	paths := [2]string{filepath.Join(dir, "log.csv"), filepath.Join(dir, "rake.toml")}
	for i, data := range [][]byte{log, layout} {
		if err := os.WriteFile(paths[i], data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	read, err := Read(context.Background(), []File{{paths[0], "log.csv"}}, File{paths[1], "rake.toml"}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	direct := read.Survey(read.Nominal())
	warnings := direct.Warnings
	r := mustReduce(t, log, layout, Options{})
	var b bytes.Buffer
	file := filepath.Join(t.TempDir(), "plane.csv")
	if err := errors.Join(r.WriteCSV(&b), os.WriteFile(file, b.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
	back, err := survey.Read(context.Background(), file, survey.Options{})
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String()[:2000])
	}
	if back.N != len(r.Samples) || direct.N != back.N || back.Dropped != 0 || len(back.Warnings) > 0 {
		t.Fatalf("%d samples written, %d read, %d direct, warnings %v", len(r.Samples), back.N, direct.N, back.Warnings)
	}
	for q := wake.Quantity(0); q < wake.NumQuantities; q++ {
		want := slices.Contains([]wake.Quantity{wake.X, wake.Y, wake.Z, wake.U, wake.P, wake.Pt, wake.Cp, wake.Cpt}, q)
		if (back.Col[q] != nil) != want || (direct.Col[q] != nil) != want {
			t.Errorf("%s: read %v, direct %v, want %v", q, back.Col[q] != nil, direct.Col[q] != nil, want)
			continue
		}
		for i := range back.Col[q] {
			if a, c := back.Col[q][i], direct.Col[q][i]; !(math.Abs(a-c) <= 1e-7*math.Abs(c)) {
				t.Errorf("%s of sample %d: %v read, %v direct", q, i, a, c)
				break
			}
		}
	}
	if len(back.Ignored) != 3 {
		t.Errorf("columns left alone: %q", back.Ignored)
	}
	if !slices.ContainsFunc(warnings, func(w wake.Warning) bool { return w.Code == "speed-not-u" }) {
		t.Errorf("no warning that u is |V|: %v", warnings)
	}
	for _, word := range []string{"u is the speed |V|", "correction zero: applied", "correction displacement: applied", "tube T04: blocked, filled"} {
		if !strings.Contains(b.String(), word) {
			t.Errorf("the preface lacks %q", word)
		}
	}
	if strings.Contains(b.String(), dir) {
		t.Error("the plane file names a folder")
	}
	if planes, err := wake.Planes(back, wake.PlaneOptions{}); err != nil || len(planes) != 1 || planes[0].Mesh.Lattice == nil {
		t.Errorf("planes %v, %v", planes, err)
	}
}

// Two logs of one traverse make the plane that one log makes of it, each with its own zeros and a
// clock of its own; a row at fault is named by its own file.
func TestReadLogs(t *testing.T) {
	k := waketest.Rake{Field: waketest.Gaussian(0.5, 0.04, 0, 0), Half: 0.1, Step: 0.02, Zeros: 1, Seed: 3}
	text, layout, _ := k.Log()
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	middle, end := len(lines)/2, len(lines)
	again := func(l []string, clock, zero float64) (out []string) {
		for _, row := range l {
			cells := strings.Split(row, ",")
			for i, c := range cells {
				x, _ := strconv.ParseFloat(c, 64)
				switch {
				case i == 0:
					cells[i] = strconv.FormatFloat(x-clock, 'g', -1, 64)
				case i > 3:
					cells[i] = strconv.FormatFloat(x+zero, 'f', 9, 64)
				}
			}
			out = append(out, strings.Join(cells, ","))
		}
		return out
	}
	before := again(lines[1:4], 1e4, 5)
	a := slices.Concat(lines[:middle], again(lines[end-3:], 0, 0))
	b := slices.Concat(lines[:1], before, again(lines[middle:], 0, 5))
	dir := t.TempDir()
	read := func(a, b []string) (*Result, error) {
		var files []File
		for name, l := range map[string][]string{"a.csv": a, "b.csv": b} {
			files = append(files, File{Path: filepath.Join(dir, name), Name: name})
			if err := os.WriteFile(filepath.Join(dir, name), []byte(strings.Join(l, "\n")), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		slices.SortFunc(files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
		log, err := ReadLogs(files)
		if err != nil {
			return nil, err
		}
		lay, err := ParseLayout("rake.toml", layout)
		if err != nil {
			t.Fatal(err)
		}
		return Reduce(t.Context(), log, lay, Options{})
	}
	want := mustReduce(t, text, layout, Options{})
	got, err := read(a, b)
	if err != nil {
		t.Fatal(err)
	}
	if got.Log != "a.csv+b.csv" || len(got.Samples) != len(want.Samples) {
		t.Fatalf("%s: %d samples, want %d", got.Log, len(got.Samples), len(want.Samples))
	}
	for i, s := range got.Samples {
		if w := want.Samples[i]; !(math.Abs(s.Cpt-w.Cpt) < 1e-9) || s.Y != w.Y || s.Z != w.Z {
			t.Fatalf("sample %d is %g at %g, %g, want %g at %g, %g", i, s.Cpt, s.Y, s.Z, w.Cpt, w.Y, w.Z)
		}
	}
	if _, err := read(a, setCell(slices.Clone(b), 5, 4, "n.v.")); err == nil || !strings.HasPrefix(err.Error(), "b.csv:6:5: ") {
		t.Error(err)
	}
	if _, err := read(a, setCell(slices.Clone(b), 6, 0, "-1e5")); err == nil || !strings.HasPrefix(err.Error(), "b.csv:7:1: the clock goes back from ") {
		t.Error(err)
	}
	if _, err := read(a, setCell(slices.Clone(b), 0, 4, "T01")); err == nil || !strings.HasPrefix(err.Error(), "b.csv:1: the columns are others than those of a.csv; ") {
		t.Error(err)
	}
}

// A draft is refused until its questions are answered, and then reduces the log.
func TestDraft(t *testing.T) {
	log, _ := editLog(func(l []string) []string { return l })
	l, err := ParseLog("log.csv", string(log))
	if err != nil {
		t.Fatal(err)
	}
	text := string(Draft(l))
	if _, err := ParseLayout("rake.toml", []byte(text)); err == nil || strings.Count(err.Error(), "?") < 7 {
		t.Fatalf("the raw draft: %v\n%s", err, text)
	}
	for _, fill := range [][2]string{
		{"x = \"? m\"", "x = 1"}, {"readings = \"?\"", "readings = \"differential\""}, {"speed = \"? m/s\"", "speed = 25"}, {"density = \"? kg/m3\"", "density = 1.2"},
		{"first = \"? mm\"", "first = \"-100 mm\""}, {"step = \"? mm\"", "step = \"20 mm\""},
		{"diameter = \"? mm\"", "diameter = \"2 mm\""}, {"bore = \"? mm\"", "bore = \"1 mm\""},
		{"first = \"? mm\"", "first = \"-50 mm\""}, {"step = \"? mm\"", "step = \"50 mm\""},
	} {
		text = strings.Replace(text, fill[0], fill[1], 1)
	}
	r := mustReduce(t, log, []byte(text), Options{})
	if len(r.Tubes) != 14 || r.jones() == nil || r.Rows.WindOff != 6 {
		t.Errorf("%d tubes, rows %+v from\n%s", len(r.Tubes), r.Rows, text)
	}
	for _, c := range []struct{ header, want string }{
		{"row,clock,y pos [mm],Z,qinf,p∞ [Pa],P1,P2,stat_1", `time = "clock"|y = "y pos [mm]"|z = "Z"|q = "qinf"|pressure = "p∞ [Pa]"|columns = ["P1", "P2"]|columns = ["stat_1"]|# Not placed: "row"`},
		{"t,X,Pt_ref,U,h 1", `time = "t"|x = "X"|total = "Pt_ref"|columns = ["h 1"]|columns = ["?"]|# Not placed: "U"`},
		{"a,b", `y = "?"|q = "?"|# pressure = "?"|# time = "?"|columns = ["?"]|# Not placed: "a", "b"`},
	} {
		row := strings.Repeat("1,", strings.Count(c.header, ",")) + "1\n"
		l, err := ParseLog("log.csv", c.header+"\n"+row+row)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.SplitSeq(c.want, "|") {
			if text := string(Draft(l)); !strings.Contains(text, "\n"+line) {
				t.Errorf("%s: no %s in\n%s", c.header, line, text)
			}
		}
	}
}

func FuzzLog(f *testing.F) {
	log, layout := editLog(func(l []string) []string { return l })
	f.Add(string(log), string(layout))
	f.Add("a;b\n1,5;2\n", "[[tubes]]\nkind=\"total\"\ncolumns=[\"a\"]\n[reference]\nq=\"b\"\nspeed=1\n")
	f.Add("y [m],q [Pa],T [Pa]\n0,1,1\n1,1,.5\n2,1,1\n", "[traverse]\ny=\"y\"\n[reference]\nq=\"q\"\nspeed=1\n[[tubes]]\nkind=\"total\"\ncolumns=[\"T\"]\n[line]\n")
	logs := waketest.Corpus(f, "rake", "rake_log.csv", "*.csv")
	layouts := waketest.Corpus(f, "rake", "rake.toml")
	for _, l := range logs {
		f.Add(string(l), string(layouts[0]))
	}
	f.Fuzz(func(t *testing.T, log, layout string) {
		r, err := tryReduce([]byte(log), []byte(layout), Options{})
		if err != nil {
			return
		}
		if err := r.WriteCSV(new(bytes.Buffer)); err != nil {
			t.Error(err)
		}
		if _, err := json.Marshal(r); err != nil {
			t.Error(err)
		}
	})
}

// FuzzLayout: no text makes the reader panic; what is refused is told with a place in
// the text, in one line each, and what is accepted is a rake.
func FuzzLayout(f *testing.F) {
	for _, s := range waketest.Corpus(f, "rake", "*.toml") {
		f.Add(s)
	}
	log, layout := editLog(func(l []string) []string { return l })
	f.Add(layout)
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := ParseLayout("rake.toml", data)
		if err != nil {
			all := []error{err}
			if j, ok := err.(interface{ Unwrap() []error }); ok {
				all = j.Unwrap()
			}
			lines := bytes.Count(data, []byte("\n")) + 1
			for _, e := range all {
				var in *wake.InputError
				if !errors.As(e, &in) || in.Text == "" || !(0 <= in.Line && in.Line <= lines) || strings.ContainsAny(e.Error(), "\n\r") {
					t.Fatalf("%#v of %q", e, data)
				}
			}
			return
		}
		if len(l.Tubes)+len(l.Probes) == 0 {
			t.Fatalf("a layout of nothing: %q", data)
		}
		for _, tube := range l.Tubes {
			for _, x := range []float64{tube.X, tube.Y, tube.Z, tube.Factor, tube.Zero} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%+v", tube)
				}
			}
		}
		// A log that may not fit it.
		if _, err := tryReduce(log, data, Options{}); err != nil && strings.ContainsAny(err.Error(), "\n\r") {
			t.Fatalf("%q", err)
		}
	})
}
