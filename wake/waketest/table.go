package waketest

import (
	"compress/gzip"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

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

// Shared finds a file of the shared data: below the folder that the environment
// variable WAKELEDGER_SHARED names, or below shared beside the module's folder, which
// lies up levels above the working folder. ok is false where it is not there.
func Shared(up string, parts ...string) (path string, ok bool) {
	root := os.Getenv("WAKELEDGER_SHARED")
	if root == "" {
		root = filepath.Join(up, "..", "shared")
	}
	path = filepath.Join(append([]string{root}, parts...)...)
	_, err := os.Stat(path)
	return path, err == nil
}
