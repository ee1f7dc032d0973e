package rake

import (
	"bytes"
	"encoding/csv"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

var update = flag.Bool("update", false, "write testdata anew")

// sameTable compares two tables number by number; text has to be equal.
func sameTable(t *testing.T, name string, got, want []byte, tol float64) {
	t.Helper()
	var rows [2][][]string
	for k, b := range [][]byte{got, want} {
		r := csv.NewReader(bytes.NewReader(b))
		r.Comment = '#'
		var err error
		if rows[k], err = r.ReadAll(); err != nil {
			t.Fatal(err)
		}
	}
	if len(rows[0]) != len(rows[1]) {
		t.Fatalf("%s: %d rows, %d stored", name, len(rows[0]), len(rows[1]))
	}
	for i := range rows[0] {
		for j, a := range rows[0][i] {
			b := rows[1][i][j]
			x, errX := strconv.ParseFloat(a, 64)
			y, errY := strconv.ParseFloat(b, 64)
			if errX != nil || errY != nil {
				if a != b {
					t.Fatalf("%s: row %d has %q, %q is stored", name, i, a, b)
				}
			} else if !(math.Abs(x-y) <= tol*math.Max(1, math.Abs(y))) {
				t.Fatalf("%s: row %d column %d is %s, %s is stored", name, i, j, a, b)
			}
		}
	}
}

// The stored pair: the log is what the generator gives, the plane what correcting it
// gives, and its drag is the closed form's within the stated uncertainty.
func TestStoredPair(t *testing.T) {
	k := wakeRake(0.5)
	k.Step = 0.01
	log, layout, _ := k.Log()
	layout = append(layout, constantLaw...)
	r := mustReduce(t, log, layout, Options{})
	r.Log, r.Layout = "invented_log.csv", "invented.toml"
	var plane bytes.Buffer
	if err := r.WriteCSV(&plane); err != nil {
		t.Fatal(err)
	}
	stored := map[string][]byte{"invented_log.csv": log, "invented.toml": layout, "invented_plane.csv": plane.Bytes()}
	for name, made := range stored {
		file := filepath.Join("testdata", name)
		if *update {
			if err := os.WriteFile(file, made, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatalf("%v (run with -update after a look at what it writes)", err)
		}
		if filepath.Ext(name) == ".csv" {
			sameTable(t, name, made, data, 2e-4)
		} else if !bytes.Equal(made, data) {
			t.Errorf("%s differs from what the generator gives", name)
		}
		stored[name] = data
	}
	d, u, _ := dragOf(t, mustReduce(t, stored["invented_log.csv"], stored["invented.toml"], Options{}))
	const want = 2 * math.Pi * 0.02 * 0.02 * 0.5 * 1.5
	if !(math.Abs(d-want) <= 2*u) {
		t.Errorf("%.7f m2 with standard uncertainty %.7f, closed form %.7f", d, u, want)
	}
}
