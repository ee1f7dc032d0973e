package study_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// layered writes a plane at x with a Gaussian wake of depth eps and a layer on the floor
// that every survey of the section has: u falls by 0.1 exp(−z/h) of the stream.
func layered(t *testing.T, dir, name string, x, eps float64) {
	t.Helper()
	var b strings.Builder
	b.WriteString("x [m],y [m],z [m],u [m/s],v [m/s],w [m/s],p [Pa]\n")
	for j := range 100 {
		for i := range 61 {
			y, z := -1.5+0.05*float64(i), 0.0125+0.025*float64(j)
			u := 1 - eps*math.Exp(-(y*y+(z-1.5)*(z-1.5))/0.08) - 0.1*math.Exp(-z/0.1)
			fmt.Fprintf(&b, "%g,%g,%g,%.17g,0,0,0\n", x, y, z, u)
		}
	}
	put(t, dir, name, b.String())
}

// What the empty section has is taken off at its station; elsewhere a warning says that
// nothing is. A wake clear of the layer leaves 2πσ²ε(2−ε).
func TestTareInStudy(t *testing.T) {
	dir := t.TempDir()
	layered(t, dir, "a1.csv", 1, 0.4)
	layered(t, dir, "a2.csv", 2, 0.3)
	layered(t, dir, "b1.csv", 1, 0.5)
	layered(t, dir, "empty.csv", 1, 0)
	text := strings.Replace(wakeStudy, "frontal_area = 2\n", "frontal_area = 2\ntare = \"empty.csv\"\n", 1)
	o := mustRun(t, dir, text)
	for _, sv := range o.Stations[0].Surveys {
		eps := map[string]float64{"shallow": 0.4, "deep": 0.5}[sv.Configuration]
		want := 2 * math.Pi * 0.04 * eps * (2 - eps)
		tare := sv.Result.Tare
		if tare == nil || !(math.Abs(tare.DragArea-want) < 1e-4) || !(tare.Empty > 0.05) || tare.File != "empty.csv" {
			t.Errorf("%s: tare %+v, %.5f m2 is expected", sv.Configuration, tare, want)
		}
	}
	far := o.Stations[1].Surveys[0].Result
	if codes := codesOf(far.Warnings); far.Tare != nil || !strings.Contains(codes, "no-tare") {
		t.Errorf("far station: tare %+v, warnings %q", far.Tare, codes)
	}
	n := 0
	for _, in := range o.Inputs {
		if in.Role == "tare" && in.File == "empty.csv" {
			n++
		}
	}
	if n != 1 {
		t.Errorf("the tare stands %d times among the inputs %+v", n, o.Inputs)
	}
}
