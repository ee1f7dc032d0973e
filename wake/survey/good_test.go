package survey

import (
	"context"
	"math"
	"path/filepath"
	"testing"

	"wakeledger/wake"
)

// sixSamples is the plane that every file of testdata/good holds. All values are
// short binary fractions, so that writing them in mm, cm or hPa is exact.
var sixSamples = map[wake.Quantity][]float64{
	wake.X: {2.5, 2.5, 2.5, 2.5, 2.5, 2.5},
	wake.Y: {-0.25, 0.125, 0.5, -0.25, 0.125, 0.5},
	wake.Z: {0.25, 0.25, 0.25, 0.75, 0.75, 0.75},
	wake.U: {20.5, 18.25, 22, 24.5, 23.75, 25},
	wake.V: {0.5, -0.25, 0.125, 0, -1.5, 0.75},
	wake.W: {-0.125, 1.25, 0.25, -0.5, 0.375, 2},
	wake.P: {-40.5, -61.25, -33, -12.5, -8.75, 2.5},
}

type columns = map[wake.Quantity]string

func frame(t testing.TB, s string) wake.Frame {
	t.Helper()
	f, err := wake.ParseFrame(s)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The one plane, written in many ways, reads to the same samples. The tolerance
// is zero but where units need a rounded factor.
func TestGoodFilesAreOnePlane(t *testing.T) {
	options := map[string]Options{
		"no_header.txt":          {Columns: columns{wake.X: "1", wake.Y: "2", wake.Z: "3", wake.U: "4", wake.V: "5", wake.W: "6", wake.P: "7 [Pa]"}},
		"no_header.csv":          {Columns: columns{wake.X: "5 [m]", wake.Y: "6", wake.Z: "7", wake.U: "2 [m/s]", wake.V: "3", wake.W: "4", wake.P: "1"}},
		"own_names.csv":          {Columns: columns{wake.X: "along", wake.Y: "Across [m]", wake.Z: "height", wake.U: "a", wake.V: "b", wake.W: "c", wake.P: "7"}},
		"constant_x.csv":         {Columns: columns{wake.X: "= 2500 mm"}},
		"kinematic.csv":          {Density: 1.25},
		"kinematic_name.csv":     {Density: 1.25},
		"frame_forward_left.csv": {Frame: frame(t, "x forward, y left, z up")},
		"frame_swapped.csv":      {Frame: frame(t, "x right, y up, z aft")},
	}
	tolerance := map[string]float64{"km_per_hour.csv": 4e-16, "imperial.csv": 4e-16, "suffix_units.csv": 2e-16, "kinematic.csv": 4e-16, "kinematic_name.csv": 4e-16}
	files, err := filepath.Glob("testdata/good/*")
	if err != nil || len(files) < 25 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		base := filepath.Base(file)
		opt := options[base]
		delete(options, base)
		for _, block := range []int{0, 16} { // whole, and in tiny blocks
			opt.block = block
			s, err := Read(context.Background(), file, opt)
			if err != nil {
				t.Errorf("block %d: %v", block, err)
				continue
			}
			if s.N != 6 || s.Dropped != 0 || s.CellValues || s.Elements != nil || s.File != file {
				t.Errorf("%s: N %d, dropped %d, file %s", base, s.N, s.Dropped, s.File)
				continue
			}
			for q := wake.Quantity(0); q < wake.NumQuantities; q++ {
				want, ok := sixSamples[q]
				if (s.Col[q] != nil) != ok {
					t.Errorf("%s: has %s: %v", base, q, !ok)
					continue
				}
				for i := range want {
					if !(math.Abs(s.Col[q][i]-want[i]) <= tolerance[base]*math.Abs(want[i])) {
						t.Errorf("%s, block %d: %s[%d] = %v, want %v", base, block, q, i, s.Col[q][i], want[i])
					}
				}
			}
		}
	}
	for name := range options {
		t.Errorf("there is no file %s", name)
	}
}

// What is kept of how the columns were written.
func TestSources(t *testing.T) {
	for _, c := range []struct {
		file string
		opt  Options
		q    wake.Quantity
		want wake.Source
	}{
		{"plain.csv", Options{}, wake.U, wake.Source{Name: "u", Unit: "m/s", By: "file", Factor: 1}},
		{"tab.tsv", Options{}, wake.U, wake.Source{Name: "U", By: "file", Factor: 1}},
		{"suffix_units.csv", Options{}, wake.Y, wake.Source{Name: "y", Unit: "mm", By: "file", Factor: 1e-3}},
		{"units_row.csv", Options{}, wake.Z, wake.Source{Name: "z", Unit: "mm", By: "file", Factor: 1e-3}},
		{"kinematic.csv", Options{Density: 1.25}, wake.P, wake.Source{Name: "p", Unit: "m²/s²", By: "file", Factor: 1.25}},
		// The file's x is the program's y in this frame, its sign turned.
		{"plain.csv", Options{Frame: frame(t, "x left, y aft, z up")}, wake.Y, wake.Source{Name: "x", Unit: "m", By: "file", Factor: -1}},
	} {
		s, err := Read(context.Background(), "testdata/good/"+c.file, c.opt)
		if err != nil {
			t.Error(err)
			continue
		}
		if s.Source[c.q] != c.want {
			t.Errorf("%s, %s: %+v, want %+v", c.file, c.q, s.Source[c.q], c.want)
		}
	}
	s, err := Read(context.Background(), "testdata/good/other_columns.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(s.Ignored), 4; got != want || s.Ignored[3] != "angle [°]" || s.Ignored[1] != "name" {
		t.Errorf("ignored %q", s.Ignored)
	}
}
