package waketest

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Corpus gives the contents of the repository's test files whose base names fit one of
// the patterns (as of filepath.Match) in testdata/sound, or anywhere in the folder
// testdata/bad/KIND: seeds for fuzzing. The order is that of the names.
func Corpus(kind string, patterns ...string) ([][]byte, error) {
	dir, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		if dir == filepath.Dir(dir) {
			return nil, errors.New("no go.mod above the working folder")
		}
		dir = filepath.Dir(dir)
	}
	var names []string
	for _, root := range []string{filepath.Join(dir, "testdata", "sound"), filepath.Join(dir, "testdata", "bad", kind)} {
		err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			for _, p := range patterns {
				ok, err := filepath.Match(p, filepath.Base(name))
				if err != nil {
					return err
				}
				if ok {
					names = append(names, name)
					break
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	slices.Sort(names)
	var out [][]byte
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	if len(out) == 0 {
		return nil, errors.New("no file fits")
	}
	return out, nil
}
