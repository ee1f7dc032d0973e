package study_test

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// plane writes a Gaussian wake of the given depth, centred at y0, as a file.
func plane(t *testing.T, dir, name string, x, eps, y0 float64) {
	t.Helper()
	s := waketest.Lattice(waketest.Gaussian(eps, 0.2, y0, 1), -1.5, 1.5, 0, 2.5, 61, 51)
	var b strings.Builder
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for i := range s.N {
		fmt.Fprintf(&b, "%g,%g,%g,%.17g,0,0,0\n", x, s.Col[wake.Y][i], s.Col[wake.Z][i], s.Col[wake.U][i])
	}
	put(t, dir, name, b.String())
}

const wakeStudy = `
title = "two depths"
baseline = "shallow"
[reference]
speed = 1
density = 1
pressure = 0
frontal_area = 2
[[region]]
name = "right half"
box = { y = [0.0, 1.5], z = [0.0, 2.5] }
side = "right"
[[station]]
name = "near"
position = "1 m"
[[station]]
name = "far"
position = "2000 mm"
[[configuration]]
name = "shallow"
surveys = ["a1.csv", "a2.csv"]
force = { drag_area = "0.16 m2", standard_uncertainty = "0.005 m2" }
[[configuration]]
name = "deep"
surveys = ["b1.csv"]
force = { drag_area = "0.188 m2" }
`

func run(t *testing.T, dir, text string) (*study.Outcome, []study.Fields, error) {
	t.Helper()
	c, err := study.Parse("s.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return study.Run(context.Background(), c, dir, nil)
}

// mustRun is the outcome of a study that may not fail.
func mustRun(t *testing.T, dir, text string) *study.Outcome {
	t.Helper()
	o, _, err := run(t, dir, text)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestRun: planes find their stations, differences are those of the closed form
// 2πσ²ε(2−ε), a missing plane is a warning, and the force stands beside.
func TestRun(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.4, 0.30)
	plane(t, dir, "a2.csv", 2, 0.3, 0.30)
	plane(t, dir, "b1.csv", 1.003, 0.5, 0.27)
	o, fields, err := run(t, dir, wakeStudy)
	if err != nil {
		t.Fatal(err)
	}
	drag := func(eps float64) float64 { return 2 * math.Pi * 0.04 * eps * (2 - eps) }
	if len(o.Stations) != 2 || o.Stations[0].Name != "near" || len(o.Stations[0].Surveys) != 2 || len(o.Stations[1].Surveys) != 1 {
		t.Fatalf("stations %+v", o.Stations)
	}
	gridtest.Near(t, "shallow", o.Stations[0].Surveys[0].Result.Drag.Momentum.DragArea, drag(0.4), 1e-5)
	gridtest.Near(t, "far", o.Stations[1].Surveys[0].Result.Drag.Momentum.DragArea, drag(0.3), 1e-5)
	v := o.Stations[0].Comparison.Variants[0]
	gridtest.Near(t, "difference", v.Delta.DragArea, drag(0.5)-drag(0.4), 1e-5)
	gridtest.Near(t, "counts", *v.Delta.Counts, (drag(0.5)-drag(0.4))/2/0.001, 0.01)
	// The box cuts the wake at y = 0. The loss 2εg−ε²g² is two normal distributions,
	// of which the truncated first moments are closed forms.
	centroid := func(eps, y0 float64) float64 {
		var m0, m1 float64
		for k, a := range []float64{2 * eps, -eps * eps} {
			s := 0.2 / math.Sqrt(float64(k+1))
			below := 0.5 * (1 + math.Erf(y0/s/math.Sqrt2))
			density := math.Exp(-y0*y0/(2*s*s)) / math.Sqrt(2*math.Pi)
			m0 += a * s * s * below
			m1 += a * s * s * (y0*below + s*density)
		}
		return m1 / m0
	}
	gridtest.Near(t, "inboard", *v.Regions[0].Shift.Inboard, centroid(0.4, 0.30)-centroid(0.5, 0.27), 2e-4)
	if o.Headline != "near" || o.Stations[1].Comparison != nil || len(o.Stations[1].Missing) != 1 || o.Stations[1].Missing[0] != "deep" {
		t.Errorf("headline %q, far station %+v", o.Headline, o.Stations[1])
	}
	if len(fields) != 2 || len(fields[0].Compared) != 2 || len(fields[0].Single) != 2 || fields[1].Compared != nil {
		t.Errorf("fields of %d stations", len(fields))
	}
	if !slices.ContainsFunc(o.Warnings, func(w wake.Warning) bool {
		return w.Code == "missing-station" && w.Text == "deep has no plane at far: it is not compared there"
	}) {
		t.Errorf("warnings %+v", o.Warnings)
	}
	// The far plane of the baseline is 0.128 m2 and the force 0.16: they differ, once the reference,
	// which shifts the wake alone, is known.
	known := mustRun(t, dir, wakeStudy+"[uncertainty]\npressure = \"1e-4 Pa\"\n")
	for want, out := range map[string]*study.Outcome{uncertainty.NotJudged: o, "differ": known} {
		verdicts := map[string]string{}
		for _, f := range out.Forces {
			verdicts[f.Station+"/"+f.Configuration] = f.Verdict
		}
		if verdicts["near/shallow"] != "agree" || verdicts["far/shallow"] != want {
			t.Errorf("force verdicts %v, want %s", verdicts, want)
		}
		// Of all levels only that at x = 2 m is more than a tenth off the force.
		if n := strings.Count(fmt.Sprint(out.Warnings), "force-level"); n != 1 {
			t.Errorf("%d levels are off: %v", n, out.Warnings)
		}
	}
	var listed []struct {
		File, SHA256 string
		Bytes        int
	}
	if text, err := json.Marshal(o.Inputs); err != nil || json.Unmarshal(text, &listed) != nil || len(listed) != 3 || listed[0].File != "a1.csv" {
		t.Fatalf("inputs %+v, %v", o.Inputs, err)
	}
	for _, in := range listed {
		data, err := os.ReadFile(filepath.Join(dir, in.File))
		if want := fmt.Sprintf("%x", sha256.Sum256(data)); err != nil || in.Bytes != len(data) || in.SHA256 != want {
			t.Errorf("%+v has %d bytes and SHA-256 %s, %v", in, len(data), want, err)
		}
	}
	// What is listed has to be what was measured.
	c, _ := study.Parse("study.toml", []byte(wakeStudy))
	var read atomic.Int32
	if _, _, err := study.Run(t.Context(), c, dir, func(stage string, _ int) {
		if stage == "read" && read.Add(1) == 3 {
			os.Chtimes(filepath.Join(dir, "a1.csv"), time.Time{}, time.Unix(1, 0))
		}
	}); err == nil || !strings.Contains(err.Error(), "a1.csv: was changed while it was read") {
		t.Errorf("a file that changes after it was read: %v", err)
	}
	if strings.Contains(fmt.Sprintf("%+v", o.Stations[0].Surveys[0].Result), dir) {
		t.Error("the result holds the folder's path")
	}
}

// One file in two places of a study has no difference and no scatter: that is said, not taken for a result.
func TestSameFile(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.4, 0.30)
	plane(t, dir, "a2.csv", 2, 0.3, 0.30)
	plane(t, dir, "b1.csv", 1, 0.5, 0.27)
	for text, want := range map[string]string{
		`surveys = ["./a1.csv"]`:                               `"./a1.csv", a survey of "deep", is also a survey of "shallow"`,
		"surveys = ['a2.csv', 'b1.csv']\nrepeats = ['b1.csv']": `a repeat of "deep" holds the values of b1.csv`,
	} {
		o := mustRun(t, dir, strings.Replace(wakeStudy, `surveys = ["b1.csv"]`, text, 1))
		if said := fmt.Sprint(o.Warnings); !strings.Contains(said, want) {
			t.Errorf("%s: %s, want %s", text, said, want)
		}
	}
}

// TestRunFails: what stops a study is an error with the file's name.
func TestRunFails(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.4, 0.30)
	plane(t, dir, "a2.csv", 2, 0.3, 0.30)
	_, _, err := run(t, dir, wakeStudy)
	var in *wake.InputError
	if !errors.As(err, &in) || !strings.HasSuffix(in.File, "b1.csv") {
		t.Errorf("a missing survey: %v", err)
	}
	put(t, dir, "b1.csv", "x,y\n1,2\n")
	if _, _, err = run(t, dir, wakeStudy); !errors.As(err, &in) || !strings.HasSuffix(in.File, "b1.csv") {
		t.Errorf("a survey without fields: %v", err)
	}
	plane(t, dir, "b1.csv", 1, 0.5, 0.3)
	if _, _, err = run(t, dir, strings.Replace(wakeStudy, "density = 1\n", "", 1)); err == nil || !strings.Contains(err.Error(), "density") {
		t.Errorf("no density: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	c, err := study.Parse("s.toml", []byte(wakeStudy))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := study.Run(ctx, c, dir, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// TestQuote: the station to quote is the one that is named, and has to be one; a study in which
// no plane lies at a station is refused with where they lie.
func TestQuote(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.4, 0.30)
	plane(t, dir, "a2.csv", 2, 0.3, 0.30)
	plane(t, dir, "b1.csv", 1, 0.5, 0.30)
	if o, _, err := run(t, dir, "quote = \"far\"\n"+wakeStudy); err != nil || o.Headline != "far" {
		t.Errorf("headline %+v, %v", o, err)
	}
	for text, want := range map[string]string{
		"quote = \"rear\"\n" + wakeStudy:                                       `quote is "rear", which is no station; one of near, far is expected`,
		strings.NewReplacer("1 m", "5 m", "2000 mm", "7 m").Replace(wakeStudy): "the planes are at x = 1 m, x = 2 m, the stations at x = 5 m, x = 7 m",
	} {
		if _, _, err := run(t, dir, text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}
