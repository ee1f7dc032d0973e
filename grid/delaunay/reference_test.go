package delaunay

import (
	"bytes"
	"encoding/binary"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
)

// reference integrates a field that is linear on each triangle over scipy's Delaunay
// triangulation (Qhull) of points read from standard input as float64 x, y, f.
const reference = `
import sys, numpy as np
from scipy.spatial import Delaunay
a = np.frombuffer(sys.stdin.buffer.read(), '<f8').reshape(-1, 3)
p, f = a[:, :2], a[:, 2]
t = Delaunay(p).simplices
q = p[t]
d, e = q[:, 1] - q[:, 0], q[:, 2] - q[:, 0]
area = np.abs(d[:, 0]*e[:, 1] - d[:, 1]*e[:, 0]) / 2
print(len(t), repr(float(area.sum())), repr(float((area * f[t].mean(axis=1)).sum())))
`

// floats is numbers as the reference reads them.
func floats(of ...float64) []byte {
	var b []byte
	for _, v := range of {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	return b
}

// TestReference: where the triangulation is unique another implementation has the
// same triangles, so the integral of the linear interpolant is the same but for the
// order of the sums.
func TestReference(t *testing.T) {
	python := gridtest.Python(t, "scipy.spatial", "python3-scipy")
	for name, p := range map[string][]grid.Point{
		"scatter":   gridtest.SurveyPoints("scatter", 4000, 7),
		"turned":    gridtest.Rotated(gridtest.SurveyPoints("scatter", 3000, 8), 25),
		"clustered": gridtest.ClusteredPoints(3000, unitBox, 9),
	} {
		field := func(q grid.Point) float64 { return math.Sin(3*q.X)*math.Cos(4*q.Y) + 1 }
		var in bytes.Buffer
		for _, q := range p {
			in.Write(floats(q.X, q.Y, field(q)))
		}
		cmd := exec.Command(python, "-c", reference)
		cmd.Stdin = &in
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		w := strings.Fields(string(out))
		if len(w) != 3 {
			t.Fatalf("unexpected answer %q", out)
		}
		tr := must(t, p)
		var area, integral grid.Sum
		for k := 0; k < len(tr.Triangles); k += 3 {
			a, b, c := p[tr.Triangles[k]], p[tr.Triangles[k+1]], p[tr.Triangles[k+2]]
			area.Add(grid.TriangleArea(a, b, c))
			integral.Add(grid.TriangleArea(a, b, c) * (field(a) + field(b) + field(c)) / 3)
		}
		if w[0] != strconv.Itoa(len(tr.Triangles)/3) {
			t.Errorf("%s: %d triangles, the reference has %s", name, len(tr.Triangles)/3, w[0])
		}
		for i, got := range []float64{area.Value(), integral.Value()} {
			want, err := strconv.ParseFloat(w[i+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			if !(math.Abs(got-want) <= 1e-12*math.Abs(want)) {
				t.Errorf("%s: %.17g, the reference has %.17g", name, got, want)
			}
		}
	}
}
