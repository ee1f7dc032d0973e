package vtk

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// vtp wraps pieces in a file of polygonal data; attrs are further attributes.
func vtp(attrs, pieces, appended string) string {
	return `<?xml version="1.0"?>` + "\n" + `<VTKFile type="PolyData" version="1.0" byte_order="LittleEndian"` + attrs + ">\n<PolyData>\n" +
		pieces + "</PolyData>\n" + appended + "</VTKFile>\n"
}

// square is a piece with one unit square whose lower left corner is (0, y, 0).
func square(y float64, pointData, cellData string) string {
	return fmt.Sprintf(`<Piece NumberOfPoints="4" NumberOfPolys="1">
<PointData>%s</PointData><CellData>%s</CellData>
<Points><DataArray type="Float64" NumberOfComponents="3" format="ascii">0 %g 0  0 %g 0  0 %g 1  0 %g 1</DataArray></Points>
<Polys><DataArray type="Int32" Name="connectivity" format="ascii">0 1 2 3</DataArray><DataArray type="Int32" Name="offsets" format="ascii">4</DataArray></Polys>
</Piece>
`, pointData, cellData, y, y+1, y+1, y)
}

func ascii(name, typ string, comps int, text string) string {
	return fmt.Sprintf(`<DataArray type="%s" Name="%s" NumberOfComponents="%d" format="ascii">%s</DataArray>`, typ, name, comps, text)
}

func TestPieces(t *testing.T) {
	nan := math.NaN()
	d := one(t, vtp("",
		square(0, ascii("p", "Float32", 1, "1 2 3 4")+ascii("v", "Float64", 2, "1 2 3 4 5 6 7 nan"), ascii("c", "Int8", 1, "-5"))+
			`<Piece NumberOfPoints="0" NumberOfPolys="0"></Piece>`+
			square(1, ascii("p", "Float32", 1, "5 6 7 8"), ascii("c", "Int8", 1, "6")+ascii("extra", "Int8", 1, "7")), ""))
	same(t, "cells", d.Cells, Polygons{[]int32{0, 4, 8}, []int32{0, 1, 2, 3, 4, 5, 6, 7}})
	same(t, "point arrays", d.PointArrays, []Array{
		{Name: "p", Components: 1, Values: []float64{1, 2, 3, 4, 5, 6, 7, 8}},
		{Name: "v", Components: 2, Values: []float64{1, 2, 3, 4, 5, 6, 7, nan, nan, nan, nan, nan, nan, nan, nan, nan}},
	})
	same(t, "cell arrays", d.CellArrays, []Array{
		{Name: "c", Components: 1, Values: []float64{-5, 6}},
		{Name: "extra", Components: 1, Values: []float64{nan, 7}},
	})
	same(t, "notes", d.Notes, []string{
		`1 of 2 pieces lack the point array "v"; its values there are NaN`,
		`1 of 2 pieces lack the cell array "extra"; its values there are NaN`,
	})

	_, err := Read("a.vtp", []byte(vtp("", square(0, ascii("p", "Float32", 1, "1 2 3 4"), "")+square(1, ascii("p", "Float32", 2, "1 2 3 4 5 6 7 8"), ""), "")), nil, nil)
	wantError(t, err, `the point array "p" has 2 components here, 1 in a.vtp`)
}

func wantError(t testing.TB, err error, part string) *wake.InputError {
	t.Helper()
	var in *wake.InputError
	if !errors.As(err, &in) || !strings.Contains(err.Error(), part) || in.Cure == "" {
		t.Fatalf("got %v, want %q and a cure", err, part)
	}
	return in
}

// A marked copy of a cell is hidden, which needs no note.
func TestMarkedCopy(t *testing.T) {
	c := func(v string) string { return ascii("c", "Float64", 1, v) }
	g := func(v string) string { return ascii("vtkGhostType", "UInt8", 1, v) }
	d := one(t, vtp("", square(0, "", c("5")+g("0"))+square(0, "", c("5")+g("1")), ""))
	same(t, "notes", d.Notes, []string{})
	same(t, "values", d.CellArrays, []Array{{Name: "c", Components: 1, Values: []float64{5}}})
}

func TestHidden(t *testing.T) {
	nan := math.NaN()
	two := square(0, ascii("p", "Float64", 1, "1 2 3 4")+ascii("vtkGhostType", "UInt8", 1, "0 1 2 0"), ascii("c", "Float64", 1, "7")) +
		square(1, ascii("p", "Float64", 1, "5 6 7 8"), ascii("c", "Float64", 1, "9")) +
		square(2, ascii("p", "Float64", 1, "5 6 7 8"), ascii("c", "Float64", 1, "8")+ascii("vtkGhostType", "UInt8", 1, "32"))
	d := one(t, vtp("", two, ""))
	same(t, "the third point", d.Points[3:9], []float64{0, 1, 0, nan, nan, nan})
	same(t, "cells", d.Cells, Polygons{[]int32{0, 4}, []int32{4, 5, 6, 7}})
	same(t, "c", d.CellArrays, []Array{{Name: "c", Components: 1, Values: []float64{9}}})

	d = one(t, vtp("", square(0, ascii("p", "Float64", 1, "1 2 0 4")+ascii("vtkValidPointMask", "Int8", 1, "1 1 0 1"), ""), ""))
	same(t, "the third point", d.Points[3:9], []float64{0, 1, 0, nan, nan, nan})
	same(t, "notes", d.Notes, []string{"left out, since vtkValidPointMask marks them invalid: 1 of 4 points", "there are no cells with an area, only 4 points"})

	d = one(t, vtp("", strings.Replace(square(0, "", ""), "0 1 1", "0 inf 1", 1), ""))
	same(t, "the third point", d.Points[3:9], []float64{0, 1, 0, nan, nan, nan})
	if !noted(d, "since a coordinate is not finite: 1 of 4 points") {
		t.Errorf("notes %q", d.Notes)
	}
}

// TestThinCells leaves out what has no area and keeps the values in step.
func TestThinCells(t *testing.T) {
	d := one(t, vtp("", `<Piece NumberOfPoints="5" NumberOfPolys="5"><CellData>`+ascii("c", "Int8", 1, "0 1 2 3 4")+`</CellData>
<Points><DataArray type="Float64" NumberOfComponents="3" format="ascii">0 0 0 0 1 0 0 1 1 0 0 1 0 2 0</DataArray></Points>
<Polys>`+ascii("connectivity", "Int64", 1, "0 1  0 1 1  0 1 2 3 0  1 4 4 2 2  1 1 1")+ascii("offsets", "Int64", 1, "2 5 10 15 18")+`</Polys></Piece>`, ""))
	same(t, "cells", d.Cells, Polygons{[]int32{0, 4, 7}, []int32{0, 1, 2, 3, 1, 4, 2}})
	same(t, "values", d.CellArrays[0].Values, []float64{2, 3})
	if !noted(d, "since they have no area: 3 cells") {
		t.Errorf("notes %q", d.Notes)
	}
}

// TestHostile makes files whose headers ask for far more than they hold.
func TestHostile(t *testing.T) {
	const most = 8 << 20
	zero := make([]byte, 40)
	// 32 zeros, as the xz program packs them with --check=crc32.
	xz, err := hex.DecodeString("fd377a585a0000016922de36" + "0200210116000000742fe5a3" + "e0001f00065d00006e184798000000" + "00ad550a19" +
		"00011e203caaa9cf9042990d01000000" + "0001595a")
	if err != nil {
		t.Fatal(err)
	}
	big := bytes.Clone(xz)
	// The dictionary's size is the last byte of the only filter: 40 means 4 GB. The
	// checksum of the block header is mended.
	if big[12] != 2 || big[14] != 0x21 || big[15] != 1 {
		t.Fatalf("unexpected block header % x", big[12:24])
	}
	big[16] = 40
	binary.LittleEndian.PutUint32(big[20:], crc32.ChecksumIEEE(big[12:20]))
	wrong := bytes.Clone(xz)
	wrong[40] ^= 1 // the checksum of the content
	xzFile := func(b []byte) string {
		head := binary.LittleEndian.AppendUint32(nil, 1)
		for _, v := range []int{32, 0, len(b)} {
			head = binary.LittleEndian.AppendUint32(head, uint32(v))
		}
		text := base64.StdEncoding.EncodeToString(head) + base64.StdEncoding.EncodeToString(b)
		return vtp(` compressor="vtkLZMADataCompressor"`, square(0, `<DataArray type="Float64" Name="p" format="binary">`+text+`</DataArray>`, ""), "")
	}
	deep := strings.Repeat("<Block>", 100000)
	many := strings.Repeat(`<DataArray type="Float64" Name="p" format="appended" offset="0"/>`, 1000)
	head, content := payloadOf(make([]byte, 32), 4, 0)
	for _, c := range []struct{ name, data, part string }{
		{"dictionary", xzFile(big), ""},
		{"intact xz", xzFile(xz), ""},
		{"xz checksum", xzFile(wrong), "xz: checksum error"},
		{"xz footer", xzFile(xz[:len(xz)-1]), "block 1 of 1: unexpected EOF"},
		{"points", vtp("", `<Piece NumberOfPoints="2000000000" NumberOfPolys="0"><Points><DataArray type="Float64" NumberOfComponents="3" format="ascii">0 0 0</DataArray></Points></Piece>`, ""), "6000000000 numbers are announced"},
		{"cells", vtp("", `<Piece NumberOfPoints="0" NumberOfPolys="2000000000"><Polys>`+ascii("connectivity", "Int32", 1, "0")+ascii("offsets", "Int32", 1, "0")+`</Polys></Piece>`, ""), "2000000000 whole numbers|numbers are announced"},
		{"components", vtp("", square(0, ascii("p", "Float64", 2000000000, "1"), ""), ""), "2000000000 components"},
		{"image", `<VTKFile type="ImageData" byte_order="LittleEndian"><ImageData WholeExtent="0 30000 0 30000 0 0"><Piece Extent="0 30000 0 30000 0 0"/></ImageData></VTKFile>`, "expected fewer than"},
		{"bare image", `<VTKFile type="ImageData" byte_order="LittleEndian"><ImageData WholeExtent="0 20000 0 20000 0 0"><Piece Extent="0 20000 0 20000 0 0"/></ImageData></VTKFile>`, "carries no values"},
		{"nested", `<VTKFile type="vtkMultiBlockDataSet"><vtkMultiBlockDataSet>` + deep, "nested more than 64 deep"},
		{"many", vtp("", square(0, many, ""), `<AppendedData encoding="raw">_`+string(head)+string(content)+`</AppendedData>`), "so some overlap"},
		{"binary points", "# vtk DataFile Version 4.2\nt\nBINARY\nDATASET POLYDATA\nPOINTS 700000000 double\n" + string(zero), "take 16800000000 bytes, 40 are left"},
		{"binary cells", "# vtk DataFile Version 4.2\nt\nBINARY\nDATASET POLYDATA\nPOINTS 0 double\n\nPOLYGONS 2000000000 2000000000\n" + string(zero), "take 8000000000 bytes"},
		{"text", "# vtk DataFile Version 4.2\nt\nBINARY\nDATASET POLYDATA\nFIELD f 1\ns 1 2000000000 string\n\x40\xff\xff\xff", "bytes, 0 are left"},
		{"names", "# vtk DataFile Version 4.2\nt\nASCII\nDATASET POLYDATA\nPOINTS 0 float\nPOINT_DATA 0\nFIELD f 2\na 2000000000 0 float\nMETADATA\nCOMPONENT_NAMES\nx\n", "ends inside the component names"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var err error
			if used := waketest.Allocated(func() { _, err = Read("a", []byte(c.data), nil, nil) }); used > most {
				t.Errorf("%d bytes of memory", used)
			}
			if c.part == "" {
				if err != nil {
					t.Error(err)
				}
				return
			}
			ok := false
			for _, p := range strings.Split(c.part, "|") {
				ok = ok || err != nil && strings.Contains(err.Error(), p)
			}
			if !ok {
				t.Errorf("got %v, want %q", err, c.part)
			}
		})
	}
}

// TestUnwantedNotBelieved has an image that only an array confirms which is not
// wanted, and which is too short.
func TestUnwantedNotBelieved(t *testing.T) {
	for _, a := range []string{ascii("p", "Int8", 1, "1 2"), `<DataArray type="Int8" Name="p" format="binary">AgAAAAEC</DataArray>`} {
		file := `<VTKFile type="ImageData" byte_order="LittleEndian"><ImageData><Piece Extent="0 20000 0 20000 0 0"><PointData>` + a + `</PointData></Piece></ImageData></VTKFile>`
		_, err := Read("a.vti", []byte(file), nil, func(string) bool { return false })
		wantError(t, err, `the array "p"`)
	}
}

func TestXMLErrors(t *testing.T) {
	good := vtp("", square(0, ascii("p", "Float64", 1, "1 2 3 4"), ""), "")
	for _, c := range []struct{ name, from, to, part string }{
		{"root", "VTKFile", "Other", `the first element is "Other"`},
		{"type", `type="PolyData"`, `type="HyperTreeGrid"`, `type "HyperTreeGrid", which is not read`},
		{"order", "LittleEndian", "MiddleEndian", `"MiddleEndian", expected LittleEndian`},
		{"end tag", "</Polys>", "</Polis>", "element <Polys> closed by </Polis>"},
		{"quotes", `NumberOfPoints="4"`, `NumberOfPoints=4`, "unquoted or missing attribute value"},
		{"entity", `Name="p"`, `Name="&p;"`, "invalid character entity &p;"},
		{"count", `NumberOfPoints="4"`, `NumberOfPoints="-4"`, `NumberOfPoints of Piece is "-4"`},
		{"more", `NumberOfPoints="4"`, `NumberOfPoints="5"`, "15 numbers are announced, but only 26 bytes"},
		{"fewer", `NumberOfPoints="4"`, `NumberOfPoints="3"`, "more than the announced 9 numbers"},
		{"number type", `"Float64" Name="p"`, `"Float16" Name="p"`, `the type "Float16"`},
		{"ids", `"Int32" Name="conn`, `"Float32" Name="conn`, "not of a whole-number type"},
		{"id", "0 1 2 3</", "0 1 2 3.5</", `number 4 of 4 is "3.5"`},
		{"big id", "0 1 2 3</", "0 1 2 4294967296</", `is "4294967296", expected a whole number below 2^31`},
		{"range", "0 1 2 3</", "0 1 2 4</", "corner 4 of 4 is point 4, expected 0 to 3"},
		{"format", `Name="p" NumberOfComponents="1" format="ascii"`, `Name="p" format="utf8"`, `the format "utf8"`},
		{"appended", `Name="p" NumberOfComponents="1" format="ascii"`, `Name="p" format="appended" offset="0"`, "no appended section"},
		{"components", `NumberOfComponents="3"`, `NumberOfComponents="2"`, "points with 2 components"},
		{"no points", "Points>", "Other>", "Piece has no element Points"},
		{"no connectivity", `Name="connectivity"`, `Name="other"`, `Polys has no array "connectivity"`},
		{"steps", "<PolyData>", `<PolyData TimeValues="0 1 2">`, "holds 3 time steps"},
	} {
		t.Run(c.name, func(t *testing.T) {
			bad := strings.ReplaceAll(good, c.from, c.to)
			if bad == good {
				t.Fatal("nothing replaced")
			}
			_, err := Read("a.vtp", []byte(bad), nil, nil)
			wantError(t, err, c.part)
		})
	}
	if d := one(t, strings.ReplaceAll(good, ` byte_order="LittleEndian"`, "")); !noted(d, "byte order") {
		t.Errorf("notes %q", d.Notes)
	}
	if d := one(t, strings.ReplaceAll(good, `Name="p"`, `Name="&lt;p&#62; &amp;&quot;&apos;&#x3b1;"`)); d.PointArrays[0].Name != `<p> &"'α` {
		t.Errorf("name %q", d.PointArrays[0].Name)
	}
	d := one(t, strings.Replace(good, "<PointData>", "<PointData>"+ascii("p", "Int8", 1, "9 9 9 9"), 1))
	same(t, "array twice", d.PointArrays, []Array{{Name: "p", Components: 1, Values: []float64{9, 9, 9, 9}}})
	same(t, "notes", d.Notes, []string{`the array "p" is there twice; the first one is used`})
}

func TestLooks(t *testing.T) {
	for _, c := range []struct {
		in   string
		want bool
	}{
		{"# vtk DataFile Version 3.0\n", true}, {"# VTK datafile version 5.1\n", true}, {"# vtk", false}, {"", false}, {"y,z\n", false},
		{`<VTKFile type="PolyData">`, true}, {"<?xml version=\"1.0\"?>\n<!-- by <VTKFile -->\n<VTKFile ", true},
		{"\xef\xbb\xbf<?xml version=\"1.0\"?>\r\n<VTKFile>", true}, {"<?xml version=\"1.0\"?>\n<html>", false}, {"<?xml", false}, {"<!-- <VTKFile>", false}, {"<?>stray?>\x00<VTKFile>", true},
	} {
		if got := Looks([]byte(c.in)); got != c.want {
			t.Errorf("%q: %t", c.in, got)
		}
	}
	names, files := fixed(t)
	for _, n := range names {
		if b := files[n]; !Looks(b[:min(len(b), 512)]) {
			t.Errorf("%s does not look it", n)
		}
	}
}

// TestWorkers compares the data sets that one and several workers make, and the
// errors where two blocks are damaged.
func TestWorkers(t *testing.T) {
	n := 40000
	v := make([]float64, n)
	for i := range v {
		v[i] = math.Sin(float64(i))
	}
	head, content := payloadOf(leFloats(v...), 8, 4096)
	file := func(content []byte) []byte {
		return []byte(fmt.Sprintf(`<VTKFile type="ImageData" byte_order="LittleEndian" header_type="UInt64" compressor="vtkZLibDataCompressor"><ImageData Origin="0 0 0" Spacing="1 1 1"><Piece Extent="0 0 0 199 0 199"><PointData><DataArray type="Float64" Name="p" format="appended" offset="0"/></PointData></Piece></ImageData><AppendedData encoding="raw">_%s%s</AppendedData></VTKFile>`, head, content))
	}
	bad := bytes.Clone(content)
	// Every block of the last two thirds, so that all workers fail at once.
	for at := len(bad) / 3; at < len(bad); at += 500 {
		bad[at] ^= 0x55
	}
	var first *Dataset
	var firstErr string
	for _, workers := range []int{1, 2, 7} {
		old := runtime.GOMAXPROCS(workers)
		d, err := Read("a.vti", file(content), nil, nil)
		_, badErr := Read("a.vti", file(bad), nil, nil)
		runtime.GOMAXPROCS(old)
		if err != nil || badErr == nil {
			t.Fatalf("%v, %v", err, badErr)
		}
		if first == nil {
			first, firstErr = d, badErr.Error()
		}
		if !slices.Equal(d.PointArrays[0].Values, v) || !slices.Equal(d.Points, first.Points) || !slices.Equal(d.Cells.Index, first.Cells.Index) {
			t.Errorf("%d workers make other data", workers)
		}
		same(t, fmt.Sprint(workers, " workers"), badErr.Error(), firstErr)
	}
}
