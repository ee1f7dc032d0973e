package survey

import (
	"context"
	"fmt"
	"path/filepath"
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
		t.Errorf("%d files read", good)
	}
	s, err := Read(context.Background(), "testdata/numpy/columns.npz", Options{})
	if err != nil || len(s.Ignored) != 1 || s.Ignored[0] != "time" {
		t.Errorf("ignored %v, %v", s.Ignored, err)
	}
}

func TestNumpyRefused(t *testing.T) {
	for file, want := range map[string]string{
		"objects.npy":     `objects.npy: the array holds Python objects ("|O"), which are pickled code and not read; convert the array to numbers, as in numpy.save(name, array.astype(float)); pickled objects are never run`,
		"cube.npy":        `cube.npy: the array has 3 dimensions, a table has two; save the array again with numpy.save or numpy.savez`,
		"complex.npy":     `complex.npy: the type "<c16" is not one of plain numbers: f4, f8, i1 to i8, u1 to u8, b1; save the array again with numpy.save or numpy.savez`,
		"plain-f8-le.npy": `plain-f8-le.npy: the rows have 7 fields and no header says which of them is x, y, z; number the columns: --column x=1 and so on, with the unit where it is not SI: --column x="1 [mm]"`,
	} {
		_, err := Read(context.Background(), "testdata/numpy/"+file, Options{})
		if err == nil || strings.ReplaceAll(err.Error(), "testdata/numpy/", "") != want {
			t.Errorf("got  %v\nwant %s", err, want)
		}
	}
	file := func(header, body string) string {
		return fmt.Sprintf("\x93NUMPY\x01\x00%c%c%s%s", len(header)&255, len(header)>>8, header, body)
	}
	for _, c := range []struct{ data, want string }{
		{file("{'descr': '<f8', 'fortran_order': False, 'shape': (4, 1000000000), }", ""), "needs more values than the file's 0 bytes hold"},
		{file("{'descr': '<f8', 'fortran_order': False, 'shape': (2, 3), }", strings.Repeat("\x00", 40)), "6 values of 8 bytes are declared and 40 bytes are there"},
		{file("{'descr': '<f8', 'fortran_order': False, 'shape': (-2, 3), }", ""), `"-2, 3), }" at byte`},
		{file("{'descr': __import__('os'), 'fortran_order': False, 'shape': (2, 3), }", ""), "is unexpected"},
		{file(strings.Repeat("(", 50), ""), "nested more than 8 deep"},
		{file("{'descr': '<f8'", ""), "it ends early"},
		{file("('x',)", ""), "the header is no dict"},
		{file("{'descr': '<f8', 'shape': (2,)}", ""), "does not say fortran_order"},
		{file("{'descr': [('a', [('b', '<f8')])], 'fortran_order': False, 'shape': (1,)}", "12345678"), "is not one of plain numbers"},
		{"\x93NUMPY\x01\x00\xff\xff{}", "the header has 65535 bytes, the file 12"},
		{"\x93NUMPY\x09\x00\x02\x00{}xxxxxx", "version 9.0"},
	} {
		_, err := ReadBytes(context.Background(), "f", []byte(c.data), Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}
