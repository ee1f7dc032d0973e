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
	d.rect("term t0", 1, 2, 3, 4)
	d.disc("dot s1", 5, 6, 1.8)
	d.text("head", 1, 2, "end", "a<b")
	const want = `<svg viewBox="0 0 9 8.5" width="9" height="8.5" role="img" aria-label="&#34;x&#34;"><path class="tick" d="M1 2L3 4"/><path class="term t0" d="M1 2L3 2L3 4L1 4z"/>` +
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

// TestTermsAddUp: bars to the right less bars to the left are the sum, which is
// where the stroke stands; the terms of the sample are 2.7240, −0.6012, 0.1823 and
// −0.0132 m² for bare.
func TestTermsAddUp(t *testing.T) {
	all := termsFigure(sampleOutcome()).Shapes
	value := ruler(t, all)
	zero := 0.0
	for _, s := range all {
		if s.Class == "zero" {
			zero = value(s.Points[0][0])
		}
	}
	if math.Abs(zero) > 0.01 {
		t.Errorf("zero is drawn at %g", zero)
	}
	wants := []float64{areaBare, areaFairing, areaFlare}
	k, sum := -1, 0.0
	var ends [2]float64
	for _, s := range all {
		switch a := value(s.Points[0][0]); {
		case s.Points[0][1] < 20: // the legend
		case strings.HasPrefix(s.Class, "term "):
			// Each bar begins where the one before it on its side ends.
			w, side := value(s.Points[1][0])-a, 0
			if w < 0 {
				side = 1
			}
			if math.Abs(a-ends[side]) > 0.02 {
				t.Errorf("a bar begins at %.3f, the one before ends at %.3f", a, ends[side])
			}
			sum, ends[side] = sum+w, ends[side]+w
		case s.Class == "sum":
			if k++; math.Abs(a-wants[k]) > 0.006 || math.Abs(sum-wants[k]) > 0.02 {
				t.Errorf("bar %d: the stroke stands at %.4f, the bars come to %.4f; want %.4f", k, a, sum, wants[k])
			}
			sum, ends = 0, [2]float64{}
		}
	}
	if k != 2 {
		t.Errorf("%d sums", k+1)
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
