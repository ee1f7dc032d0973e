package atlas

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"

	"wakeledger/grid"
	"wakeledger/grid/isoline"
	"wakeledger/render"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/uncertainty"
	"wakeledger/wake/waketest"
)

// TestOffBody: the outline of a wake that a body 2 m long and 1 m high begins with ends where it
// comes within two samples of the body; a line far from it stays whole.
func TestOffBody(t *testing.T) {
	var ys, zs []float64
	for i := range 81 * 41 {
		if y, z := float64(i%81-40)/10, float64(i/81)/10; math.Abs(y) > 1.01 || z < 1.49 || z > 2.51 {
			ys, zs = append(ys, y), append(zs, z)
		}
	}
	s := waketest.Samples(linear(0), ys, zs)
	mesh := measured(t, s, grid.Nodes).Plane.Mesh
	line := func(closed bool, p ...grid.Point) (l isoline.Line) {
		l.Closed = closed
		for i := 1; i < len(p); i++ {
			for k := range 40 {
				s := float64(k) / 40
				l.Points = append(l.Points, grid.Point{X: p[i-1].X + s*(p[i].X-p[i-1].X), Y: p[i-1].Y + s*(p[i].Y-p[i-1].Y)})
			}
		}
		return l
	}
	at := func(x, y float64) grid.Point { return grid.Point{X: x, Y: y} }
	far := line(true, at(-3.8, 0.2), at(3.8, 0.2), at(3.8, 0.9), at(-3.8, 0.2))
	along := line(true, at(3.5, 1), at(0, 2.6), at(-1.1, 2.6), at(-1.1, 1.4), at(0, 1.4), at(3.5, 1))
	got := offBody(mesh, []isoline.Line{far, along})
	if len(got) < 2 || !got[0].Closed || len(got[0].Points) != len(far.Points) {
		t.Fatalf("%d lines", len(got))
	}
	length := 0.0
	for _, l := range got[1:] {
		length += l.Length()
		for _, p := range l.Points {
			if math.Abs(p.X) < 1.1 && p.Y > 1.4 && p.Y < 2.6 {
				t.Errorf("%v runs along the body", p)
			}
		}
	}
	if !(length > 3 && length < along.Length()-3) {
		t.Errorf("%.2f m of %.2f m are left", length, along.Length())
	}
}

func TestReadSilhouette(t *testing.T) {
	for _, text := range []string{
		"0,0\n1,0\n1,2\n0,0\n\n-1,1\n-1,2\n",
		"\ufeffy [m], z [m]\r\n0, 0\r\n1, 0\r\n1, 2\r\n0, 0\r\n\r\n\r\n-1, 1\r\n-1, 2",
		"# side view\ny [mm];z [mm]\n0;0\n# a corner\n1000;0\n1000;2000 # another\n0;0\n \n-1000;1000\n-1000;2e3\n",
		"y (mm) z (mm)\n0 0\n1000  0\n1000 2000\n0 0\n\n-1000 1000\n-1000 2000\n",
		"y\tz\n0\t0\n1\t0\n1\t2\n0\t0\n\n-1\t1\n-1\t2\n",
	} {
		lines, err := ReadSilhouette("side.csv", strings.NewReader(text))
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if len(lines) != 2 || !lines[0].Closed || len(lines[0].Points) != 3 || lines[1].Closed || len(lines[1].Points) != 2 {
			t.Errorf("%q: %+v", text, lines)
			continue
		}
		if p := lines[0].Points[2]; math.Hypot(p.X-1, p.Y-2) > 1e-12 || lines[1].Points[1] != (grid.Point{X: -1, Y: 2}) {
			t.Errorf("%q: %+v", text, lines)
		}
	}
}

func TestBadSilhouettes(t *testing.T) {
	for text, want := range map[string]string{
		"":                              "side.csv: no polyline; give lines of y and z",
		"0,0\n1,one\n":                  `side.csv:2:3: "one" is no place; give a number, with a point for decimals`,
		"0,0\n1,NaN\n":                  `side.csv:2:3: "NaN" is no place; give a number, with a point for decimals`,
		"0,0\n 1,\n":                    "side.csv:2:2: 1 values on a line; give y and z, and an empty line between polylines",
		"0,0\n1,,2\n":                   "side.csv:2:1: 2 values on a line; give y and z, and an empty line between polylines",
		"0,0\n1,0,3\n":                  "side.csv:2:1: 3 values on a line; give y and z, and an empty line between polylines",
		"0,0\n1,0\n\n2,2\n":             "side.csv:4:1: a polyline of one point; give it two or more, or take it out",
		"x [m],z [m]\n0,0\n1,0\n":       `side.csv:1:1: a heading "x [m],z [m]", of y and z one is expected; write "y [mm], z [mm]", or no heading at all for metres`,
		"y [kg],z [m]\n0,0\n1,0\n":      `side.csv:1:1: unit "kg" does not measure a length; a unit such as m is expected; write "y [mm], z [mm]", or no heading at all for metres`,
		"y [mm], z [mm]\n0,0\n3e10,0\n": `side.csv:3:1: "3e10" is no place; give a number, with a point for decimals`,
	} {
		_, err := ReadSilhouette("side.csv", strings.NewReader(text))
		var in *wake.InputError
		if !errors.As(err, &in) || err.Error() != want {
			t.Errorf("%.40q: %v, %q is expected", text, err, want)
		}
	}
}

// TestDoubtOfTimeAverages: of two means of two blocks each, which lie 0.02 to either side,
// the expanded uncertainty of the difference is k·√2·0.02 at every sample, on sheet and page.
func TestDoubtOfTimeAverages(t *testing.T) {
	take := func(k, off float64) *measure.Measurement {
		s := waketest.Lattice(linear(k), -2, 2, 0, 2, 21, 11)
		if off > 0 {
			s.Blocks = &wake.Blocks{Field: make([][wake.NumQuantities][]float64, 2)}
			for j, sign := range []float64{-1, 1} {
				u := slices.Clone(s.Col[wake.U])
				floats.AddConst(sign*off, u)
				s.Blocks.Field[j][wake.U] = u
			}
		}
		return measured(t, s, grid.Nodes)
	}
	a, b := take(0, 0.02), take(0.05, 0.02)
	want := uncertainty.Coverage(1) * math.Sqrt2 * 0.02
	d := doubt(a, b, "u/U")
	if len(d) != 21*11 {
		t.Fatalf("%d doubts", len(d))
	}
	for _, x := range d {
		if !(math.Abs(x-want) < 1e-12) || !(want > 0.01) {
			t.Fatalf("doubt %g, want %g", x, want)
		}
	}
	if doubt(a, b, "k") != nil || doubt(a, take(0, 0), "u/U") != nil {
		t.Error("a doubt where nothing is known")
	}
	o, f := outcomeOf(a, b)
	v := must(Viewer(t.Context(), o, f, Options{Quantities: []string{"Cpt", "u/U"}}))
	c := v.Stations[0].Configurations
	for _, c := range c {
		if len(c.Doubt[1]) != 21*11 || math.Abs(float64(c.Doubt[1][40])-want/math.Sqrt2) > 1e-6 {
			t.Errorf("the page's doubts of %s: %v", c.Name, c.Doubt)
		}
	}
}

// FuzzReadSilhouette: no panic, and what is read is finite and can be drawn.
func FuzzReadSilhouette(f *testing.F) {
	f.Add("y [mm],z [mm]\n0,0\n1,0\n\n1 2\n")
	f.Add("0,0\n1,nan\n")
	f.Add("\ufeff0;0\n1;0\n# x\n1;1\n0;0\n")
	f.Fuzz(func(t *testing.T, s string) {
		lines, err := ReadSilhouette("s.csv", strings.NewReader(s))
		if err != nil {
			var in *wake.InputError
			if !errors.As(err, &in) {
				t.Errorf("%q: %v names no place", s, err)
			}
			return
		}
		for _, l := range lines {
			if len(l.Points) < 2 {
				t.Errorf("%q: a line of %d points", s, len(l.Points))
			}
			for _, p := range l.Points {
				if !(math.Abs(p.X) <= 1e6 && math.Abs(p.Y) <= 1e6) {
					t.Errorf("%q: %v", s, p)
				}
			}
		}
	})
}

// TestMoves: the arrow of a move is full where it is resolved, open where it is not and left
// out of the sheet where it is not judged; one factor holds for a study, by the longest of
// those that are drawn, in a window 5 m wide.
func TestMoves(t *testing.T) {
	for _, c := range []struct {
		name    string
		verdict string
		length  float64
		open    bool
		factor  int
	}{
		{"resolved", uncertainty.Resolved, 0.09, false, 10},
		{"not resolved", uncertainty.NotResolved, 0.15, true, 5},
		{"short", uncertainty.Resolved, 0.003, false, 20},
		{"long", uncertainty.Resolved, 0.7, false, 1},
		{"not judged", uncertainty.NotJudged, 0.7, false, 20},
	} {
		region := func(y float64) []measure.Region {
			return []measure.Region{{Name: "wheel", Centroid: &[2]float64{y, 0.5}}}
		}
		shift := &compare.Shift{}
		shift.Verdict = c.verdict
		cmp := &compare.Comparison{
			Baseline: &measure.Result{Regions: region(1)},
			Variants: []compare.Variant{{Survey: &measure.Result{Regions: region(1 + c.length)}, Regions: []compare.RegionDelta{{Name: "wheel", Shift: shift}}}},
		}
		var base, variant render.Panel
		(Options{}).move(cmp, 0, &base, &variant)
		if full := c.verdict != uncertainty.NotJudged; len(base.Markers) != 1 || len(variant.Markers) != 2 || (len(variant.Arrows) == 1) != full || base.Markers[0] != variant.Markers[0] {
			t.Errorf("%s: marks %v and %v, arrows %v", c.name, base.Markers, variant.Markers, variant.Arrows)
		}
		arrows, verdicts := moves(cmp, 0)
		if len(arrows) != 1 || arrows[0].Open != c.open || verdicts[0] != c.verdict {
			t.Errorf("%s: %+v, %q", c.name, arrows, verdicts)
		}
		o := Options{shared: &shared{}}
		o.shared.windows = map[wake.Axis]grid.Box{wake.AxisX: {Max: grid.Point{X: 5, Y: 3}}}
		cmp.Baseline.Station.Normal = "x"
		if got := o.magnified([]*compare.Comparison{cmp}); got != c.factor {
			t.Errorf("%s: a move of %g m is drawn ×%d, want ×%d", c.name, c.length, got, c.factor)
		}
	}
}
