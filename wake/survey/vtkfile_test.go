package survey

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/grid"
	"wakeledger/grid/gridtest"
	"wakeledger/grid/quad"
	"wakeledger/wake"
)

// planes reads a file and recognises its planes.
func planes(t testing.TB, name string, opt Options) []*wake.Plane {
	t.Helper()
	s, err := Read(context.Background(), name, opt)
	if err != nil {
		t.Fatal(err)
	}
	p, err := wake.Planes(s, wake.PlaneOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range p {
		if err := gridtest.Validate(q.Mesh); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	return p
}

func codes(ws []wake.Warning) string {
	var c []string
	for _, w := range ws {
		c = append(c, w.Code)
	}
	return strings.Join(c, " ")
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s = %.15g, want %.15g within %.1g", what, got, want, tol)
	}
}

// compareLibrary takes every file that dir/truth.json lists through the reader,
// the mesh and the integrals, and compares area, ∫ of the point array lin and ∫ of
// the cell array "cell lin" with what the library found.
func compareLibrary(t *testing.T, dir string) {
	t.Helper()
	var all struct {
		Shapes map[string]struct {
			Area, Lin   float64
			CellLin     float64 `json:"cell lin"`
			Sizes       struct{ Count int }
			HiddenCells int `json:"hidden cells"`
		}
		Files []struct {
			File, Shape string
			Digits      float64
			Blocks      []string
		}
	}
	b, err := os.ReadFile(filepath.Join(dir, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &all); err != nil || len(all.Files) < 20 {
		t.Fatalf("%d files, %v", len(all.Files), err)
	}
	for _, f := range all.Files {
		if f.Blocks != nil {
			continue // see TestBlocks
		}
		t.Run(f.File, func(t *testing.T) {
			want := all.Shapes[f.Shape]
			tol := math.Max(1e-6, f.Digits)
			if f.Shape == "quads" || f.Shape == "structured_j" { // float32 points
				tol = 1e-5
			}
			name := filepath.Join(dir, f.File)
			for _, c := range []struct {
				array string
				want  float64
			}{{"lin", want.Lin}, {"cell lin", want.CellLin}} {
				p := planes(t, name, Options{Columns: columns{wake.Cp: c.array}})
				if len(p) != 1 {
					t.Fatalf("%d planes, normal %s", len(p), p[0].Normal)
				}
				w := quad.NewWeights(p[0].Mesh, nil)
				near(t, c.array+": area", w.Area(), want.Area, tol)
				near(t, c.array+": integral", w.Integrate(p[0].Field[wake.Cp]), c.want, tol)
				if n := want.Sizes.Count - want.HiddenCells; p[0].Mesh.Elements() != n {
					t.Errorf("%s: %d elements (%s), want %d", c.array, p[0].Mesh.Elements(), p[0].Mesh.Kind, n)
				}
				if cells := p[0].Mesh.Support == grid.Cells; cells != (c.array == "cell lin") {
					t.Errorf("%s: support %s", c.array, p[0].Mesh.Support)
				}
				// The library writes some cells in several pieces.
				if !strings.Contains(f.File, "-parallel-") && strings.Contains(codes(p[0].Warnings), "overlap") {
					t.Errorf("%s: %v", c.array, p[0].Warnings)
				}
			}
		})
	}
}

func TestLibraryFiles(t *testing.T) {
	compareLibrary(t, "vtk/testdata/fixed")
}

// Three blocks that cover the same window must not count three times.
func TestBlocks(t *testing.T) {
	s, err := Read(context.Background(), "vtk/testdata/fixed/blocks.vtm", Options{Columns: columns{wake.Cp: "lin"}})
	if err != nil {
		t.Fatal(err)
	}
	p, err := wake.Planes(s, wake.PlaneOptions{})
	var in *wake.InputError
	switch {
	case err == nil:
		near(t, "area", quad.NewWeights(p[0].Mesh, nil).Area(), 2.88, 1e-3)
		if !strings.Contains(codes(p[0].Warnings), "overlapping-polygons") {
			t.Errorf("no word of the overlap: %v", p[0].Warnings)
		}
	case !errors.As(err, &in) || !strings.Contains(in.Text, "overlap"):
		t.Error(err)
	}
}

// legacy writes polygonal data by hand.
func legacy(points [][3]float64, polygons [][]int, attributes string) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# vtk DataFile Version 3.0\nplane\nASCII\nDATASET POLYDATA\nPOINTS %d double\n", len(points))
	for _, p := range points {
		fmt.Fprintln(&b, p[0], p[1], p[2])
	}
	size := 0
	for _, q := range polygons {
		size += len(q) + 1
	}
	if len(polygons) > 0 {
		fmt.Fprintf(&b, "POLYGONS %d %d\n", len(polygons), size)
		for _, q := range polygons {
			fmt.Fprintln(&b, len(q), strings.Trim(fmt.Sprint(q), "[]"))
		}
	}
	b.WriteString(attributes)
	return []byte(b.String())
}

// field writes arrays in a FIELD block: name, components, values.
func field(kind string, n int, arrays ...any) string {
	s := fmt.Sprintf("%s %d\nFIELD FieldData %d\n", kind, n, len(arrays)/3)
	for k := 0; k < len(arrays); k += 3 {
		s += fmt.Sprintf("%s %d %d double\n%s\n", arrays[k], arrays[k+1], n, strings.Trim(fmt.Sprint(arrays[k+2]), "[]"))
	}
	return s
}

var (
	fourPoints = [][3]float64{{2, 0, 0}, {2, 1, 0}, {2, 1, 1}, {2, 0, 1}}
	oneQuad    = [][]int{{0, 1, 2, 3}}
	twoTris    = [][]int{{0, 1, 2}, {0, 2, 3}}
)

// Arrays find their quantities by name, component and unit.
func TestArrayNames(t *testing.T) {
	vector := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}
	tensor := func(rows ...float64) (v []float64) {
		for range 4 {
			v = append(v, rows...)
		}
		return v
	}
	ramp := []float64{1, 2, 3, 4}
	for _, c := range []struct {
		name   string
		fields string
		opt    Options
		q      wake.Quantity
		want   [4]float64
		unit   string
		codes  string
	}{
		{"vector", field("POINT_DATA", 4, "U", 3, vector), Options{}, wake.V, [4]float64{2, 5, 8, 11}, "", ""},
		{"mean vector", field("POINT_DATA", 4, "UMean", 3, vector), Options{}, wake.W, [4]float64{3, 6, 9, 12}, "", ""},
		{"vector with a unit", field("POINT_DATA", 4, "Velocity%20%5Bkm/h%5D", 3, vector), Options{}, wake.U, [4]float64{1 / 3.6, 4 / 3.6, 7 / 3.6, 10 / 3.6}, "km/h", ""},
		{"component by number", field("POINT_DATA", 4, "flow", 3, vector), Options{Columns: columns{wake.U: "flow:1 [mm/s]"}}, wake.U, [4]float64{.002, .005, .008, .011}, "mm/s", ""},
		{"component by letter", field("POINT_DATA", 4, "flow", 3, vector), Options{Columns: columns{wake.U: "flow_z"}}, wake.U, [4]float64{3, 6, 9, 12}, "", ""},
		{"kinematic pressure", field("POINT_DATA", 4, "p", 1, ramp), Options{Columns: columns{wake.P: "p [m2/s2]"}, Density: 1.25}, wake.P, [4]float64{1.25, 2.5, 3.75, 5}, "m2/s2", "kinematic-pressure"},
		{"frame", field("POINT_DATA", 4, "U", 3, vector), Options{Frame: frame(t, "x forward, y left, z up")}, wake.U, [4]float64{-1, -4, -7, -10}, "", ""},
		{"tensor", field("POINT_DATA", 4, "UPrime2Mean", 6, tensor(1, 2, 3, -4, 5, 6)), Options{}, wake.WW, [4]float64{3, 3, 3, 3}, "", "tensor-order"},
		{"tensor of another order", field("POINT_DATA", 4, "p", 1, ramp, "ReynoldsStress", 6, tensor(1, -2, 3, 4, 5, 6)), Options{}, wake.P, [4]float64{1, 2, 3, 4}, "", "tensor-order"},
		{"full tensor", field("POINT_DATA", 4, "Reynolds_Stress", 9, tensor(1, 2, 3, 4, 5, 6, 7, 8, 9)), Options{}, wake.VV, [4]float64{5, 5, 5, 5}, "", ""},
		{"points win", field("POINT_DATA", 4, "p", 1, ramp) + field("CELL_DATA", 1, "p", 1, []float64{9}), Options{}, wake.P, [4]float64{1, 2, 3, 4}, "", "other-values"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := readBytes(context.Background(), "f.vtk", legacy(fourPoints, oneQuad, c.fields), c.opt)
			if err != nil {
				t.Fatal(err)
			}
			if s.Col[c.q] == nil {
				t.Fatalf("no %s; ignored %q", c.q, s.Ignored)
			}
			for i, want := range c.want {
				if x := s.Col[c.q][i]; !(math.Abs(x-want) < 1e-14) {
					t.Errorf("%s of point %d is %g, want %g", c.q, i, x, want)
				}
			}
			if s.Source[c.q].Unit != c.unit || codes(s.Warnings) != c.codes {
				t.Errorf("unit %q, warnings %v", s.Source[c.q].Unit, s.Warnings)
			}
		})
	}
	for _, c := range []struct {
		fields, want string
		opt          Options
	}{
		{field("POINT_DATA", 4, "p", 1, ramp), `f.vtk: --column u="speed": no column has that name; the columns are "x", "y", "z"`, Options{Columns: columns{wake.U: "speed"}}},
		{field("POINT_DATA", 4, "p", 1, ramp, "P", 1, ramp), `f.vtk: columns "p" (4) and "P" (5) both say that they are p; choose with --column p="5"`, Options{}},
		{field("POINT_DATA", 4, "p", 1, ramp), `f.vtk: p is a pressure over density (m2/s2) and the density is not known; give it with --density`, Options{Columns: columns{wake.P: "p [m2/s2]"}}},
	} {
		_, err := readBytes(context.Background(), "f.vtk", legacy(fourPoints, oneQuad, c.fields), c.opt)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("got  %v\nwant %s", err, c.want)
		}
	}
}

// Names of components that a file has say which is which, in any order.
func TestComponentNames(t *testing.T) {
	for _, c := range []struct {
		array, names string
		doubt        bool
		want         map[wake.Quantity]float64
	}{
		{"UPrime2Mean", "XX XY XZ YY YZ ZZ", false, map[wake.Quantity]float64{wake.UU: 1, wake.VV: 4, wake.WW: 6}},
		{"UPrime2Mean", "XX YY ZZ XY YZ XZ", false, map[wake.Quantity]float64{wake.UU: 1, wake.VV: 2, wake.WW: 3}},
		{"UPrime2Mean", "a b c d e f", true, map[wake.Quantity]float64{wake.UU: 1, wake.VV: 2, wake.WW: 3}},
		{"U", "Z Y X", false, map[wake.Quantity]float64{wake.U: 3, wake.V: 2, wake.W: 1}},
		{"U", "X  ", false, map[wake.Quantity]float64{wake.U: 1, wake.V: 2, wake.W: 3}},
		{"U", "along across up", false, map[wake.Quantity]float64{wake.U: 1, wake.V: 2, wake.W: 3}},
	} {
		named, row := "", ""
		for k, name := range strings.Split(c.names, " ") {
			named += fmt.Sprintf(` ComponentName%d="%s"`, k, name)
			row += fmt.Sprintf(" %d", k+1)
		}
		s, err := readBytes(t.Context(), "f.vtp", fmt.Appendf(nil, `<VTKFile type="PolyData" version="1.0"><PolyData><Piece NumberOfPoints="4" NumberOfPolys="0">
<Points><DataArray type="Float64" NumberOfComponents="3" format="ascii">2 0 0 2 1 0 2 1 1 2 0 1</DataArray></Points>
<PointData><DataArray type="Float64" Name="%s" NumberOfComponents="%d"%s format="ascii">%s</DataArray></PointData></Piece></PolyData></VTKFile>`,
			c.array, len(strings.Fields(row)), named, strings.Repeat(row, 4)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for q, want := range c.want {
			if s.Col[q] == nil || s.Col[q][3] != want {
				t.Errorf("%s of %s: %s is %v, want %g", c.names, c.array, q, s.Col[q], want)
			}
		}
		if strings.Contains(codes(s.Warnings), "tensor-order") != c.doubt {
			t.Errorf("%s of %s: %v", c.names, c.array, s.Warnings)
		}
	}
}

// What a value is missing from, or what the library marks, is left out with its
// polygons; two stations in one file are two planes, in millimetres too.
func TestPolygonsOfSamples(t *testing.T) {
	read := func(points [][3]float64, polygons [][]int, fields string, opt Options) ([]*wake.Plane, *wake.Samples) {
		s, err := readBytes(context.Background(), "f.vtk", legacy(points, polygons, fields), opt)
		if err != nil {
			t.Fatal(err)
		}
		p, err := wake.Planes(s, wake.PlaneOptions{})
		if err != nil {
			t.Fatal(err)
		}
		return p, s
	}
	five := append(append([][3]float64{}, fourPoints...), [3]float64{2, 2, 0.5})
	p, s := read(five, append(twoTris, []int{1, 4, 2}), field("POINT_DATA", 5, "p", 1, "1 2 3 4 nan"), Options{})
	if s.Dropped != 1 || codes(p[0].Warnings) != "polygons-without-values" || p[0].Mesh.Elements() != 2 {
		t.Errorf("dropped %d, %v, %d elements", s.Dropped, p[0].Warnings, p[0].Mesh.Elements())
	}
	near(t, "area", quad.NewWeights(p[0].Mesh, nil).Area(), 1, 1e-15)

	both := append([][3]float64{}, fourPoints...)
	for _, q := range fourPoints {
		both = append(both, [3]float64{5, 3 * q[1], q[2]})
	}
	mm := Options{Columns: columns{wake.X: "x [mm]", wake.Y: "y [mm]", wake.Z: "z [mm]"}, Frame: frame(t, "x forward, y left, z up")}
	for _, cells := range []bool{false, true} {
		quads := [][]int{{0, 1, 2}, {0, 2, 3}, {4, 5, 6}, {4, 6, 7}}
		fields := field("POINT_DATA", 8, "p", 1, "1 1 1 1 2 2 2 2")
		want := 4 // samples
		if cells {
			// Four cells to a plane, as a plane needs four samples.
			quads = [][]int{{0, 1, 2}, {0, 2, 3}, {4, 5, 6}, {4, 6, 7}}
			both2 := append([][3]float64{}, both...)
			both2 = append(both2, [3]float64{2, 2, 0}, [3]float64{2, 2, 1}, [3]float64{5, 6, 0}, [3]float64{5, 6, 1})
			quads = append(quads, []int{1, 8, 9}, []int{1, 9, 2}, []int{5, 10, 11}, []int{5, 11, 6})
			both = both2
			fields = field("CELL_DATA", 8, "p", 1, "1 1 2 2 1 1 2 2")
		}
		p, _ = read(both, quads, fields, mm)
		if len(p) != 2 {
			t.Fatalf("%d planes", len(p))
		}
		for k, q := range p {
			width := []float64{3, 1}[k] // x forward: the plane at 5 mm comes first
			if cells {
				width *= 2
			}
			w := quad.NewWeights(q.Mesh, nil)
			near(t, "area", w.Area()*1e6, width, 1e-12)
			near(t, "integral", w.Integrate(q.Field[wake.P])*1e6, width*float64(2-k), 1e-12)
			if len(q.Mesh.Points) != want || q.Position != []float64{-0.005, -0.002}[k] {
				t.Errorf("cells %v, plane %d: %d samples at %g", cells, k, len(q.Mesh.Points), q.Position)
			}
		}
	}
}

// A vector field in one format and a pressure in another, with the polygons in
// either file.
func TestJoinFormats(t *testing.T) {
	dir := write(t, map[string]string{
		"u.vtk": string(legacy(fourPoints, twoTris, field("POINT_DATA", 4, "U", 3, []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}))),
		"p.csv": "x,y,z,p\n2,0,1,40\n2,1,1,30\n2,1,0,20\n2,0,0,10\n",
	})
	for _, name := range []string{"u.vtk+p.csv", "p.csv+u.vtk"} {
		p := planes(t, filepath.Join(dir, name), Options{})[0]
		if p.Mesh.Kind != grid.KindPolygons || p.Mesh.Elements() != 2 {
			t.Errorf("%s: %d elements, %s", name, p.Mesh.Elements(), p.Mesh.Kind)
		}
		for i, q := range p.Mesh.Points {
			k := map[grid.Point]float64{{X: 0, Y: 0}: 1, {X: 1, Y: 0}: 2, {X: 1, Y: 1}: 3, {X: 0, Y: 1}: 4}[q]
			if p.Field[wake.P][i] != 10*k || p.Field[wake.U][i] != 3*k-2 {
				t.Errorf("%s: at %v p is %g and u is %g", name, q, p.Field[wake.P][i], p.Field[wake.U][i])
			}
		}
		near(t, "integral", quad.NewWeights(p.Mesh, nil).Integrate(p.Field[wake.P]), (10+20+30)/6.+(10+30+40)/6., 1e-14)
	}
}
