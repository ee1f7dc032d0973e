package report

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake/measure"
)

// TestEdgeFigure: each edge stands where it was measured, by the numbers on the
// panel's own axis, and the second plane at one place does not count.
func TestEdgeFigure(t *testing.T) {
	o := sampleOutcome()
	for i, x := range []float64{-0.58, 2.91} {
		for k := range o.Stations[i].Surveys {
			w := 1.5 + 0.1*x + 0.05*float64(k)
			o.Stations[i].Surveys[k].Extent = &measure.Extent{Threshold: 0.1, Y: [2]float64{-w - 0.02, w}, Z: [2]float64{0, 2 + 0.1*float64(k)}, Expanded: &[2][2]float64{{0.03, 0.02}, {0, 0.01}}}
		}
	}
	f := edgeFigure(o)
	n, bars := 0, 0
	var scales []map[float64]float64 // number on the axis → height in the drawing, a panel each
	for _, s := range f.Shapes {
		switch {
		case s.Class == "head":
			scales = append(scales, map[float64]float64{})
		case s.Class == "tick-label end":
			scales[len(scales)-1][parse(t, strings.Replace(s.Text, "−", "-", 1))] = s.Points[0][1] - 5
		case strings.HasPrefix(s.Class, "bar "):
			m, k := scales[len(scales)-1], len(scales)-1
			lo, hi := slices.Min(slices.Collect(maps.Keys(m))), slices.Max(slices.Collect(maps.Keys(m)))
			if got := (s.Points[0][1] - s.Points[1][1]) / (m[lo] - m[hi]) * (hi - lo) / 2; math.Abs(got-[]float64{0.02, 0.03, 0.01}[k]) > 1e-9 {
				t.Errorf("panel %d: a bar of ± %g", k+1, got)
			}
			bars++
		case strings.HasPrefix(s.Class, "curve "):
			var lo, hi float64 = math.Inf(1), math.Inf(-1)
			for v := range scales[len(scales)-1] {
				lo, hi = min(lo, v), max(hi, v)
			}
			m := scales[len(scales)-1]
			for i, p := range s.Points {
				got := lo + (p[1]-m[lo])/(m[hi]-m[lo])*(hi-lo)
				k := n % 3
				w := 1.5 + 0.1*[]float64{-0.58, 2.91}[i] + 0.05*float64(k)
				want := []float64{w, -w - 0.02, 2 + 0.1*float64(k)}[len(scales)-1]
				if math.Abs(got-want) > 1e-9 || !(m[lo] > m[hi]) {
					t.Errorf("panel %d, configuration %d, station %d: %g, want %g", len(scales), k, i, got, want)
				}
			}
			n++
		}
	}
	if n != 9 || len(scales) != 3 || bars != 18 || !strings.Contains(f.Caption, "Bars: 95 % ±; no end caps: a lower bound") {
		t.Errorf("%d curves and %d bars in %d panels, three curves of two places in each of three are expected: %s", n, bars, len(scales), f.Caption)
	}
	for _, st := range o.Stations {
		for i := range st.Surveys {
			if e := st.Surveys[i].Extent; e != nil {
				e.Expanded = nil
			}
		}
	}
	if f = edgeFigure(o); strings.Contains(f.Caption, "Bars") {
		t.Errorf("no ± is known, and none is drawn: %s", f.Caption)
	}
	o.Stations[1].Position = o.Stations[0].Position
	if edgeFigure(o) != nil {
		t.Error("one place makes a chart")
	}
}
