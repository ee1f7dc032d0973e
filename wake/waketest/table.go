package waketest

import (
	"cmp"
	"compress/gzip"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/klauspost/compress/zstd"

	"wakeledger/wake"
)

// Table reads a comma-separated file, plain or packed with gzip or zstd, whose header and numbers are
// well-formed and SI: a plain reader for tests of what comes after reading. names gives
// the header of each quantity's column; a coordinate that it lacks is zero.
func Table(path string, names map[wake.Quantity]string) (*wake.Samples, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var r io.Reader = f
	switch {
	case strings.HasSuffix(path, ".gz"):
		r, err = gzip.NewReader(f)
	case strings.HasSuffix(path, ".zst"):
		r, err = zstd.NewReader(f)
	}
	if err != nil {
		return nil, err
	}
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil || len(rows) < 2 {
		return nil, fmt.Errorf("%s: %d rows, %v", path, len(rows), err)
	}
	s := &wake.Samples{File: filepath.Base(path), N: len(rows) - 1}
	for q := wake.X; q <= wake.Z; q++ {
		s.Col[q] = make([]float64, s.N)
	}
	for q, name := range names {
		column := -1
		for k, h := range rows[0] {
			if h == name {
				column = k
			}
		}
		if column < 0 {
			return nil, fmt.Errorf("%s: no column %q", path, name)
		}
		s.Col[q] = make([]float64, s.N)
		for i, row := range rows[1:] {
			if s.Col[q][i], err = strconv.ParseFloat(row[column], 64); err != nil {
				return nil, fmt.Errorf("%s:%d: %w", path, i+2, err)
			}
		}
	}
	return s, nil
}

// Shared finds a file or folder below data of the shared data, or skips the test.
func Shared(t testing.TB, parts ...string) string {
	t.Helper()
	path, ok := SharedPath(parts...)
	if !ok {
		t.Skipf("%s is not here: set WAKELEDGER_SHARED to the folder that holds data", filepath.Join(parts...))
	}
	return path
}

// SharedPath is that below the folder that the environment variable WAKELEDGER_SHARED names, or
// below shared beside the module's folder. ok is false where it is not there.
func SharedPath(parts ...string) (path string, ok bool) {
	root := cmp.Or(os.Getenv("WAKELEDGER_SHARED"), filepath.Join(module(), "..", "shared"))
	path, err := filepath.Abs(filepath.Join(append([]string{root, "data"}, parts...)...))
	if err == nil {
		_, err = os.Stat(path)
	}
	return path, err == nil
}

// module is the folder of the module that the tests run in.
func module() string {
	root := "."
	for range 9 {
		if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
			break
		}
		root = filepath.Join(root, "..")
	}
	return root
}
