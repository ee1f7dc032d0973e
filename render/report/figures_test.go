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

// TestTermsAddUp: for each configuration the signs of the four terms are as far from zero together as that of their
// sum, which stands at its drag.
func TestTermsAddUp(t *testing.T) {
	all := termsFigure(sampleOutcome()).Shapes
	value := ruler(t, all)
	for k, want := range []float64{areaBare, areaFairing, areaFlare} {
		var at []float64
		for _, s := range all {
			if s.Class == series("bar", k) {
				at = append(at, value(s.Points[0][0]))
			}
		}
		if len(at) != 5 || math.Abs(at[4]-want) > 0.006 || math.Abs(at[0]+at[1]+at[2]+at[3]-want) > 0.02 || at[1] > 0 {
			t.Errorf("terms and sum %.3f, want a sum of %.3f", at, want)
		}
	}
}

// TestForceFigure: the wake less the force of each configuration, and of the change, with the interval.
func TestForceFigure(t *testing.T) {
	all := forceFigure(sampleOutcome()).Shapes
	value := ruler(t, all)
	var bars [][2]float64
	for _, s := range all {
		if strings.HasPrefix(s.Class, "bar") {
			bars = append(bars, [2]float64{value(s.Points[0][0]), value(s.Points[1][0])})
		}
	}
	for i, want := range [][2]float64{{areaBare - 2.3026, 0.0436}, {areaFairing - 2.2145, 0.0358}, {0.0008, 0.0446}} {
		if len(bars) != 3 || math.Abs(bars[i][0]+want[1]-want[0]) > 5e-4 || math.Abs(bars[i][1]-want[1]-want[0]) > 5e-4 {
			t.Errorf("intervals %.4f, want %v in place %d", bars, want, i)
		}
	}
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
