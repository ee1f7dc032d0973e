package survey

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wakeledger/wake"
)

// sixAre compares samples with the plane of six, whose values are exact in every
// type that the files have.
func sixAre(t *testing.T, file string, s *wake.Samples) {
	t.Helper()
	if s.N != 6 || s.Dropped != 0 {
		t.Errorf("%s: %d samples, %d dropped", file, s.N, s.Dropped)
		return
	}
	for q, want := range sixSamples {
		if s.Col[q] == nil {
			t.Errorf("%s: no %s", file, q)
			continue
		}
		for i, x := range want {
			if s.Col[q][i] != x {
				t.Errorf("%s: %s of sample %d is %g, want %g", file, q, i, s.Col[q][i], x)
			}
		}
	}
}

// The plane of six as NumPy wrote it in every type, order and form.
func TestNumpyFiles(t *testing.T) {
	numbered := columns{wake.X: "1", wake.Y: "2", wake.Z: "3", wake.U: "4", wake.V: "5", wake.W: "6", wake.P: "7 [Pa]"}
	thousandths := columns{wake.X: "1 [mm]", wake.Y: "2 [mm]", wake.Z: "3 [mm]", wake.U: "4 [mm/s]", wake.V: "5 [mm/s]", wake.W: "6 [mm/s]", wake.P: "7 [mPa]"}
	files, err := filepath.Glob("testdata/numpy/*.np*")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	good := 0
	for _, f := range files {
		base := filepath.Base(f)
		opt := Options{}
		switch {
		case strings.HasPrefix(base, "plain-"), base == "fortran.npy":
			opt.Columns = numbered
		case strings.HasPrefix(base, "whole-"):
			opt.Columns = thousandths
		case base == "aligned.npy":
			// The three velocities carry no unit and the pressure is big-endian.
		case base == "objects.npy", base == "cube.npy", base == "complex.npy":
			continue
		}
		s, err := Read(context.Background(), f, opt)
		if err != nil {
			t.Error(err)
			continue
		}
		sixAre(t, base, s)
		good++
	}
	if good < 17 {
		t.Errorf("read %d files", good)
	}
	s, err := Read(context.Background(), "testdata/numpy/columns.npz", Options{})
	if err != nil || len(s.Ignored) != 1 || s.Ignored[0] != "time" {
		t.Errorf("ignored %v, %v", s.Ignored, err)
	}
}

func TestNumpyRefused(t *testing.T) {
	for file, want := range map[string]string{
		"objects.npy":     `objects.npy: the array holds Python objects ("|O"), which are pickled code and not read; convert the array to numbers, as in numpy.save(name, array.astype(float)); pickled objects are never run`,
		"cube.npy":        `cube.npy: the array has 3 dimensions, a table has two; save one row a sample, as in array.reshape(-1, array.shape[-1]), or array.ravel() for the arrays of a mesh grid`,
		"complex.npy":     `complex.npy: the type "<c16" is not one of plain numbers: f4, f8, i1 to i8, u1 to u8, b1; convert the array to numbers, as in numpy.save(name, array.astype(float))`,
		"plain-f8-le.npy": `plain-f8-le.npy: the rows have 7 fields and no header says which of them is x, y, z; number the columns: --column x=1 and so on, with the unit where it is not SI: --column x="1 [mm]"`,
	} {
		_, err := Read(context.Background(), "testdata/numpy/"+file, Options{})
		if err == nil || strings.ReplaceAll(err.Error(), "testdata/numpy/", "") != want {
			t.Errorf("got  %v\nwant %s", err, want)
		}
	}
	file := numpyFile
	for _, c := range []struct{ data, want string }{
		{file("{'descr': '<f8', 'fortran_order': False, 'shape': (4, 1000000000), }", ""), "needs more values than the file's 0 bytes hold"},
		{file("{'descr': '<f8', 'fortran_order': False, 'shape': (2, 3), }", strings.Repeat("\x00", 40)), "6 values of 8 bytes are declared and 40 bytes are there"},
		{file("{'descr': '<f8', 'fortran_order': False, 'shape': (-2, 3), }", ""), "the shape [-2 3] is not one of whole numbers"},
		{file("{'descr': __import__('os'), 'fortran_order': False, 'shape': (2, 3), }", ""), "is not understood"},
		{file(strings.Repeat("(", 50), ""), "is not understood"},
		{file("{'descr': '<f8'", ""), "is not understood"},
		{file("('x',)", ""), "is not understood"},
		{file("{'descr': '<f8', 'shape': (2,)}", ""), "does not say fortran_order"},
		{file("{'descr': [('a', [('b', '<f8')])], 'fortran_order': False, 'shape': (1,)}", "12345678"), "is not one of plain numbers"},
		{"\x93NUMPY\x01\x00\xff\xff{}", "the header has 65535 bytes, the file 12"},
		{"\x93NUMPY\x09\x00\x02\x00{}xxxxxx", "version 9.0"},
	} {
		_, err := readBytes(context.Background(), "f", []byte(c.data), Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}

func numpyFile(header, body string) string {
	return "\x93NUMPY\x01\x00" + string([]byte{byte(len(header)), byte(len(header) >> 8)}) + header + body
}

// Members of an archive: vectors are three columns, single values and text are passed over and
// listed, and what has another shape is told so.
func TestArchive(t *testing.T) {
	y, z, u, p := []float64{0, 1, 0, 1}, []float64{0, 0, 1, 1}, []float64{10, 0, 1, 11, 2, 3, 12, 4, 5, 13, 6, 7}, []float64{-1, -2, -3, -4}
	for _, c := range []struct {
		shapes [4]string // of y, z, the velocity and p
		want   string    // of the error
	}{
		{[4]string{"(4,)", "(4, 1)", "(4, 3)", "(4,)"}, ""},
		{[4]string{"(2, 2)", "(2, 2)", "(4, 3)", "(2, 2)"}, "f#y.npy: the array has the shape [2 2], a coordinate one value a row; save one row a sample"},
		{[4]string{"(4,)", "(4,)", "(2, 2, 3)", "(4,)"}, "f#velocity.npy: the array has 3 dimensions, a table has two; save one row a sample"},
		{[4]string{"(4,)", "(4,)", "(3, 4)", "(4,)"}, `f: the member "velocity.npy" has 3 rows, others have 4; save columns of one length`},
	} {
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		put := func(name, descr, shape string, values any) {
			m, err := w.Create(name + ".npy")
			if err != nil {
				t.Fatal(err)
			}
			io.WriteString(m, numpyFile("{'descr': '"+descr+"', 'fortran_order': False, 'shape': "+shape+"}", ""))
			binary.Write(m, binary.LittleEndian, values)
		}
		put("title", "<U3", "()", [12]byte{'t'})
		put("time", "<f8", "()", 0.5)
		for k, v := range [][]float64{y, z, u, p} {
			put([]string{"y", "z", "velocity", "p"}[k], "<f8", c.shapes[k], v)
		}
		w.Close()
		s, err := readBytes(context.Background(), "f", out.Bytes(), Options{Columns: columns{wake.X: "= 2.5 m"}})
		switch {
		case c.want != "":
			if err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		case err != nil:
			t.Error(err)
		case !slices.Equal(s.Col[wake.U], []float64{10, 11, 12, 13}) || !slices.Equal(s.Col[wake.P], p) || !slices.Equal(s.Ignored, []string{"title", "time"}):
			t.Errorf("u %v, p %v, ignored %q", s.Col[wake.U], s.Col[wake.P], s.Ignored)
		}
	}
}
