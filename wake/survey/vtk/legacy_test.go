package vtk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"wakeledger/wake"
)

// one reads a file that is no index.
func one(t testing.TB, data string) *Dataset {
	t.Helper()
	d, err := Read("slice.vtk", []byte(data), nil, nil)
	if err == nil {
		err = wellFormed(d)
	}
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// same compares with NaN equal to NaN.
func same(t testing.TB, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateEmpty()); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

func noted(d *Dataset, part string) bool {
	for _, n := range d.Notes {
		if strings.Contains(n, part) {
			return true
		}
	}
	return false
}

func TestHandWritten(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("testdata", "hand-3.0.vtk"))
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	for _, c := range []struct{ name, data string }{
		{"lf", string(b)},
		{"crlf", strings.ReplaceAll(string(b), "\n", "\r\n")},
		{"marked", "\xef\xbb\xbf" + string(b)},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := one(t, c.data)
			same(t, "points", d.Points[18:], []float64{2, 3, 0.5})
			same(t, "cells", d.Cells, Polygons{[]int32{0, 4, 8, 11}, []int32{0, 1, 4, 3, 1, 2, 5, 4, 2, 6, 5}})
			same(t, "point arrays", d.PointArrays, []Array{
				{Name: "p", Components: 1, Values: []float64{1, -2.5, 3, 4, 0.5, 6, 700}},
				{Name: "velocity", Components: 3, Values: []float64{30, 0, 0, 30, 0, 0, 30, 0, 0, 25, 1, -1, 25, 1, -1, 25, 1, -1, nan, nan, nan}},
				{Name: "pair", Components: 2, Values: []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13}},
				{Name: "facing", Components: 3, Values: []float64{1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0}},
				{Name: "uv", Components: 2, Values: []float64{0, 0, 1, 0, 2, 0, 0, 1, 1, 1, 2, 1, 3, 0.5}},
				d.PointArrays[5],
			})
			st := d.PointArrays[5]
			if st.Name != "stress" || st.Components != 9 || len(st.Values) != 63 || st.Values[62] != 2 {
				t.Errorf("tensors %v", st)
			}
			// The line comes first in the order of cell values.
			same(t, "cell arrays", d.CellArrays, []Array{
				{Name: "Wake Part", Components: 1, Values: []float64{10, 11, 12}},
				{Name: "drag", Components: 1, Values: []float64{1.5, 2.5, 1e-3}},
			})
			same(t, "notes", d.Notes, []string{"left out with their values, since they have no area: 1 cell"})
		})
	}
}

// be joins values as a binary legacy file holds them.
func be(v ...any) string {
	var b []byte
	for _, x := range v {
		var err error
		if b, err = binary.Append(b, binary.BigEndian, x); err != nil {
			panic(err)
		}
	}
	return string(b)
}

const binaryTriangle = "# vtk DataFile Version 4.2\ntitle\nBINARY\nDATASET POLYDATA\n"

func trianglePoints() string {
	return "POINTS 3 float\n" + be([]float32{0, 0, 0, 0, 1, 0, 0, 0, 1}) + "\nPOLYGONS 1 4\n" + be([]int32{3, 0, 1, 2}) + "\n"
}

func TestLegacyBinaryDetails(t *testing.T) {
	long := strings.Repeat("z", 300)
	texts := "\xc5hello" + "\xc0" + "\x81\x2c" + long + "\x40\x00\x00\x02ab" + "\x00\x00\x00\x00\x00\x00\x00\x01c"
	d := one(t, binaryTriangle+
		// A field of texts before the points: lengths of one, two, four and eight bytes.
		"FIELD FieldData 1\ns 1 5 string\n"+texts+"\n"+trianglePoints()+
		"POINT_DATA 3\nSCALARS short short 1\nLOOKUP_TABLE default\n"+be([]int16{-1, 2, -3})+
		"\nCOLOR_SCALARS paint 4\n"+strings.Repeat("\x0a\x0d\x00\xff", 3)+
		"\nVECTORS v double\n"+be([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9})+
		"\nMETADATA\nCOMPONENT_NAMES\nX%20a\n\nZ\nINFORMATION 1\nNAME a LOCATION b\nDATA 2 0 1\n\n"+
		"FIELD FieldData 1\nlong8 1 3 long\n"+be([]int64{-70, 80, 90})+
		"\nSCALARS bits bit\nLOOKUP_TABLE default\n\xa0\n")
	same(t, "point arrays", d.PointArrays, []Array{
		{Name: "short", Components: 1, Values: []float64{-1, 2, -3}},
		{Name: "v", Components: 3, Values: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9}},
		{Name: "long8", Components: 1, Values: []float64{-70, 80, 90}},
		{Name: "bits", Components: 1, Values: []float64{1, 0, 1}},
	})
}

func TestLegacyStructured(t *testing.T) {
	head := "# vtk DataFile Version 4.2\nt\nASCII\nDATASET "
	d := one(t, head+"STRUCTURED_POINTS\nDIMENSIONS 2 2 1\nORIGIN 10 20 30\nASPECT_RATIO 1 2 3\nCELL_DATA 1\nSCALARS p float\nLOOKUP_TABLE default\n5\n")
	same(t, "points", d.Points, []float64{10, 20, 30, 11, 20, 30, 10, 22, 30, 11, 22, 30})
	same(t, "cell values", d.CellArrays[0].Values, []float64{5})

	d = one(t, head+"RECTILINEAR_GRID\nDIMENSIONS 1 2 2\nX_COORDINATES 1 float\n7\nY_COORDINATES 2 float\n0 1\nZ_COORDINATES 2 float\n3 5\nPOINT_DATA 4\nSCALARS p float\nLOOKUP_TABLE default\n1 2 3 4\n")
	same(t, "points", d.Points, []float64{7, 0, 3, 7, 1, 3, 7, 0, 5, 7, 1, 5})

	// A row of points has no cells.
	d = one(t, head+"STRUCTURED_POINTS\nDIMENSIONS 1 1 3\nORIGIN 0 0 0\nSPACING 1 1 1\nPOINT_DATA 3\nSCALARS p float\nLOOKUP_TABLE default\n1 2 3\nCELL_DATA 2\nSCALARS c float\nLOOKUP_TABLE default\n1 2\n")
	if d.Cells.Len() != 0 || d.NumPoints() != 3 || !noted(d, "no cells with an area") {
		t.Errorf("a row of points: %+v", d)
	}
}

// TestErrors checks what is said, where, and the cure.
func TestErrors(t *testing.T) {
	text := "# vtk DataFile Version 4.2\nt\nASCII\n"
	poly := text + "DATASET POLYDATA\nPOINTS 3 float\n0 0 0 0 1 0 0 0 1\n"
	ugrid := func(typ, n int) string {
		ids := ""
		for i := range n {
			ids += fmt.Sprint(" ", i%3)
		}
		return text + "DATASET UNSTRUCTURED_GRID\nPOINTS 3 float\n0 0 0 0 1 0 0 0 1\nCELLS 1 " + fmt.Sprint(n+1) + "\n" + fmt.Sprint(n) + ids + "\nCELL_TYPES 1\n" + fmt.Sprint(typ) + "\n"
	}
	slice := "export a slice"
	for _, c := range []struct {
		name, data string
		line       int
		part, cure string
	}{
		{"nothing", "", 1, "the file begins with \"\"", ".vtp"},
		{"other", "y,z,u\n1,2,3\n", 1, `the file begins with "y,z,u`, "give a .vtk"},
		{"version", "# vtk DataFile Version x\n", 1, `the first line is "# vtk DataFile Version x"`, "export it again"},
		{"new version", "# vtk DataFile Version 7.0\n", 1, "version \"7.0\"", "5.1"},
		{"encoding", "# vtk DataFile Version 3.0\nt\nTEXT\n", 3, `"TEXT", expected ASCII or BINARY`, "export it again"},
		{"table", text + "DATASET TABLE\n", 4, `"TABLE"`, "polygonal data"},
		{"before", text + "POINTS 3 float\n", 4, "POINTS before DATASET", ""},
		{"wrong part", poly + "CELL_TYPES 1\n", 7, "CELL_TYPES in a file of polygonal data", ""},
		{"few points", text + "DATASET POLYDATA\nPOINTS 3 float\n0 0 0 0 1 0 0 0\n", 7, "the text ends after 8 of 9 numbers", "copy or export"},
		{"many points", text + "DATASET POLYDATA\nPOINTS 700000000 float\n0 0 0\n", 5, "2100000000 numbers are announced, but only", ""},
		{"bad number", text + "DATASET POLYDATA\nPOINTS 3 float\n0 0 0\n0 1,5 0 0 0 1\n", 7, `number 5 of 9 is "1,5"`, ""},
		{"type", text + "DATASET POLYDATA\nPOINTS 3 quad\n", 5, `the type "quad"`, ""},
		{"corner", poly + "POLYGONS 1 4\n3 0 1 3\n", 7, "corner 3 of 3 is point 3, expected 0 to 2", ""},
		{"negative corner", poly + "POLYGONS 1 4\n3 0 1 -1\n", 7, "is point -1", ""},
		{"list short", poly + "POLYGONS 2 5\n3 0 1 2\n1\n", 7, "cell 2 of 2 has 1 corners, 0 numbers are left", ""},
		{"list long", poly + "POLYGONS 1 5\n3 0 1 2 0\n", 7, "1 numbers are left over", ""},
		{"tuples", poly + "POLYGONS 1 4\n3 0 1 2\nPOINT_DATA 4\n", 9, "POINT_DATA announces 4 tuples, but the grid has 3", ""},
		{"field tuples", poly + "POINT_DATA 3\nFIELD f 1\np 1 2 float\n1 2\n", 9, `the array "p" has 2 tuples, expected 3`, ""},
		{"no table", poly + "POINT_DATA 3\nSCALARS p float\n1 2 3\n", 9, `the word "1", expected LOOKUP_TABLE`, ""},
		{"word", poly + "POINT_DATA 3\nPRESSURE p float\n1 2 3\n", 8, `the word "PRESSURE" is not known`, ""},
		{"late", poly + "POINT_DATA 3\nPOLYGONS 1 4\n3 0 1 2\n", 8, "POLYGONS behind POINT_DATA", ""},
		{"tetrahedron", ugrid(10, 4), 9, "cell 0 is of type 10, which fills a volume or is curved", slice},
		{"quadratic", ugrid(22, 6), 9, "cell 0 is of type 22", "straight"},
		{"triangle of four", ugrid(5, 4), 7, "cell 0 of type 5 has 4 corners, expected 3", ""},
		{"box", text + "DATASET STRUCTURED_POINTS\nDIMENSIONS 2 3 4\nORIGIN 0 0 0\nSPACING 1 1 1\n", 5, "2 × 3 × 4 points and fills a volume", slice},
		{"huge", text + "DATASET STRUCTURED_POINTS\nDIMENSIONS 1 40000 40000\n", 5, "expected fewer than", ""},
		{"bare", text + "DATASET STRUCTURED_POINTS\nDIMENSIONS 1 4000 4000\n", 4, "carries no values", "export the arrays"},
		{"grid points", text + "DATASET STRUCTURED_GRID\nDIMENSIONS 1 2 2\nPOINTS 3 float\n0 0 0 0 0 0 0 0 0\n", 6, "3 points, but DIMENSIONS 1 × 2 × 2", ""},
		{"offsets", strings.Replace(poly, "4.2", "5.1", 1) + "POLYGONS 2 3\nOFFSETS vtktypeint64\n0 4\nCONNECTIVITY vtktypeint64\n0 1 2\n", 8, "OFFSETS end with 4, but 3 corners", ""},
		{"offsets fall", strings.Replace(poly, "4.2", "5.1", 1) + "POLYGONS 3 3\nOFFSETS vtktypeint64\n0 3 2\nCONNECTIVITY vtktypeint64\n0 1 2\n", 8, "entry 2 of 2 is 2 after 3, expected no decrease", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("in/slice.vtk", []byte(c.data), nil, nil)
			var in *wake.InputError
			if !errors.As(err, &in) {
				t.Fatalf("%T %v", err, err)
			}
			if in.File != "in/slice.vtk" || in.Line != c.line || !strings.Contains(in.Text, c.part) || !strings.Contains(in.Cure, c.cure) || in.Cure == "" || !strings.Contains(in.Text, "(byte ") {
				t.Errorf("got %q at line %d, want line %d, %q and the cure %q", err, in.Line, c.line, c.part, c.cure)
			}
		})
	}
}

func TestParseFloat(t *testing.T) {
	for _, c := range []struct {
		in   string
		want float64
		ok   bool
	}{
		{"1", 1, true}, {"-0", math.Copysign(0, -1), true}, {"1.", 1, true}, {".5", 0.5, true}, {"+2.5E-3", 0.0025, true},
		{"9007199254740993", 9007199254740992, true}, {"0.1", 0.1, true}, {"123456789012345678901234567890", 1.2345678901234568e29, true},
		{"1e-320", 1e-320, true}, {"2.2250738585072014e-308", 0x1p-1022, true}, {"1e22", 1e22, true}, {"1e23", 1e23, true},
		{"nan", math.NaN(), true}, {"-nan", math.NaN(), true}, {"-nan(ind)", math.NaN(), true}, {"NaN", math.NaN(), true},
		{"inf", math.Inf(1), true}, {"-inf", math.Inf(-1), true}, {"1e999", 0, false},
		{"", 0, false}, {"-", 0, false}, {".", 0, false}, {"1,5", 0, false}, {"1e", 0, false}, {"1e5x", 0, false}, {"--1", 0, false}, {"1.2.3", 0, false}, {"e5", 0, false},
	} {
		got, ok := parseFloat([]byte(c.in))
		if ok != c.ok || ok && math.Float64bits(got) != math.Float64bits(c.want) && !(got != got && c.want != c.want) {
			t.Errorf("%q: %v %v, want %v %v", c.in, got, ok, c.want, c.ok)
		}
	}
}
