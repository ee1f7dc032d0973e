package vtk

import (
	"errors"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// folder opens files from memory.
type folder map[string]string

func (f folder) open(rel string) ([]byte, error) {
	s, ok := f[rel]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: rel, Err: fs.ErrNotExist}
	}
	return []byte(s), nil
}

func pvtp(sources ...string) string {
	s := `<VTKFile type="PPolyData" byte_order="LittleEndian"><PPolyData GhostLevel="0"><PPointData/>`
	for _, n := range sources {
		s += `<Piece Source="` + n + `"/>` + "\n"
	}
	return s + `</PPolyData></VTKFile>`
}

func vtm(body string) string {
	return `<VTKFile type="vtkMultiBlockDataSet" version="1.0" byte_order="LittleEndian"><vtkMultiBlockDataSet>` + body + `</vtkMultiBlockDataSet></VTKFile>`
}

func TestParallelIndex(t *testing.T) {
	c := func(v string) string { return ascii("c", "Float64", 1, v) }
	f := folder{
		"parts/a.vtp": vtp("", square(0, "", c("1")), ""),
		"parts/b.vtp": vtp("", square(1, "", c("2"))+square(2, "", c("3")), ""),
		"none.vtp":    vtp("", `<Piece NumberOfPoints="0"/>`, ""),
	}
	d, err := Read("deep/all.pvtp", []byte(pvtp("parts/a.vtp", `parts\b.vtp`, "none.vtp", "parts/a.vtp")), f.open, nil)
	if err != nil {
		t.Fatal(err)
	}
	if d.Cells.Len() != 3 || d.NumPoints() != 12 {
		t.Fatalf("%+v", d)
	}
	same(t, "values", d.CellArrays[0].Values, []float64{1, 2, 3})
	if !noted(d, `names the file "parts/a.vtp" more than once; it is read once`) {
		t.Errorf("notes %q", d.Notes)
	}
}

func TestBlockIndex(t *testing.T) {
	f := folder{
		"m/a.vtp":     vtp("", square(0, "", ""), ""),
		"m/b.vtk":     "# vtk DataFile Version 3.0\nt\nASCII\nDATASET STRUCTURED_POINTS\nDIMENSIONS 1 2 2\nORIGIN 0 0 0\nSPACING 1 1 1\nPOINT_DATA 4\nSCALARS p float\nLOOKUP_TABLE default\n1 2 3 4\n",
		"m/none.vtp":  vtp("", `<Piece NumberOfPoints="0"/>`, ""),
		"m/in.vtm":    vtm(`<DataSet index="0" name="c" file="c.pvtp"/>`),
		"m/c.pvtp":    pvtp("c/0.vtp"),
		"m/c/0.vtp":   vtp("", square(5, "", ""), ""),
		"m/other.vtp": "not this",
	}
	d, err := Read("all.vtm", []byte(vtm(`<DataSet index="0" name="floor" file="m/a.vtp"/><Block index="1" name="wake"><DataSet index="0" file="m/b.vtk"/>`+
		`<DataSet index="1"/><Piece index="2"><DataSet index="0" name="x" file="m/none.vtp"/></Piece></Block><DataSet index="2" name="more" file="m/in.vtm"/>`)), f.open, nil)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the first point of each block", []float64{d.Points[1], d.Points[13], d.Points[25]}, []float64{0, 0, 5})
	same(t, "an array of one block", d.PointArrays[0].Values[3:9], []float64{math.NaN(), 1, 2, 3, 4, math.NaN()})
	if d.NumPoints() != 12 || d.Cells.Len() != 3 || !noted(d, `2 of 3 pieces lack the point array "p"`) {
		t.Errorf("%d points, %d polygons, notes %q", d.NumPoints(), d.Cells.Len(), d.Notes)
	}
}

func TestIndexErrors(t *testing.T) {
	f := folder{
		"a.vtp":    vtp("", square(0, "", ""), ""),
		"bad.vtp":  vtp("", square(0, ascii("p", "Float64", 1, "1 2 3"), ""), ""),
		"loop.vtm": vtm(`<DataSet index="0" file="loop2.vtm"/>`), "loop2.vtm": vtm(`<DataSet index="0" file="loop.vtm"/>`),
	}
	for _, c := range []struct{ name, data, part string }{
		{"missing", pvtp("a.vtp", "b.vtp"), `in/i.xml:2: the index names the file "b.vtp", which cannot be read`},
		{"damaged", pvtp("bad.vtp"), `in/bad.vtp:5: the array "p"`},
		{"outside", pvtp("../a.vtp"), "outside its folder"},
		{"absolute", pvtp("/etc/passwd"), `names the file "/etc/passwd"`},
		{"drive", pvtp(`C:\a.vtp`), "names the file"},
		{"none", pvtp(), "names no file with data"},
		{"empty blocks", vtm(`<DataSet index="0"/><DataSet index="1"/>`), "names no file with data"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("in/i.xml", []byte(c.data), f.open, nil)
			wantError(t, err, c.part)
			if c.name == "missing" && !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("%v does not wrap the cause", err)
			}
		})
	}
	for _, data := range []string{pvtp("i.xml"), vtm(`<DataSet index="0" file="loop.vtm"/>`)} {
		if d, err := Read("in/i.xml", []byte(data), f.open, nil); err != nil || !noted(d, "more than once") || d.NumPoints() > 0 {
			t.Errorf("an index that leads back: %v, %+v", err, d)
		}
	}
	_, err := Read("i.pvtp", []byte(pvtp("a.vtp")), nil, nil)
	wantError(t, err, "cannot be opened from here")
}

// vts makes a flat structured grid of i0…i1 × j0…j1 whose points carry 10i + j, with
// cell values 100·piece + cell.
func vtsPiece(i0, i1, j0, j1 int, shift float64, extra string) string {
	var pts, vals, cells strings.Builder
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			pts.WriteString(num(0) + num(float64(i)+shift) + num(float64(j)))
			vals.WriteString(num(10*float64(i) + float64(j)))
		}
	}
	for j := j0; j < j1; j++ {
		for i := i0; i < i1; i++ {
			cells.WriteString(num(100*float64(i) + float64(j)))
		}
	}
	ext := strings.TrimSpace(num(float64(i0)) + num(float64(i1)) + num(float64(j0)) + num(float64(j1)) + "7 7")
	return `<Piece Extent="` + ext + `"><PointData>` + ascii("p", "Float64", 1, vals.String()) + `</PointData><CellData>` + ascii("c", "Float64", 1, cells.String()) + extra +
		`</CellData><Points><DataArray type="Float64" NumberOfComponents="3" format="ascii">` + pts.String() + "</DataArray></Points></Piece>\n"
}

func num(v float64) string {
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
	return s + " "
}

func TestGridPieces(t *testing.T) {
	file := func(p ...string) string {
		return `<VTKFile type="StructuredGrid" byte_order="LittleEndian"><StructuredGrid WholeExtent="0 9 0 9 7 7">` + strings.Join(p, "") + `</StructuredGrid></VTKFile>`
	}
	whole := one(t, file(vtsPiece(0, 4, 0, 3, 0, "")))
	if whole.Cells.Len() != 12 || whole.NumPoints() != 20 {
		t.Fatalf("%d cells, %d points", whole.Cells.Len(), whole.NumPoints())
	}
	// Each piece has points of its own; a copy of
	// a cell that is marked is left out without a note.
	ghosts := func(s string) string { return ascii("vtkGhostType", "UInt8", 1, s) }
	for _, c := range []struct {
		name   string
		pieces []string
		points int
		notes  []string
	}{
		{"meeting", []string{vtsPiece(0, 2, 0, 3, 0, ""), vtsPiece(2, 4, 0, 3, 0, "")}, 24, nil},
		{"three", []string{vtsPiece(2, 4, 1, 3, 0, ""), vtsPiece(0, 4, 0, 1, 0, ""), vtsPiece(0, 2, 1, 3, 0, "")}, 28, nil},
		{"marked", []string{vtsPiece(0, 3, 0, 3, 0, ghosts("0 0 1 0 0 1 0 0 1")), vtsPiece(2, 4, 0, 3, 0, ghosts("0 0 0 0 0 0"))}, 28, nil},
	} {
		d := one(t, file(c.pieces...))
		if d.Cells.Len() != 12 || d.NumPoints() != c.points || !slices.Equal(d.Notes, c.notes) {
			t.Errorf("%s: %d cells, %d points, notes %q", c.name, d.Cells.Len(), d.NumPoints(), d.Notes)
		}
		area, _, _ := integrals(d)
		if area != 12 {
			t.Errorf("%s: area %g, want 12", c.name, area)
		}
	}
	// Slices of one grid at several indices: all cells stay, for the reader of planes to part.
	apart := one(t, file(vtsPiece(0, 4, 0, 3, 0, ""), strings.Replace(vtsPiece(0, 4, 0, 3, 9, ""), "7 7", "9 9", 1)))
	if area, _, _ := integrals(apart); area != 24 || apart.Cells.Len() != 24 || apart.Notes != nil {
		t.Errorf("two slices: area %g, %d cells, notes %q", area, apart.Cells.Len(), apart.Notes)
	}
	// A missing array: NaN where only that piece reaches.
	d := one(t, file(vtsPiece(0, 1, 0, 1, 0, ascii("e", "Int8", 1, "3")), vtsPiece(1, 2, 0, 1, 0, "")))
	same(t, "missing", find(d.CellArrays, "e").Values, []float64{3, math.NaN()})
}
