package study_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// topPlane writes a plane normal to z through the middle of a Gaussian wake whose
// centre lies at y0 for x > 0.5, and still air ahead of that.
func topPlane(t *testing.T, dir, name string, eps, y0 float64) {
	t.Helper()
	f := waketest.Gaussian(eps, 0.2, y0, 1)
	var b strings.Builder
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for j := range 61 {
		for i := range 61 {
			x, y, u := 0.05*float64(i), -1.5+0.05*float64(j), 1.0
			if x > 0.5 {
				u = f(y, 1).U
			}
			fmt.Fprintf(&b, "%g,%g,1,%.17g,0,0,0\n", x, y, u)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, name), []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

const partsStudy = `
baseline = "bare"
[reference]
speed = 1
density = 1
pressure = 0
[structures]
threshold = 0.15
width = "200 mm"
width_of = "tyre"
[uncertainty]
effective_samples = 1e6
correlation_length = "0.1 m"
solution = "0 %"
[[station]]
name = "near"
position = "1 m"
[[station]]
name = "far"
position = "2 m"
[[station]]
name = "from above"
normal = "z"
position = "1 m"
[[configuration]]
name = "bare"
surveys = ["a1.csv", "a2.csv", "az.csv"]
[[configuration]]
name = "fairing"
surveys = ["b1.csv", "b2.csv", "bz.csv"]
`

// A wake drawn in by 30 mm at the first station and not at the second is followed
// through both; its outline at the height of the top view moves as the top view's
// edge does, by those 30 mm.
func TestPathsAndTopViews(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.5, 0.60)
	plane(t, dir, "a2.csv", 2, 0.4, 0.65)
	plane(t, dir, "b1.csv", 1, 0.5, 0.57)
	plane(t, dir, "b2.csv", 2, 0.4, 0.65)
	topPlane(t, dir, "az.csv", 0.5, 0.60)
	topPlane(t, dir, "bz.csv", 0.5, 0.57)
	o, _, err := run(t, dir, partsStudy)
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tol) {
			t.Errorf("%s is %g, want %g", what, got, want)
		}
	}
	if len(o.Paths) != 2 || len(o.Paths[0].Paths) != 1 || len(o.Paths[1].Paths[0].Points) != 2 {
		t.Fatalf("%+v", o.Paths)
	}
	for k, y := range []float64{0.60, 0.65} {
		near("y on the path", o.Paths[0].Paths[0].Points[k].Centroid[0], y, 0.001)
	}
	if len(o.Moves) != 1 || len(o.Moves[0].Moves) != 1 {
		t.Fatalf("%+v", o.Moves)
	}
	m := o.Moves[0].Moves[0]
	if len(m.Points) != 2 || m.LastResolved == nil || *m.LastResolved != 1 || !strings.Contains(m.Text, "no longer from x = 2.00 m") {
		t.Errorf("%s", m.Text)
	}
	near("the move at the first station", *m.Points[0].Headline.Inboard, 0.030, 0.0005)
	near("as a part of a tyre", *m.Points[0].Headline.Fraction, 0.15, 0.0025)
	near("the threshold", m.Points[0].Threshold, 0.15, 0)
	if len(o.TopChecks) != 2 {
		t.Fatalf("%d checks", len(o.TopChecks))
	}
	// The top view's wake is drawn in all along; the second cross-flow plane's is not.
	if o.TopChecks[1].Agree || !strings.Contains(o.TopChecks[1].Text, "differ by 31 mm") {
		t.Error(o.TopChecks[1].Text)
	}
	c := o.TopChecks[0]
	if c.Station != "near" || c.TopView != "from above" || c.Configuration != "fairing" || c.Side != "right" {
		t.Errorf("%+v", c)
	}
	// Linear interpolation in a flank between samples 50 mm apart: a tenth of that.
	near("the top view's edge", *c.Top.Inboard, 0.030, 0.005)
	near("the cross-flow plane's edge", *c.Cross.Inboard, *c.Top.Inboard, 0.002)
	if !c.Agree {
		t.Error(c.Text)
	}
	top := o.Stations[2]
	if v := top.Comparison.Variants[0]; v.TopView == nil || v.Structures != nil || v.Exchange != nil || top.Surveys[0].Result.TopView == nil {
		t.Errorf("the top view: %+v", v)
	}
	for _, s := range top.Surveys {
		if s.Result.Drag != nil && s.Result.Drag.Headline != "" {
			t.Error("a top view claims a drag")
		}
	}
	if s := o.Stations[0].Comparison.Variants[0].Structures; len(s.Sentences) != 1 || s.Sentences[0].Verdict != uncertainty.Resolved {
		t.Errorf("%+v", s.Sentences)
	}

	none, _, err := run(t, dir, strings.Replace(partsStudy, "threshold = 0.15\nwidth = \"200 mm\"\nwidth_of = \"tyre\"", `by = "none"`, 1))
	if err != nil {
		t.Fatal(err)
	}
	if none.Paths != nil || none.Moves != nil || none.TopChecks != nil || none.Stations[0].Surveys[0].Result.Structures != nil {
		t.Error("structures that the study said not to find")
	}
}

const samePlaceStudy = `
baseline = "bare"
[reference]
speed = 1
density = 1
pressure = 0
[[station]]
name = "window"
position = "1 m"
files = "*window*"
[[station]]
name = "section"
position = "1 m"
files = "*section*"
[[configuration]]
name = "bare"
surveys = ["a_window.csv", "a_section.csv"]
[[configuration]]
name = "fairing"
surveys = ["b_window.csv", "b_section.csv"]
`

// A core of the wake moves by 60 mm within a broad skirt that does not. The window's
// edge lies in the skirt, so that its weight is counted from there and the threshold
// takes in the core; from the section's edge it takes in some of the skirt. The two do
// not say the same, and the text tells the two levels.
func TestStationsAtOnePlace(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, y0, half float64) {
		core, skirt := waketest.Gaussian(0.5, 0.12, y0, 1.2), waketest.Gaussian(0.14, 0.8, 0.6, 1.2)
		var b strings.Builder
		b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
		for z := 1.2 - half; z <= 1.2+half+1e-9; z += 0.05 {
			for y := 0.6 - half; y <= 0.6+half+1e-9; y += 0.05 {
				fmt.Fprintf(&b, "1,%.3f,%.3f,%.17g,0,0,0\n", y, z, core(y, z).U+skirt(y, z).U-1)
			}
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for name, y0 := range map[string]float64{"a": 0.60, "b": 0.54} {
		write(name+"_window.csv", y0, 0.6)
		write(name+"_section.csv", y0, 2)
	}
	o, _, err := run(t, dir, samePlaceStudy)
	if err != nil {
		t.Fatal(err)
	}
	if len(o.SamePlaces) != 1 {
		for _, st := range o.Stations {
			t.Log(st.Name, st.Comparison.Variants[0].Structures.Shifts[0].Text)
		}
		t.Fatalf("%d, want 1", len(o.SamePlaces))
	}
	p := o.SamePlaces[0]
	t.Log(p.Text)
	if p.Configuration != "fairing" || p.Stations != [2]string{"window", "section"} || p.Verdicts[0] == p.Verdicts[1] || !(p.Levels[0] > p.Levels[1]+0.03) {
		t.Errorf("%+v", p)
	}
	for k, st := range o.Stations {
		if v := st.Comparison.Variants[0].Structures.Shifts[0].Verdict; !strings.HasPrefix(p.Verdicts[k], v) || !strings.Contains(p.Text, p.Verdicts[k]+" by "+st.Name) {
			t.Errorf("%s: %s, %q", st.Name, v, p.Text)
		}
		if w := fmt.Sprintf("%+.3f", st.Comparison.Baseline.StructureRule.Level); !strings.Contains(p.Text, strings.ReplaceAll(w, "-", "−")) {
			t.Errorf("%q lacks the level %s", p.Text, w)
		}
	}
}
