package report

import (
	"math"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake/survey/rake"
)

// A tube's line is where its values are and breaks where it has none, a far median stays in the
// plot, and a tube at fault has a colour of its own.
func TestTubesChart(t *testing.T) {
	nan := math.NaN()
	strips := []rake.TubeReport{
		{Name: "T01", State: "good", Values: []float64{0, 0.5, 1, nan, 1, nan}, Around: []float64{nan, 0, 1e300, 0, 0, 0}},
		{Name: "T02", State: "blocked", Values: []float64{1, 1, math.Inf(1), 1, 1, 0}, Around: []float64{nan, nan, nan, nan, nan, nan}},
	}
	d := tubesChart(strips, make([]bool, 6))
	lines := map[string][][][2]float64{}
	for _, s := range d.Shapes {
		for _, p := range s.Points {
			if !(p[0] >= 0 && p[0] <= d.Width && p[1] >= 0 && p[1] <= d.Height) {
				t.Errorf("%q at %v is outside", s.Class, p)
			}
		}
		if strings.HasPrefix(s.Class, "curve") && s.Points[0][1] > 20 {
			lines[s.Class] = append(lines[s.Class], s.Points)
		}
	}
	good := lines["curve solid s1"]
	if len(good) != 2 || len(lines["curve solid s2"]) != 2 {
		t.Fatalf("lines %v", lines)
	}
	p := good[0]
	gridtest.Near(t, "steps along", p[2][0]-p[1][0], p[1][0]-p[0][0], 1e-9)
	gridtest.Near(t, "steps up", p[2][1]-p[1][1], p[1][1]-p[0][1], 1e-9)
	gridtest.Near(t, "the same value", good[1][0][1], p[2][1], 1e-9)
	if !(p[0][1] > p[1][1]) {
		t.Error("larger values are not higher")
	}
}

// Both axes have one scale, and every sample of the example's rake has its sign.
func TestPositionsChart(t *testing.T) {
	at := func(samples ...rake.Sample) (signs [][2]float64) {
		for _, s := range positionsChart(&rake.Result{Samples: samples}).Shapes {
			if s.R > 0 && s.Points[0][1] > 20 {
				signs = append(signs, s.Points[0])
			}
		}
		return signs
	}
	p := at(rake.Sample{Y: 1, Z: 1}, rake.Sample{Y: 2, Z: 1}, rake.Sample{Y: 1, Z: 2, Readings: 2}, rake.Sample{Y: 1, Z: 1.5})
	if len(p) != 4 || len(at(rake.Sample{})) != 1 {
		t.Fatalf("signs %v", p)
	}
	gridtest.Near(t, "a metre", p[0][1]-p[3][1], p[1][0]-p[0][0], 1e-9)
}
