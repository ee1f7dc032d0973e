package survey

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
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
		"cube.npy":        `cube.npy: the array has 3 dimensions, a table has two; save one row a sample, as in array.reshape(-1, array.shape[-1])`,
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

// member is an array of an archive, with its shape as Python writes it. Its values are
// in C order; fortran has them written the other way.
type member struct {
	name, descr string
	shape       []int
	fortran     bool
	values      []float64
}

func archive(t *testing.T, members []member) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, m := range members {
		body := strings.Repeat("t\x00\x00\x00", 3) // text <U3
		if m.descr == "" {
			m.descr, body = "<f8", ""
			at := make([]int, len(m.values)) // place in the file of each value
			for i := range at {
				at[i] = i
				if m.fortran {
					rest, step := i, len(m.values)
					at[i] = 0
					for k := len(m.shape) - 1; k >= 0; k-- {
						step /= m.shape[k]
						at[i] += rest % m.shape[k] * step
						rest /= m.shape[k]
					}
				}
			}
			b := make([]byte, 8*len(m.values))
			for i, v := range m.values {
				binary.LittleEndian.PutUint64(b[8*at[i]:], math.Float64bits(v))
			}
			body = string(b)
		}
		shape := strings.NewReplacer("[", "(", "]", ",)", " ", ",").Replace(fmt.Sprint(m.shape))
		order := map[bool]string{false: "False", true: "True"}[m.fortran]
		w, err := z.Create(m.name + ".npy")
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(w, numpyFile("{'descr': '"+m.descr+"', 'fortran_order': "+order+", 'shape': "+strings.Replace(shape, "(,)", "()", 1)+"}", body))
	}
	z.Close()
	return out.Bytes()
}

// TestMeshGrid reads the members that numpy.meshgrid leads to: one value a place of the
// grid, in C order whichever way a member is stored, vectors too; single values and
// text are passed over and listed.
func TestMeshGrid(t *testing.T) {
	y := []float64{0, 1, 2, 0, 1, 2}
	z := []float64{0, 0, 0, 1, 1, 1}
	u := []float64{10, 11, 12, 13, 14, 15}
	vec := []float64{10, 0, 1, 11, 2, 3, 12, 4, 5, 13, 6, 7, 14, 8, 9, 15, 10, 11}
	p := []float64{-1, -2, -3, -4, -5, -6}
	text := member{name: "title", descr: "<U3", shape: []int{}}
	grid, flat := []int{2, 3}, Options{Columns: columns{wake.X: "= 2.5 m"}}
	for _, c := range []struct {
		name    string
		members []member
		opt     Options
		want    string // of the error
	}{
		{"grid", []member{{name: "y", shape: grid, values: y}, {name: "z", shape: grid, values: z}, {name: "u", shape: grid, values: u}, {name: "p", shape: grid, values: p}, text}, flat, ""},
		{"text first", []member{text, {name: "y", shape: []int{6}, values: y}, {name: "z", shape: []int{6}, values: z}, {name: "u", shape: []int{6}, values: u}, {name: "p", shape: []int{6}, values: p}}, flat, ""},
		{"fortran", []member{text, {name: "Y", shape: grid, values: y, fortran: true}, {name: "Z", shape: grid, values: z}, {name: "u", shape: grid, values: u, fortran: true}, {name: "p", shape: []int{2, 3, 1}, values: p, fortran: true}}, flat, ""},
		{"velocity", []member{{name: "velocity", shape: []int{2, 3, 3}, values: vec}, {name: "y", shape: grid, values: y}, {name: "z", shape: []int{2, 1, 3}, values: z}, {name: "p", shape: grid, values: p, fortran: true}, text}, flat, ""},
		{"velocity, fortran", []member{{name: "velocity", shape: []int{2, 3, 3}, values: vec, fortran: true}, {name: "y", shape: grid, values: y}, {name: "z", shape: grid, values: z}, {name: "p", shape: grid, values: p}, text}, flat, ""},
		{"named", []member{{name: "yy", shape: grid, values: y}, {name: "zz", shape: grid, values: z}, {name: "u", shape: grid, values: u}, {name: "p", shape: grid, values: p}, text}, Options{Columns: columns{wake.X: "= 2.5 m", wake.Y: "yy", wake.Z: "zz"}}, ""},
		{"other shape", []member{{name: "y", shape: grid, values: y}, {name: "z", shape: grid, values: z}, {name: "u", shape: []int{3, 2}, values: u}}, flat,
			"f#u.npy: the array has the shape [3 2], the mesh grid of the coordinates [2 3]; save arrays of one shape, as in Y, Z = numpy.meshgrid(y, z)"},
		{"axes", []member{{name: "y", shape: []int{3}, values: y[:3]}, {name: "z", shape: []int{2}, values: z[2:4]}, {name: "u", shape: grid, values: u}}, flat,
			`f: the member "z.npy" has 2 rows, others have 3; save columns of one length, or arrays of one shape as numpy.meshgrid gives them`},
		{"text alone", []member{text}, flat, "f: the archive holds no array with rows; save one array for each column"},
	} {
		s, err := readBytes(context.Background(), "f", archive(t, c.members), c.opt)
		if c.want != "" {
			if err == nil || err.Error() != c.want {
				t.Errorf("%s:\n got %v\nwant %s", c.name, err, c.want)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for q, want := range map[wake.Quantity][]float64{wake.Y: y, wake.Z: z, wake.U: u, wake.P: p} {
			if !slices.Equal(s.Col[q], want) {
				t.Errorf("%s: %s is %v, want %v", c.name, q, s.Col[q], want)
			}
		}
		if !slices.Equal(s.Ignored, []string{"title"}) {
			t.Errorf("%s: ignored %q", c.name, s.Ignored)
		}
	}
}
