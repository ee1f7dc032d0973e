package study_test

import (
	"fmt"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
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
	put(t, dir, name, b.String())
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
[uncertainty]
steady = true
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
// through both.
func TestPathsAndTopViews(t *testing.T) {
	dir := t.TempDir()
	plane(t, dir, "a1.csv", 1, 0.5, 0.60)
	plane(t, dir, "a2.csv", 2, 0.4, 0.65)
	plane(t, dir, "b1.csv", 1, 0.5, 0.57)
	plane(t, dir, "b2.csv", 2, 0.4, 0.65)
	topPlane(t, dir, "az.csv", 0.5, 0.60)
	topPlane(t, dir, "bz.csv", 0.5, 0.57)
	o := mustRun(t, dir, partsStudy)
	if len(o.Paths) != 2 || len(o.Paths[0].Paths) != 1 || len(o.Paths[1].Paths[0].Points) != 2 {
		t.Fatalf("%+v", o.Paths)
	}
	for k, y := range []float64{0.60, 0.65} {
		gridtest.Near(t, "y on the path", o.Paths[0].Paths[0].Points[k].Centroid[0], y, 0.001)
	}
	if len(o.Moves) != 1 || len(o.Moves[0].Moves) != 1 {
		t.Fatalf("%+v", o.Moves)
	}
	m := o.Moves[0].Moves[0]
	if len(m.Points) != 2 || m.Points[0].Verdict != uncertainty.Resolved || m.Points[1].Verdict != uncertainty.NotResolved {
		t.Errorf("%+v", m)
	}
	gridtest.Near(t, "the move at the first station", *m.Points[0].Headline.Inboard, 0.030, 0.0005)
	gridtest.Near(t, "as a part of a tyre", *m.Points[0].Headline.Fraction, 0.15, 0.0025)
	gridtest.Near(t, "the threshold", m.Points[0].Threshold, 0.15, 0)
	top := o.Stations[2]
	if v := top.Comparison.Variants[0]; v.TopView == nil || v.Structures != nil || v.Exchange != nil || top.Surveys[0].Result.TopView == nil {
		t.Errorf("the top view: %+v", v)
	}
	for _, s := range top.Surveys {
		if s.Result.Drag != nil && s.Result.Drag.Headline != "" {
			t.Error("a top view claims a drag")
		}
	}
	if s := o.Stations[0].Comparison.Variants[0].Structures; len(s.Foremost) != 1 {
		t.Errorf("%+v", s.Foremost)
	}

	none := mustRun(t, dir, strings.Replace(partsStudy, "threshold = 0.15\nwidth = \"200 mm\"", `by = "none"`, 1))
	if none.Paths != nil || none.Moves != nil || none.Stations[0].Surveys[0].Result.Structures != nil {
		t.Error("structures that the study said not to find")
	}
}
