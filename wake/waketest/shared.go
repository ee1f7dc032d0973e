package waketest

import (
	"cmp"
	"os"
	"path/filepath"
	"testing"
)

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
