package study

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// writeSurvey writes a Gaussian wake on n × n points into dir. Its drag area is
// 2πσ²ε(2−ε), with ε the depth.
func writeSurvey(t *testing.T, dir, name string, f waketest.Field, half float64, n int) {
	t.Helper()
	s := waketest.Lattice(f, -half, half, -half, half, n, n)
	var b strings.Builder
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for i := range s.N {
		fmt.Fprintf(&b, "%.9g,%.9g,%.9g,%.12g,%.12g,%.12g,%.12g\n", s.Col[wake.X][i], s.Col[wake.Y][i], s.Col[wake.Z][i], s.Col[wake.U][i], s.Col[wake.V][i], s.Col[wake.W][i], s.Col[wake.P][i])
	}
	put(t, dir, name, b.String())
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func runStudy(t *testing.T, dir, text string) (*Outcome, error) {
	t.Helper()
	c, err := Parse("s.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	o, _, err := Run(context.Background(), c, dir, nil)
	return o, err
}

// mustRunStudy is the outcome of a study that may not fail.
func mustRunStudy(t *testing.T, dir, text string) *Outcome {
	t.Helper()
	o, err := runStudy(t, dir, text)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

const unitReference = "[reference]\nspeed = 1\ndensity = 1\npressure = 0\n[section]\nwidth = 0.1\nheight = 0.1\n"

func depth(area float64) float64 {
	// ε(2−ε) = area/2πσ², σ = 0.2.
	return 1 - math.Sqrt(1-area/(2*math.Pi*0.04))
}

// Three runs of one configuration and three of another, with drag areas that are
// known: mean, standard deviation and the pooled scatter follow. A copy of a run, with its rows the other way
// round and the samples moved, is none, and the upper half of one is none.
func TestRepeats(t *testing.T) {
	dir := t.TempDir()
	a, b := []float64{0.150, 0.152, 0.154}, []float64{0.140, 0.141, 0.139}
	ya, yb := []float64{0, 0.004, -0.002}, []float64{0.010, 0.012, 0.010}
	for k := range a {
		writeSurvey(t, dir, fmt.Sprintf("a%d.csv", k), waketest.Gaussian(depth(a[k]), 0.2, ya[k], 0), 1, 41)
		writeSurvey(t, dir, fmt.Sprintf("b%d.csv", k), waketest.Gaussian(depth(b[k]), 0.2, yb[k], 0), 1, 41)
	}
	data, err := os.ReadFile(filepath.Join(dir, "b0.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(strings.TrimSpace(string(data)), "\n")
	for i, row := range rows[1:] {
		f := strings.SplitN(row, ",", 3)
		y, _ := strconv.ParseFloat(f[1], 64)
		rows[i+1] = fmt.Sprintf("%s,%g,%s", f[0], y+0.001, f[2])
	}
	slices.Reverse(rows[1:])
	put(t, dir, "copy.csv", strings.Join(rows, "\n"))
	if data, err = os.ReadFile(filepath.Join(dir, "a0.csv")); err != nil {
		t.Fatal(err)
	}
	rows = strings.Split(string(data), "\n")
	put(t, dir, "part.csv", strings.Join(append(rows[:1], rows[820:]...), "\n"))
	o := mustRunStudy(t, dir, "baseline = \"bare\"\n"+unitReference+`
[[configuration]]
name = "bare"
surveys = ["a0.csv"]
repeats = ["a1.csv", "copy.csv", "a2.csv", "part.csv"]
[[configuration]]
name = "flare"
surveys = ["b0.csv"]
repeats = ["b1.csv", "b2.csv"]
`)
	for _, of := range []string{"b0.csv", "a0.csv"} {
		if said := fmt.Sprint(o.Warnings); !strings.Contains(said, `repeat of "bare" holds the values of `+of) {
			t.Errorf("of the copy is said: %s", said)
		}
	}
	st := o.Stations[0]
	if len(st.Repeats) != 2 || len(st.Repeats[0].Runs) != 3 {
		t.Fatalf("repeats %+v", st.Repeats)
	}
	ra, rb := st.Repeats[0], st.Repeats[1]
	gridtest.Near(t, "mean", ra.Mean, 0.152, 1e-6)
	gridtest.Near(t, "standard deviation", ra.SD, 0.002, 1e-6)
	gridtest.Near(t, "U of the mean", ra.Expanded, 4.303*0.002/math.Sqrt(3), 1e-5)
	c := rb.Against
	gridtest.Near(t, "difference", c.Difference, -0.012, 1e-6)
	gridtest.Near(t, "u of the difference", c.Standard, math.Sqrt(2.5e-6*2/3), 1e-6)
	gridtest.Near(t, "ν of it", *c.DOF, 4, 1e-3)
	if c.Verdict != uncertainty.Resolved || ra.Against != nil {
		t.Errorf("comparison of the means: %+v", c)
	}
	// The repeats are in the budgets of the single surveys' difference, and of the move: there
	// with the variances of ya, 28/3 mm², and of yb, 4/3 mm².
	v := st.Comparison.Variants[0]
	for _, c := range []struct {
		what      string
		items     []uncertainty.Item
		want, tol float64
	}{
		{"the difference", v.Delta.Items, math.Sqrt(2 * 2.5e-6), 1e-6},
		{"the centroid's move", v.Shift.Items, math.Sqrt(2 * 16e-6 / 3), 2e-5},
		{"the part's move", v.Structures.Shifts[0].Headline.Items, math.Sqrt(2 * 16e-6 / 3), 1e-4},
		{"the move of the whole by its outline and others", v.Shift.FourWays.Headline.Items, math.Sqrt(2 * 16e-6 / 3), 1e-4},
	} {
		k := slices.IndexFunc(c.items, func(it uncertainty.Item) bool { return it.Name == "repeats" })
		if k < 0 {
			t.Errorf("no repeats among those of %s: %+v", c.what, c.items)
			continue
		}
		gridtest.Near(t, "repeats in "+c.what, c.items[k].Standard, c.want, c.tol)
	}
}

// F at 97.5 %, as tables print it: 39.0 of 2 and 2 degrees of freedom, 648 of 1 and 1, 799 of 2 and 1; of three
// pairs, each has a third of the 5 %, and 119 of 2 and 2.
func TestDoubtScatter(t *testing.T) {
	for _, c := range []struct {
		n    []int
		sd   []float64
		want bool
	}{
		{[]int{3, 3}, []float64{1, 6.2}, false}, {[]int{3, 3}, []float64{1, 6.3}, true}, {[]int{3, 3}, []float64{6.3, 1}, true},
		{[]int{2, 2}, []float64{1, 25.4}, false}, {[]int{2, 2}, []float64{25.5, 1}, true},
		{[]int{2, 3}, []float64{1, 28.2}, false}, {[]int{2, 3}, []float64{1, 28.4}, true},
		{[]int{3, 3, 3}, []float64{1, 3, 10.8}, false}, {[]int{3, 3, 3}, []float64{3, 11, 1}, true}, {[]int{3}, []float64{1}, false},
	} {
		o := StationOutcome{Comparison: &compare.Comparison{}}
		for i, n := range c.n {
			o.Repeats = append(o.Repeats, Repeats{SD: c.sd[i], sample: uncertainty.Sample{N: n}})
		}
		if o.doubtScatter(); len(o.Comparison.Warnings) > 0 != c.want {
			t.Errorf("%v: %v", c, o.Comparison.Warnings)
		}
	}
}

// Surveys whose drag areas follow f + c·h²: the observed order, the limit and the
// index are exact, of the values and of the difference.
func TestRefinements(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		name     string
		limit, k float64
	}{{"bare", 0.150, 0.4}, {"flare", 0.160, 0.8}} {
		for _, n := range []int{21, 41, 81} {
			// The spacing of the samples is the root of the window's area over their number.
			h := 2 / float64(n)
			writeSurvey(t, dir, fmt.Sprintf("%s%d.csv", c.name, n), waketest.Gaussian(depth(c.limit+c.k*h*h), 0.2, 0, 0), 1, n)
		}
	}
	o := mustRunStudy(t, dir, "baseline = \"bare\"\n"+unitReference+`
[[configuration]]
name = "bare"
surveys = ["bare81.csv"]
refinements = ["bare21.csv", "bare41.csv", "bare81.csv"]
[[configuration]]
name = "flare"
surveys = ["flare81.csv"]
refinements = ["flare21.csv", "flare41.csv", "flare81.csv"]
`)
	fs := o.Stations[0].Refinements
	if len(fs) != 2 || len(fs[0].Meshes) != 3 || fs[1].Delta == nil || fs[0].Delta != nil {
		t.Fatalf("refinements %+v", fs)
	}
	h := 2.0 / 81
	finest, next := 0.150+0.4*h*h, 0.150+0.4*4/(41*41)
	gridtest.Near(t, "order", fs[0].Convergence.Order, 2, 0.01)
	gridtest.Near(t, "limit", fs[0].Convergence.Extrapolated, 0.150, 2e-6)
	r21 := 81.0 / 41
	gridtest.Near(t, "index", *fs[0].Convergence.Index, 125*(next-finest)/finest/(r21*r21-1), 0.002)
	gridtest.Near(t, "limit of the change", fs[1].Delta.Extrapolated, 0.010, 2e-6)
	gridtest.Near(t, "order of the change", fs[1].Delta.Order, 2, 0.02)
}

// A force record: units, the start, batch means, and what is refused.
func TestForceRecord(t *testing.T) {
	dir := t.TempDir()
	const seed = 5
	r := rand.New(rand.NewPCG(seed, 0))
	var b strings.Builder
	b.WriteString("# solver output\ntime [ms];lift [N];drag [kN]\n")
	var sum float64
	n := 0
	for i := range 260 {
		d := 0.075 + 0.002*r.NormFloat64()
		if i < 60 {
			d = 5
		} else {
			sum += d
			n++
		}
		fmt.Fprintf(&b, "%d;1;%.15g\n", i, d)
	}
	put(t, dir, "force.csv", b.String())
	writeSurvey(t, dir, "a.csv", waketest.Gaussian(0.5, 0.2, 0, 0), 1, 41)
	text := unitReference + `
[[configuration]]
name = "bare"
surveys = ["a.csv"]
force = { record = "force.csv", start = "0.06 s" }
`
	o := mustRunStudy(t, dir, text)
	f := o.Configurations[0].Force
	// q = ½: kN to m² is 2000.
	if want := 2000 * sum / float64(n); math.Abs(f.DragArea-want) > 1e-9*want || f.Record.N != 200 || f.Record.Doubt != "" {
		t.Errorf("force %+v %+v, %.9g m2 from %d values is expected", f, f.Record, want, n)
	}
	if want := 2000 * 0.002 / math.Sqrt(200); !(*f.Standard > 0.4*want && *f.Standard < 1.8*want) {
		t.Errorf("seed %d: standard error %.4g, about %.4g is expected", seed, *f.Standard, want)
	}
	if c := o.Forces[0]; c.DOF == nil || c.Percent == nil || c.Ratio == nil || math.Abs(*c.Percent-100*c.Difference/f.DragArea) > 1e-9 || math.Abs(*c.Ratio-math.Abs(c.Difference)/c.Standard) > 1e-9 {
		t.Errorf("closure %+v", c)
	}
	// The record in two files by a wildcard, of which the second goes on; its lift is a part if
	// that is said.
	head, rows, _ := strings.Cut(b.String(), "drag [kN]\n")
	lines := strings.SplitAfter(rows, "\n")
	for name, part := range map[string][]string{"run_2.dat": lines[:150], "run_10.dat": lines[120:]} {
		put(t, dir, name, strings.Replace(head, "lift", "wheels", 1)+"drag [kN]\n"+strings.Join(part, ""))
	}
	o = mustRunStudy(t, dir, strings.Replace(text, `record = "force.csv"`, `record = "run_*.dat", parts = { tyres = "wheels" }`, 1))
	g := o.Configurations[0].Force
	if g.DragArea != f.DragArea || g.Record.File != "run_2.dat+run_10.dat" || len(g.Record.Parts) != 2 || g.Record.Parts[0].Name != "tyres" || g.Record.Parts[0].Mean != 2 {
		t.Errorf("force of two files %+v", g.Record)
	}
	for bad, want := range map[string]string{
		"time,drag\n0,1\n0,2\n":      "3:1",
		"time,drag\n0,1\n1,x\n":      "3:2",
		"time,drag\n0\n":             ":1: no row of numbers",
		"time,lift\n0,1\n":           "no drag",
		"time [m],drag [N]\n0,1\n":   "column 1",
		"time,drag\n0,1\n":           "has 1 value",
		"time,drag,force\n0,1,1\n":   "both the drag",
		"time,drag\n0,1\n1,NaN\n":    "not a finite",
		"time,drag [m2]\n0,1\n1,2\n": "column 2",
	} {
		put(t, dir, "force.csv", bad)
		if _, err := runStudy(t, dir, strings.Replace(text, `, start = "0.06 s"`, "", 1)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, %q is expected in it", bad, err, want)
		}
	}
}
