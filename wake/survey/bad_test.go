package survey

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/wake"
)

// badFiles has the one line that each file of testdata/bad comes to, without the
// folder; the command's table has more.
var badFiles = []struct{ file, want string }{
	{"all_missing.csv", "all_missing.csv:1:7: all 4 rows lack a value; p has none in 4 of them; export the plane again, or leave the column out"},
	{"changing_fields.txt", "changing_fields.txt:4:7: the row has 6 fields, expected 7; export the plane again, or mend the row"},
	{"cut.zst", "cut.zst: the zstd data ends early; copy the file again, or export it again"},
	{"header_too_short.csv", "header_too_short.csv:2:7: the row has 7 fields, the header in line 1 has 6 names; export the plane again, or mend the header"},
	{"markup.xml", "markup.xml:2: the file is of type \"PolyData\", but has no such element (byte 22); the file is cut off or damaged, or not written by the library's rules: export it again"},
	{"no_header.csv", "no_header.csv:1: the rows have 7 fields and no header says which of them is x, y, z; number the columns: --column x=1 and so on, with the unit where it is not SI: --column x=\"1 [mm]\""},
	{"no_position.csv", "no_position.csv:3:2: y has no value (\"nan\"); a sample needs its position: mend the row or leave it out"},
	{"no_z.csv", "no_z.csv:1: no column is understood as z; the columns are \"x [m]\", \"y [m]\", \"height above ground\", \"u [m/s]\", \"v [m/s]\", \"w [m/s]\", \"p [Pa]\"; name each with --column z=\"NAME\", or \"NAME [mm]\" where the heading tells no unit, or give one value for all with --column z=\"= 2.9 m\""},
	{"overflow.csv", "overflow.csv:3:6: \"1e999\" is beyond the range of numbers (w); mend the field, or write nan for a missing value"},
	{"short_first_row.csv", "short_first_row.csv:2:7: the row has 6 fields, the header in line 1 has 7 names; export the plane again, or mend the header"},
	{"short_row.csv", "short_row.csv:4:6: the row has 5 fields, expected 7; export the plane again, or mend the row"},
	{"stars.txt", "stars.txt:5:4: \"******\" is not a number (u); mend the field, or write nan for a missing value"},
	{"text_in_first_row.csv", "text_in_first_row.csv:2:4: \"fast\" is not a number (u); mend the field, or write nan for a missing value"},
	{"thousands.csv", "thousands.csv:3: a decimal point (line 3) and a decimal comma (line 2) in one file; export the plane with one decimal mark and without marks between thousands"},
	{"twice.gz", "twice.gz: is compressed twice (gzip inside); unpack it once"},
	{"two_u.csv", "two_u.csv:1:5: columns \"u [m/s]\" (4) and \"Velocity:0\" (5) both say that they are u; choose with --column u=\"Velocity:0\""},
	{"u_constant.csv", "u_constant.csv:1:4: u is 0 in all 121 rows; check the export, or name another column with --column u=\"NAME\""},
	{"utf16_text.csv", "utf16_text.csv:3:4: \"fast\" is not a number (u); mend the field, or write nan for a missing value"},
	{"vtk_legacy.vtk", "vtk_legacy.vtk: there are no points; export a plane with values"},
	{"zeros.gz", "zeros.gz: the gzip data unpacks to more than 250 times its size; unpack it by hand if that is meant"},
}

func TestBadFiles(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range badFiles {
		seen[c.file] = true
		for _, block := range []int{0, 20} {
			if block > 0 && c.file == "zeros.gz" {
				continue // a million blocks show nothing more
			}
			_, err := Read(context.Background(), "testdata/bad/"+c.file, Options{block: block})
			var in *wake.InputError
			if !errors.As(err, &in) {
				t.Errorf("%s: %v is no input error", c.file, err)
				continue
			}
			got := strings.ReplaceAll(err.Error(), "testdata/bad/", "")
			if got != c.want {
				t.Errorf("block %d:\n got %s\nwant %s", block, got, c.want)
			}
			if strings.ContainsAny(got, "\n\r") {
				t.Errorf("%q is more than one line", got)
			}
		}
	}
	files, err := filepath.Glob("testdata/bad/*")
	if err != nil || len(files) != len(badFiles) {
		t.Errorf("%d files, %d in the table, %v", len(files), len(badFiles), err)
	}
	for _, f := range files {
		if !seen[filepath.Base(f)] {
			t.Errorf("%s is in no row of the table", f)
		}
	}
}

// Options that do not fit the file.
func TestBadOptions(t *testing.T) {
	const file = "x,y,z,u,U,note\n1,0,0,9,8,a\n1,1,0,9,8,b\n1,0,1,9,8,c\n"
	const bare = "1,0,0,9\n1,1,0,9\n1,0,1,9\n"
	for _, c := range []struct {
		data string
		opt  Options
		want string
	}{
		{file, Options{}, `f:1:5: columns "u" (4) and "U" (5) both say that they are u; choose with --column u="5"`},
		{file, Options{Columns: columns{wake.U: "speed"}}, `f:1: --column u="speed": no column has that name; the columns are "x", "y", "z", "u", "U", "note"`},
		{file, Options{Columns: columns{wake.U: "7"}}, `f:1: --column u="7": a row has 6 fields; count from 1`},
		{file, Options{Columns: columns{wake.U: "u", wake.V: "u"}}, `f:1:4: --column gives "u" to both u and v; name another column for one of them`},
		{file, Options{Columns: columns{wake.U: "u [kg]"}}, `f:1:4: column "u", u: unit "kg" does not measure a velocity; a unit such as m/s is expected; give the unit with --column u="4 [m/s]"`},
		{file, Options{Columns: columns{wake.U: "note"}}, `f:2:6: "a" is not a number (u); mend the field, or write nan for a missing value`},
		{file, Options{Columns: columns{wake.U: "u", wake.Rho: "= 1.2 kg"}}, `f:1: --column rho="= 1.2 kg": unit "kg" does not measure a density; a unit such as kg/m3 is expected; write it like --column rho="= 1.5 kg/m3"`},
		{file, Options{Columns: columns{wake.U: "u", wake.P: "U [m2/s2]"}}, `f:1:5: p is a pressure over density (m2/s2) and the density is not known; give it with --density`},
		{bare, Options{Columns: columns{wake.X: "x"}}, `f:1: --column x="x": the file has no header; give the number of the column: --column x=1`},
		{bare, Options{Columns: columns{wake.X: "1", wake.Y: "2"}}, `f:1: the rows have 4 fields and no header says which of them is z; number the columns: --column z=3 and so on, with the unit where it is not SI: --column z="3 [mm]"`},
	} {
		_, err := readBytes(context.Background(), "f", []byte(c.data), c.opt)
		if err == nil || err.Error() != c.want {
			t.Errorf("%v:\n got %v\nwant %s", c.opt.Columns, err, c.want)
		}
	}
}

func TestOpenErrors(t *testing.T) {
	for name, want := range map[string]string{
		"testdata/none.csv": "testdata/none.csv: cannot be opened: no such file or directory; check the name and the permissions",
		"testdata":          "testdata: is a folder; name the files in it",
	} {
		if _, err := Read(context.Background(), name, Options{}); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
