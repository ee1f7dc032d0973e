package vtk

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
	"wakeledger/wake"
	"wakeledger/wake/waketest"
)

// fixed loads the kept files, by their path from testdata/fixed.
func fixed(t testing.TB) (names []string, files map[string][]byte) {
	t.Helper()
	files = map[string][]byte{}
	root := filepath.Join("testdata", "fixed")
	err := filepath.WalkDir(root, func(p string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasSuffix(p, ".json") {
			return err
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		names = append(names, rel)
		files[rel], err = os.ReadFile(p)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(names) < 20 {
		t.Fatalf("only %d files in %s", len(names), root)
	}
	return names, files
}

// wellFormed checks what a caller relies on.
func wellFormed(d *Dataset) error {
	n, cells := d.NumPoints(), d.Cells.Len()
	if len(d.Points) != 3*n || len(d.Cells.Start) < 1 || d.Cells.Start[0] != 0 || int(d.Cells.Start[cells]) != len(d.Cells.Index) {
		return errors.New("points or polygons are not whole")
	}
	for e := range cells {
		c := d.Cells.Corners(e)
		if len(c) < 3 {
			return errors.New("a polygon with fewer than three corners")
		}
		for k, id := range c {
			if id < 0 || int(id) >= n {
				return errors.New("a corner that is no point")
			}
			if id == c[(k+1)%len(c)] {
				return errors.New("a corner twice in a row")
			}
		}
	}
	for _, part := range []struct {
		as   []Array
		rows int
	}{{d.PointArrays, n}, {d.CellArrays, cells}} {
		for _, a := range part.as {
			if a.Components < 1 || len(a.Values) != part.rows*a.Components {
				return errors.New("array " + a.Name + " is not whole")
			}
			if a.ComponentNames != nil && len(a.ComponentNames) != a.Components {
				return errors.New("array " + a.Name + " has other component names than components")
			}
		}
	}
	return nil
}

// TestCuts cuts each kept file everywhere (every 37th byte, in the long version every 11th): a file that lacks more
// than its closing blanks must not pass for whole.
func TestCuts(t *testing.T) {
	names, files := fixed(t)
	step := 37
	if gridtest.Large() {
		step = 11
	}
	open := func(rel string) ([]byte, error) { return files[rel], nil }
	for _, name := range names {
		b := bytes.TrimSpace(files[name])
		full, err := Read(name, files[name], open, nil)
		if err != nil {
			t.Fatal(err)
		}
		for n := 0; n < len(b)-1; n += step {
			d, err := Read(name, b[:n], open, nil)
			if err != nil {
				continue
			}
			// The legacy format has no end mark: a cut between two of its parts cannot
			// be seen, and in a text the last number may lose digits.
			if !strings.HasSuffix(name, ".vtk") {
				t.Errorf("%s cut at %d of %d reads as whole", name, n, len(b))
				continue
			}
			if len(d.PointArrays)+len(d.CellArrays) >= len(full.PointArrays)+len(full.CellArrays) && n < len(b)-40 {
				t.Errorf("%s cut at %d of %d has all its arrays", name, n, len(b))
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	names, files := fixed(f)
	for _, n := range names {
		f.Add(files[n])
	}
	for _, s := range waketest.Corpus(f, "vtk", "plane.vt?", "*.vt?") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		d, err := Read("fuzz", b, func(rel string) ([]byte, error) {
			if d, ok := files[rel]; ok {
				return d, nil
			}
			return nil, os.ErrNotExist
		}, nil)
		if err != nil {
			var in *wake.InputError
			if !errors.As(err, &in) {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		if !Looks(b) {
			t.Error("read, but does not look it")
		}
		if err := wellFormed(d); err != nil {
			t.Fatal(err)
		}
	})
}
