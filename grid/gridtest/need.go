package gridtest

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// Missing ends a test for which a tool or a right is not there: it skips the test, or
// fails it where WAKELEDGER_REQUIRE_TOOLS is 1, so that there nothing goes unchecked in
// silence. what is a whole sentence without its full stop: what is missing and, if it
// is known, what brings it.
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("WAKELEDGER_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s, and WAKELEDGER_REQUIRE_TOOLS is 1", what)
	}
	t.Skip(what)
}

// Large reports whether the long versions of tests are asked for.
func Large() bool { return os.Getenv("WAKELEDGER_LARGE") != "" }

// Tool gives the path of a program, or ends the test as Missing does.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, name+" is not on the path")
	}
	return path
}

// Python gives the first python3 on the path that imports a module, or ends the test as
// Missing does. Where several are installed only one may have it.
func Python(t testing.TB, module, debian string) string {
	t.Helper()
	for _, dir := range filepath.SplitList(os.Getenv("PATH")) {
		p := filepath.Join(dir, "python3")
		if exec.Command(p, "-I", "-c", "import "+module).Run() == nil {
			return p
		}
	}
	Missing(t, "no python3 on the path imports "+module+" (Debian: "+debian+")")
	return ""
}
