package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestManual runs every call of the manual, doc.go, that begins with "$" in a copy of
// examples/shuttle: what the manual shows below it has to come, in its order; a line
// "…" means any number of lines, and "…" at the end of a line for its rest.
func TestManual(t *testing.T) {
	b, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "examples", "shuttle"))); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	lines := strings.Split(string(b), "\n")
	calls := 0
	for i := 0; i < len(lines); i++ {
		args, ok := strings.CutPrefix(lines[i], "\t$ wakeledger ")
		if !ok {
			continue
		}
		calls++
		var want []string
		for k := i + 1; k < len(lines) && strings.HasPrefix(lines[k], "\t") && !strings.HasPrefix(lines[k], "\t$"); k++ {
			want = append(want, lines[k][1:])
		}
		_, stdout, stderr := call(words(args)...)
		got := strings.Split(stdout+stderr, "\n")
		at, skip := 0, false
		for _, w := range want {
			if w == "…" {
				skip = true
				continue
			}
			for skip && at < len(got) && !same(w, got[at]) {
				at++
			}
			if at >= len(got) || !same(w, got[at]) {
				t.Errorf("doc.go:%d: %s\nthe manual shows %q, the program prints\n%s", i+1, args, w, strings.Join(got[min(at, len(got)):], "\n"))
				break
			}
			at++
			skip = false
		}
		if len(want) == 0 && stdout+stderr != "" {
			t.Errorf("doc.go:%d: %s prints %q, the manual nothing", i+1, args, stdout+stderr)
		}
	}
	if calls < 8 {
		t.Errorf("%d calls in the manual", calls)
	}
	// Every command has a word in it.
	for _, c := range commands() {
		if c.name != "version" && !strings.Contains(string(b), c.name) {
			t.Errorf("the manual is silent about %s", c.name)
		}
	}
}

func same(want, got string) bool {
	head, open := strings.CutSuffix(want, "…")
	return want == got || open && strings.HasPrefix(got, head)
}
