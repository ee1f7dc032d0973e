package study_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/study"
	"wakeledger/wake/survey/rake"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// rakeFiles writes an invented log of a Gaussian wake and its layout; each further name
// is a log of the same wake by other zeros and noise.
func rakeFiles(t *testing.T, dir string, eps float64, names ...string) {
	t.Helper()
	for i, name := range names {
		k := waketest.Rake{Field: waketest.Gaussian(eps, 0.04, 0.01, 0), Half: 0.2, Step: 0.02, Zeros: 1, Drifts: 0.2, Noise: 0.001, Wander: 0.01, Seed: uint64(10*len(name) + i)}
		log, layout, _ := k.Log()
		for file, data := range map[string][]byte{name: log, "rake.toml": layout} {
			put(t, dir, file, string(data))
		}
	}
}

const rakeStudy = `
baseline = "shallow"
[reference]
speed = "30 m/s"
density = 1.2
pressure = "1000 hPa"
[measure]
threshold = [0.2]
support = "cells"
[[configuration]]
name = "shallow"
surveys = [{ rake = "a.csv", layout = "rake.toml" }]
[[configuration]]
name = "deep"
surveys = [{ rake = ["b.csv", "c.csv"], layout = "rake.toml" }]
`

// A rake's plane in a study is that of its coefficients at the study's reference: the
// difference is the closed form's 2πσ²ε(2−ε), whatever the tunnel's own stream and
// pressure were. What was done to the logs goes with the outcome.
func TestRakeInStudy(t *testing.T) {
	dir := t.TempDir()
	rakeFiles(t, dir, 0.3, "a.csv")
	rakeFiles(t, dir, 0.4, "b.csv", "c.csv")
	o := mustRun(t, dir, rakeStudy)
	drag := func(eps float64) float64 { return 2 * math.Pi * 0.04 * 0.04 * eps * (2 - eps) }
	d := o.Stations[0].Comparison.Variants[0].Delta
	if want := drag(0.4) - drag(0.3); !(math.Abs(d.DragArea-want) <= d.Expanded) || !(d.Expanded < 0.2*want) {
		t.Errorf("difference %.6f ± %.6f m2, closed form %.6f", d.DragArea, d.Expanded, want)
	}
	r := o.Stations[0].Surveys[0].Result
	if r.Mesh.Support != "nodes" || r.Reference.Pressure != 1e5 || !(math.Abs(r.Reference.TotalPressure-1e5-540) < 1e-6) {
		t.Errorf("mesh %+v, reference %+v", r.Mesh, r.Reference)
	}
	if o.Headline != o.Stations[0].Name {
		t.Errorf("the drag is quoted at %q", o.Headline)
	}
	if len(o.Rakes) != 2 || o.Rakes[1].Survey != "b.csv+c.csv" || o.Rakes[1].Configuration != "deep" {
		t.Fatalf("rakes %+v", o.Rakes)
	}
	var roles []string
	for _, in := range o.Inputs {
		roles = append(roles, in.Role+" "+in.File)
	}
	if want := []string{"survey a.csv", "layout rake.toml", "survey b.csv", "survey c.csv"}; !slices.Equal(roles, want) {
		t.Errorf("inputs %q", roles)
	}
	codes := ""
	for _, w := range r.Warnings {
		codes += w.Code + " "
		if strings.Contains(w.Where+w.Text, dir) {
			t.Errorf("a warning names the folder: %+v", w)
		}
	}
	for _, code := range []string{"nominal-stream", "speed-not-u"} {
		if !strings.Contains(codes, code) {
			t.Errorf("warnings %q, %s is expected", codes, code)
		}
	}
	// Errors come through with their place.
	bad := strings.Replace(rakeStudy, "layout = \"rake.toml\" }]\n[[", "layout = \"bad.toml\" }]\n[[", 1)
	put(t, dir, "bad.toml", "[tubes\n")
	if _, _, err := run(t, dir, bad); err == nil || !strings.Contains(err.Error(), "bad.toml:1:") {
		t.Errorf("%v", err)
	}
}

// The study of examples/rake: the inboard move of the wheel wake by the two rake logs is
// that of the two slices within the rake's own uncertainty and the slices'.
func TestRakeAgainstSlices(t *testing.T) {
	dir := filepath.Join("..", "..", "examples", "rake")
	data, err := os.ReadFile(filepath.Join(dir, "study.toml"))
	if err != nil {
		t.Fatal(err)
	}
	c, err := study.Parse("study.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	o, _, err := study.Run(context.Background(), c, dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	var in, u [2]float64
	for s, st := range o.Stations {
		shift := st.Comparison.Variants[0].Regions[0].Shift
		in[s], u[s] = *shift.Inboard, shift.Expanded
		// The log and the samples tell enough; of the time average nothing is stated.
		if shift.Verdict != uncertainty.NotJudged || !(*shift.Margin > 5*shift.Standard) {
			t.Errorf("%s: %s", st.Name, shift.Verdict)
		}
	}
	t.Logf("rake %+.2f ± %.2f mm, slices %+.2f ± %.2f mm", 1000*in[0], 1000*u[0], 1000*in[1], 1000*u[1])
	if !(math.Abs(in[0]-in[1]) <= math.Hypot(u[0], u[1])) || !(u[0] < 0.002) {
		t.Errorf("rake %+.5f ± %.5f m, slices %+.5f ± %.5f m", in[0], u[0], in[1], u[1])
	}
	faults := func(r *rake.Result) (out []string) {
		for _, tube := range r.Tubes {
			if tube.State != "good" {
				out = append(out, tube.Name+" "+tube.State)
			}
		}
		return out
	}
	if f := faults(o.Rakes[0].Result); f != nil {
		t.Errorf("bare: %q", f)
	}
	if f := faults(o.Rakes[1].Result); !slices.Equal(f, []string{"T07 blocked"}) {
		t.Errorf("fairing: %q", f)
	}
}
