package survey

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/wake"
)

// What is made of files that are odd but can be read: the number of samples, of
// rows left out, and the values of u in the order of the rows.
func TestOddFiles(t *testing.T) {
	numbered := columns{wake.X: "1", wake.Y: "2", wake.Z: "3", wake.U: "4"}
	for _, c := range []struct {
		what, data string
		opt        Options
		u          string
		dropped    int
	}{
		{"a separator at the end of every row, no header", "1,2,3,4,\n2,2,4,5,\n3,5,3,6,\n", Options{Columns: numbered}, "[4 5 6]", 0},
		{"a title over rows without header", "shuttle\n1,2,3,4\n2,2,4,5\n3,5,3,6\n", Options{Columns: numbered}, "[4 5 6]", 0},
		{"numbers in the preface", "12 10\n0.5 3\nx y z u\n1 2 3 4\n2 3 4 5\n3 3 3 6\n", Options{}, "[4 5 6]", 0},
		{"a count in words", "# 3 samples\nx,y,z,u\n1,2,3,4\n2,3,4,5\n3,3,3,6\n", Options{}, "[4 5 6]", 0},
		{"a lattice's rows and columns", "# rows: 3, columns: 2\nx,y,z,u\n1,2,3,4\n2,3,4,5\n", Options{}, "[4 5]", 0},
		{"a header with commas over blanks", "x, y, z, u\n1 2 3 4\n2 3 4 5\n3 3 3 6\n", Options{}, "[4 5 6]", 0},
		{"a comment between header and rows", "# x y z u\n# made by hand\n# ------\n1 2 3 4\n2 3 4 5\n3 3 3 6\n", Options{}, "[4 5 6]", 0},
		{"an empty field between tabs", "x\ty\tz\tu\tp\n1\t2\t3\t\t5\n2\t3\t4\t5\t6\n3\t3\t3\t6\t3\n", Options{}, "[5 6]", 1},
		{"blanks and tabs mixed", "x y z u\n1 2\t3  4\n2 3 4\t5\n3\t3 3 6 \n", Options{}, "[4 5 6]", 0},
		{"the first row lacks its last value", "x,y,z,u\n1,2,3,\n2,3,4,5\n3,3,3,6\n", Options{}, "[5 6]", 1},
		{"a decimal comma in the second row only", "x;y;z;u\n1;2;3;4\n2,5;3;4;5,5\n3;3;3;6\n", Options{}, "[4 5.5 6]", 0},
		{"a word and a unit in brackets", "x,y,z,u (mean) [m/s]\n1,2,3,4\n2,3,4,5\n3,4,4,6\n", Options{}, "[4 5 6]", 0},
		{"a word in brackets", "x,y,z,u [mean]\n1,2,3,4\n2,3,4,5\n3,4,4,6\n", Options{}, "[4 5 6]", 0},
		{"blanks in brackets", "X [ m ],Y [ m ],Z [ m ],Velocity [ m s^-1 ],Velocity u [ m s^-1 ]\n1,2,3,9,4\n2,3,4,9,5\n3,4,4,9,6\n", Options{}, "[4 5 6]", 0},
		{"quotes round names with blanks", "\"X [m]\" \"Y [m]\" \"Z [m]\" \"Velocity u [m/s]\"\n1 2 3 4\n2 3 4 5\n3 3 3 6\n", Options{}, "[4 5 6]", 0},
		{"text and dates in other columns", "sample,when,x,y,z,u\na,2024-05-01,1,2,3,4\nb,2024-05-01,2,3,4,5\nc,2024-05-01,5,3,4,6\n", Options{}, "[4 5 6]", 0},
		{"LF and CRLF mixed", "x,y,z,u\n1,2,3,4\n2,3,4,5\r\n3,4,4,6\r\n", Options{}, "[4 5 6]", 0},
		{"a dash in the row of units", "x,y,z,id,u\nmm,mm,mm,-,m/s\n1,2,3,7,4\n2,3,4,7,5\n3,3,3,7,6\n", Options{}, "[4 5 6]", 0},
		{"a row of units with a dash for a velocity", "x,y,z,u\nmm,mm,mm,-\n1,2,3,4\n2,3,4,5\n3,3,3,6\n", Options{}, "[4 5 6]", 0},
		{"one sample", "x y z u\n1 2 3 4\n", Options{}, "[4]", 0},
		{"a density for all", "x,y,z,u\n1,2,3,4\n2,3,4,5\n3,4,4,6\n", Options{Columns: columns{wake.Rho: "= 1.2 kg/m3"}}, "[4 5 6]", 0},
		{"names that say nothing", "a,b,c,d\n1,2,3,4\n2,3,4,5\n3,4,4,6\n", Options{Columns: columns{wake.X: "1", wake.Y: "2", wake.Z: "c", wake.U: "4"}}, "[4 5 6]", 0},
		{"a column chosen among two", "x,y,z,U,u\n1,2,3,4,9\n2,3,4,5,9\n3,4,4,6,9\n", Options{Columns: columns{wake.U: "U"}}, "[4 5 6]", 0},
		{"a component chosen by its name", "x,y,z,vel[0],vel[1],u\n1,2,3,4,9,8\n2,3,4,5,9,8\n3,4,4,6,9,8\n", Options{Columns: columns{wake.U: "vel[0]"}}, "[4 5 6]", 0},
	} {
		s, err := readBytes(context.Background(), "f", []byte(c.data), c.opt)
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if got := fmt.Sprint(s.Col[wake.U]); got != c.u || s.Dropped != c.dropped {
			t.Errorf("%s: u %s, dropped %d, want %s, %d", c.what, got, s.Dropped, c.u, c.dropped)
		}
	}
}

// Odd files that cannot be read.
func TestOddFaults(t *testing.T) {
	numbered := Options{Columns: columns{wake.X: "1", wake.Y: "2", wake.Z: "3"}}
	for _, c := range []struct {
		data string
		opt  Options
		want string
	}{
		{"1,2,abc,4\n1,3,3,4\n1,5,3,4\n", numbered, `f:1:3: "abc" is not a number (z)`},
		{"x,y,z,u\n1,2,3,4\n1,3,nan,4\n1,5,3,4\n", Options{}, `f:3:3: z has no value ("nan")`},
		{"x y z u\n1 2 3 4\n2 3 4 5 # note\n3 3 3 3\n", Options{}, `f:3:5: the row has 6 fields, expected 4`},
		{"x,y,z,u\n1,2,3,4,\n2,3,4,5\n3,4,4,4,\n", Options{}, `f:3:5: the row has 4 fields, expected 5`},
		{"x,y,z,u\n1,2,3,4\n2,3,4,5,\n", Options{}, `f:3:5: the row has 5 fields, expected 4`},
		{"# n = 4\nx,y,z\n1,2,3\n2,3,4\n", Options{}, `f:1: the file declares 4 rows and has 2`},
		{"x,y,z,u\n1,2,3,4\n1\n", Options{}, `f:3:2: the row has 1 field, expected 4`},
		{"x;y;z;u\n1,5;2;3;4\n1,25;3;3;4\n" + strings.Repeat("1,5;2;3;4\n", headLines) + "1.5;3;4;5\n", Options{},
			`f:2004:1: "1.5" has a point where this file has a decimal comma (x)`},
		{"x,y,z,\"u\n1,2,3,\"4\n2,3,4,5\n", Options{}, `f:2:4: "\"4" is not a number (u)`},
		{"a table of x and y\n", Options{}, `f:1: no table of numbers within the first 1 lines`},
		{"\xfd7zXZ\x00abcdef", Options{}, "f: is an xz file"},
		{"\x04\x22\x4d\x18abc", Options{}, "f: is an lz4 file"},
		{"BZh91AY&SYabcdef", Options{}, "f: is a bzip2 file"},
		{"\x89HDF\r\n\x1a\n", Options{}, "f: is an HDF5 file"},
		{"\x1f\x8b\x08", Options{}, "f: the gzip data ends early"},
		{"\x28\xb5\x2f\xfd\xff\xff\xff\xff", Options{}, "f: the zstd data"},
	} {
		_, err := readBytes(context.Background(), "f", []byte(c.data), c.opt)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%.60q:\n got %v\nwant %s", c.data, err, c.want)
		}
	}
}

// An older logger's header: ² and ° in Windows-1252.
func TestOldCode(t *testing.T) {
	data := append([]byte("x,y,z,k [m\xb2/s\xb2],yaw [\xb0]\n"), bytes.Repeat([]byte("1,2,3,4,5\n2,3,4,5,6\n"), 2)...)
	s, err := readBytes(context.Background(), "f", data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Source[wake.K].Unit != "m²/s²" || len(s.Ignored) != 1 || s.Ignored[0] != "yaw [°]" {
		t.Errorf("unit %q, ignored %q", s.Source[wake.K].Unit, s.Ignored)
	}
}

// A file beyond a limit of the reader is refused; a long header is read, and columns may have
// numbers.
func TestLimits(t *testing.T) {
	table := func(fields int) []byte {
		var b strings.Builder
		for r := range 4 {
			for i := range fields {
				fmt.Fprintf(&b, "%s%d,", strings.Repeat("very", 30*max(0, 1-r)), 1000*r+i)
			}
			b.WriteByte('\n')
		}
		return []byte(strings.ReplaceAll(b.String(), ",\n", "\n"))
	}
	for fields, want := range map[int]string{600: "", 5000: "f:1: no table of numbers within the first 4 lines; export delimited text of 2 to 4096 columns", 50000: "f:1: no table of numbers within the first 0 lines; "} {
		s, err := readBytes(context.Background(), "f", table(fields), Options{Columns: columns{wake.X: "= 1 m", wake.Y: strings.Repeat("very", 30) + "1", wake.Z: "3", wake.U: "4", wake.P: "5"}})
		if want == "" && (err != nil || s.N != 3) || want != "" && (err == nil || !strings.HasPrefix(err.Error(), want)) {
			t.Error(fields, s, err)
		}
	}
}

// TestPlaceOfValues: what the lines above the rows say about where values belong.
func TestPlaceOfValues(t *testing.T) {
	const rows = "x,y,z,u\n1,2,3,4\n1,3,3,4.5\n1,2,4,5\n"
	for _, c := range []struct {
		preface string
		cells   bool
	}{
		{"", false}, {"# face data\n", true}, {"Cell data of the plane\n\n", true}, {"# values at cell centres\n", true}, {"# FACE DATA\n# data points: 3\n", true},
		{"% cell-averaged velocity\n", true}, {"# Face-centered values, 3 rows\n", true}, {"# element values\n", true},
		{"# point data\n", false}, {"# 3 cells\n", false}, {"# cell size 50 mm\n", false}, {"# number of faces = 12\n", false}, {"# the surface data\n", false},
	} {
		s, err := readBytes(context.Background(), "f", []byte(c.preface+rows), Options{})
		if err != nil || s.CellValues != c.cells || len(s.Warnings) > 0 {
			t.Errorf("%q: cells %v, want %v; %v, %v", c.preface, s != nil && s.CellValues, c.cells, s.Warnings, err)
		}
	}
	s, err := readBytes(context.Background(), "f", []byte("x [m],y [m],Face centroid z,u\n1,2,3,4\n1,3,3,4.5\n1,2,4,5\n"), Options{})
	if err != nil || !s.CellValues {
		t.Errorf("a column of centroids: %v, %v", s, err)
	}
	// Joined, a file that is silent takes the other's word.
	dir := write(t, map[string]string{"u.csv": rows, "p.csv": "# face data\n" + strings.Replace(rows, "u", "p", 1)})
	for _, order := range [][2]string{{"u.csv", "p.csv"}, {"p.csv", "u.csv"}} {
		s, err := Read(context.Background(), filepath.Join(dir, order[0])+"+"+filepath.Join(dir, order[1]), Options{})
		if err != nil || !s.CellValues || !s.Has(wake.U, wake.P) {
			t.Errorf("%v: %+v, %v", order, s, err)
		}
	}
}
