package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestManual runs every call of the manual, doc.go, that begins with "$" in a copy of
// examples/shuttle: what the manual shows below it has to come, in its order; a line
// "…" means any number of lines, and "…" at the end of a line for its rest.
func TestManual(t *testing.T) {
	t.Parallel()
	b := read(t, "doc.go")
	dir := t.TempDir()
	must(t, os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "examples", "shuttle"))))
	lines := strings.Split(b, "\n")
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
		var stdout, stderr strings.Builder
		cmd := exec.Command("wakeledger", words(args)...)
		cmd.Dir, cmd.Stdout, cmd.Stderr = dir, &stdout, &stderr
		_ = cmd.Run() // some are refused
		printed := stdout.String() + stderr.String()
		if at := apart(want, printed); at != "" {
			t.Errorf("doc.go:%d: %s\n%s", i+1, args, at)
		}
		if len(want) == 0 && printed != "" {
			t.Errorf("doc.go:%d: %s prints %q, the manual nothing", i+1, args, printed)
		}
	}
	if calls < 8 {
		t.Errorf("%d calls in the manual", calls)
	}
	// Every command has a word in it.
	for _, c := range commands() {
		if c.name != "version" && !strings.Contains(b, c.name) {
			t.Errorf("the manual is silent about %s", c.name)
		}
	}
}

func same(want, got string) bool {
	head, open := strings.CutSuffix(want, "…")
	return want == got || open && strings.HasPrefix(got, head)
}

// apart says where what is shown leaves what is printed; empty for nowhere.
func apart(shown []string, printed string) string {
	got := strings.Split(printed, "\n")
	at, skip := 0, false
	for _, w := range shown {
		if w == "…" {
			skip = true
			continue
		}
		for skip && at < len(got) && !same(w, got[at]) {
			at++
		}
		if at >= len(got) || !same(w, got[at]) {
			return fmt.Sprintf("shown is %q, printed\n%s", w, strings.Join(got[min(at, len(got)):], "\n"))
		}
		at++
		skip = false
	}
	return ""
}

// TestReadme runs the README's commands, one after the other, from an empty folder, beginning with
// the demo: the blocks below each are lines of what it prints. The README has at most 200 lines, and
// pictures that are small.
func TestReadme(t *testing.T) {
	if testing.Short() {
		t.Skip("the demo takes some seconds")
	}
	go demo() // beside the tests that follow
	t.Parallel()
	root, err := filepath.Abs(filepath.Join("..", ".."))
	must(t, err)
	b := read(t, filepath.Join(root, "README.md"))
	if n := strings.Count(b, "\n"); n > 200 {
		t.Errorf("the README has %d lines", n)
	}
	for _, m := range regexp.MustCompile(`!\[[^]]*\]\(([^)]*)\)`).FindAllStringSubmatch(b, -1) {
		if f, err := os.Stat(filepath.Join(root, m[1])); err != nil || f.Size() > 120_000 {
			t.Errorf("%s: %v", m[1], err)
		}
	}
	printed, command, calls, blocks := "", "", 0, 0
	for _, m := range regexp.MustCompile("(?ms)^```(\\w*)\n(.*?)^```$").FindAllStringSubmatch(b, -1) {
		if m[1] != "" {
			continue
		}
		lines := strings.Split(strings.TrimSuffix(m[2], "\n"), "\n")
		first := strings.TrimPrefix(lines[0], "go run ./cmd/")
		if args, ok := strings.CutPrefix(first, "wakeledger "); ok {
			if printed, command = inDemo(t, words(args)...), lines[0]; printed == "" {
				t.Fatalf("%s prints nothing", command)
			}
			calls++
			continue
		}
		blocks++
		if at := apart(append([]string{"…"}, lines...), printed); at != "" {
			t.Errorf("README: %s\n%s", command, at)
		}
	}
	sameByHand(t)
	if calls < 4 || blocks < 5 {
		t.Errorf("%d commands and %d blocks of output in the README", calls, blocks)
	}
}

// inDemo runs a command beside the demo's folder; the demo itself is run once.
func inDemo(t *testing.T, args ...string) string {
	t.Helper()
	printed, err := demo()
	must(t, err)
	if slices.Equal(args, []string{"demo"}) {
		return printed
	}
	cmd := exec.Command("wakeledger", args...)
	cmd.Dir = shared
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%q: %v", args, err)
	}
	return string(out)
}

// sameByHand compares two of the demo's smallest planes with their force records: the table by part of the
// vehicle is that of the study.
func sameByHand(t *testing.T) {
	t.Helper()
	at := func(name string) string { return filepath.Join("wakeledger-demo", name+".csv.zst") }
	stdout := inDemo(t, "compare", at("bare_x-0.62"), at("fairing_x-0.62"), "--speed", "25", "--density", "1.2", "--pressure", "0", "--area", "2.58",
		"--force", at("bare_force"), "--force", at("fairing_force"), "--force-repeat", at("bare2_force"))
	_, rows, ok := strings.Cut(stdout, "\n  part ")
	rows, _, _ = strings.Cut(rows, "\n\n")
	ledger := read(t, filepath.Join(shared, "wakeledger-demo", "ledger", "ledger.txt"))
	if !ok || strings.Count(rows, "\n") < 6 || !strings.Contains(ledger, rows) {
		t.Errorf("by hand\n%s", rows)
	}
	// The study's forces are beside the wake's change.
	want := regexp.MustCompile(`"wake_m2": -0\.0642\d*,\s*"force_m2": -0\.0641`)
	if !want.MatchString(read(t, filepath.Join(shared, "wakeledger-demo", "ledger", "ledger.json"))) {
		t.Errorf("ledger.json has not %s", want)
	}
}
