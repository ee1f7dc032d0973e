package report

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

// TestSVG: each kind of shape as an element, names escaped.
func TestSVG(t *testing.T) {
	d := &Chart{Width: 9, Height: 8.5, words: `"x"`}
	d.line("tick", 1, 2.04, 3, 4)
	d.rect("mark s0", 1, 2, 3, 4)
	d.disc("dot s1", 5, 6, 1.8)
	d.text("head", 1, 2, "end", "a<b")
	const want = `<svg viewBox="0 0 9 8.5" width="9" height="8.5" role="img" aria-label="&#34;x&#34;"><path class="tick" d="M1 2L3 4"/><path class="mark s0" d="M1 2L3 2L3 4L1 4z"/>` +
		`<circle class="dot s1" cx="5" cy="6" r="1.8"/><text class="head" x="1" y="2" text-anchor="end">a&lt;b</text></svg>`
	if got := string(d.SVG()); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// ruler finds value = a + b·place from the horizontal ticks of a chart.
func ruler(t *testing.T, all []Shape) func(float64) float64 {
	t.Helper()
	var at, v []float64
	for _, s := range all {
		if s.Class == "tick-label" {
			if x, err := strconv.ParseFloat(strings.ReplaceAll(s.Text, "−", "-"), 64); err == nil {
				at, v = append(at, s.Points[0][0]), append(v, x)
			}
		}
	}
	if len(at) < 2 {
		t.Fatalf("%d ticks", len(at))
	}
	n := len(at) - 1
	return func(x float64) float64 { return v[0] + (x-at[0])*(v[n]-v[0])/(at[n]-at[0]) }
}

// TestProfileFigure: heights of the curve are proportional to the densities 0.1,
// 1, 2 and −0.1 of the baseline.
func TestProfileFigure(t *testing.T) {
	o := sampleOutcome()
	all := profileFigure(o, o.Stations[1]).Shapes
	var curves [][][2]float64
	for _, s := range all {
		if strings.HasPrefix(s.Class, "curve ") {
			curves = append(curves, s.Points)
		}
	}
	if len(curves) != 4 || len(curves[0]) != 4 || len(curves[2]) != 2 {
		t.Fatalf("curves %v", curves)
	}
	c := curves[0]
	per := (c[0][1] - c[1][1]) / 0.9 // pixels upward for 1
	if math.Abs((c[1][1]-c[2][1])/per-1) > 0.01 || math.Abs((c[3][1]-c[0][1])/per-0.2) > 0.01 || !(per > 0) {
		t.Errorf("span: %v", c)
	}
	if d := curves[2]; !(d[0][1] > d[1][1]) || !(d[0][0] > d[1][0]) {
		t.Errorf("height: %v", d)
	}
}

// TestPathFigure: the vehicle's right is upward in plan, as on the maps seen from above, and a
// station is drawn where it stands.
func TestPathFigure(t *testing.T) {
	o := sampleOutcome()
	for i, x := range []float64{-0.58, 2.91} {
		for k := range o.Stations[i].Surveys {
			r := *o.Stations[i].Surveys[k].Result
			r.Regions = append(r.Regions[:0:0], wheel("bare").Regions...)
			c := [2]float64{0.9 + 0.1*float64(k), 0.3 - 0.05*x}
			r.Regions[0].Centroid = &c
			o.Stations[i].Surveys[k].Result = &r
		}
	}
	all := pathFigure(o).Shapes
	value := ruler(t, all)
	var ys []float64
	for _, s := range all {
		if strings.HasPrefix(s.Class, "curve ") {
			if x0, x1 := value(s.Points[0][0]), value(s.Points[1][0]); math.Abs(x0+0.58) > 0.02 || math.Abs(x1-2.91) > 0.02 {
				t.Errorf("the path runs from %.3f to %.3f", x0, x1)
			}
			ys = append(ys, s.Points[0][1])
		}
	}
	if len(ys) != 6 || !(ys[0] > ys[1] && ys[1] > ys[2]) || ys[3] != ys[4] {
		t.Errorf("places %v", ys)
	}
}
