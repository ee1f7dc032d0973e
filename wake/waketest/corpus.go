package waketest

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// Corpus gives the contents of the repository's test files whose base names fit one of
// the patterns (as of filepath.Match) anywhere in the folders testdata/bad/KIND and
// testdata/sound: seeds for fuzzing.
func Corpus(t testing.TB, kind string, patterns ...string) (out [][]byte) {
	t.Helper()
	for _, folder := range []string{filepath.Join("bad", kind), "sound"} {
		err := filepath.WalkDir(filepath.Join(module(), "testdata", folder), func(name string, d fs.DirEntry, err error) error {
			fits := func(p string) bool { ok, _ := filepath.Match(p, filepath.Base(name)); return ok }
			if err != nil || d.IsDir() || !slices.ContainsFunc(patterns, fits) {
				return err
			}
			b, err := os.ReadFile(name)
			out = append(out, b)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if len(out) == 0 {
		t.Fatalf("no test file of kind %s fits %v", kind, patterns)
	}
	return out
}
