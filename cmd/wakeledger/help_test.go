package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/pflag"
)

// exampleFolder is a folder with what the examples name: planes of the shuttle, a
// rake's log with its layout, and the states of two averages.
func exampleFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	shuttle := filepath.Join("..", "..", "examples", "shuttle")
	for to, from := range map[string]string{
		"slice.csv.gz":             filepath.Join(shuttle, "bare_x+0.62.csv.zst"),
		"bare.csv":                 filepath.Join(shuttle, "bare_x-0.62.csv.zst"),
		"fairing.csv":              filepath.Join(shuttle, "fairing_x-0.62.csv.zst"),
		"study.toml":               sound(t, "study.toml"),
		"exports/bare.csv":         filepath.Join(shuttle, "bare_x-0.02.csv.zst"),
		"plane.csv":                sound(t, "plane.csv"),
		"variant.csv":              sound(t, "variant.csv"),
		"snapshots/bare_1.csv.zst": sound(t, "plane.csv"),
		"snapshots/bare_2.csv.zst": sound(t, "variant.csv"),
		"bare_rake.csv":            sound(t, "rake_log.csv"),
		"rake.toml":                sound(t, "rake.toml"),
		"part-1/mean.state":        sound(t, "part_1.state"),
		"part-2/mean.state":        sound(t, "part_2.state"),
		"whole.csv.gz":             filepath.Join(shuttle, "bare_x+2.91_whole.csv.zst"),
	} {
		put(t, filepath.Join(dir, to), read(t, from))
	}
	return dir
}

// shellWords splits a command as a shell does: quotes, and patterns of file names.
func shellWords(t *testing.T, s string) (out []string) {
	for _, w := range words(s) {
		files, err := filepath.Glob(w)
		if err != nil || len(files) == 0 || !strings.Contains(w, "*") {
			files = []string{w}
		}
		out = append(out, files...)
	}
	return out
}

// Every command's --help fits a screen, names its limits where it reads files, and
// gives an example that runs as it stands.
func TestHelp(t *testing.T) {
	dir := exampleFolder(t)
	t.Chdir(dir)
	for _, c := range commands() {
		code, stdout, stderr := call(c.name, "--help")
		if code != exitDone || stderr != "" || !strings.HasPrefix(stdout, "usage: wakeledger "+c.name) {
			t.Errorf("%s: %d %q %q", c.name, code, stdout, stderr)
		}
		if n := strings.Count(stdout, "\n"); n > 40 {
			t.Errorf("%s --help has %d lines", c.name, n)
		}
		for _, l := range strings.Split(stdout, "\n") {
			if n := len([]rune(l)); n > 80 && !strings.HasPrefix(l, "example: ") {
				t.Errorf("%s --help has a line of %d: %s", c.name, n, l)
			}
		}
		for _, word := range []string{" string", " stringArray", " float", " int ", "[=true"} {
			if strings.Contains(stdout, word+" ") {
				t.Errorf("%s --help has the word of a type, %q", c.name, word)
			}
		}
		if strings.Contains(c.args, "…") != strings.Contains(stdout, "\nlimits: ") && c.name != "study" {
			t.Errorf("%s --help tells no limits, or tells some and reads nothing", c.name)
		}
		code, more, _ := call(c.name, "--help-all")
		if code != exitDone || len(more) < len(stdout)-90 {
			t.Errorf("%s --help-all: %d, %q", c.name, code, more)
		}
		_, example, ok := strings.Cut(stdout, "\nexample: wakeledger ")
		if !ok {
			if c.name != "version" {
				t.Errorf("%s has no example", c.name)
			}
			continue
		}
		if c.name == "demo" {
			continue // the longest one, which the checks before a change run by itself
		}
		example, _, _ = strings.Cut(strings.TrimSpace(example), " > ")
		if code, stdout, stderr := call(shellWords(t, example)...); code != exitDone || stdout == "" {
			t.Errorf("wakeledger %s: %d, %s", example, code, stderr)
		}
	}
}

// The flags are part of the contract: none goes, and a new one has its place in the list.
func TestFlags(t *testing.T) {
	data := read(t, filepath.Join("testdata", "flags.txt"))
	lists := map[string][]string{}
	for line := range strings.Lines(string(data)) {
		f := strings.Fields(line)
		lists[f[0]] = f[1:]
	}
	for _, c := range commands() {
		got, want := []string{"--help"}, slices.Concat(lists["all"], lists[c.name])
		e := &env{command: c}
		fs := e.flags()
		c.begin(e, fs)
		fs.VisitAll(func(f *pflag.Flag) { got = append(got, "--"+f.Name) })
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s has the flags\n%v, want\n%v", c.name, got, want)
		}
	}
}

// The line on a terminal tells what is left at the pace so far; no number of steps breaks it, and
// nothing appears where standard error is no terminal.
func TestProgress(t *testing.T) {
	for _, c := range []struct {
		count, total int
		want         string
	}{
		{1, 4, "study: 1 of 4, about 30s left"},
		{3, 4, "3 of 4, about 3s left"},
		{4, 4, "study: 4 of 4"},
		{6, 4, "study: 6 of 6"},
	} {
		p := &progress{what: "study", total: c.total, count: c.count}
		if got := p.line(10 * time.Second); len(got) != 80 || !strings.Contains(got+"$", c.want) || strings.Contains(got, "left") != (c.count < c.total) {
			t.Errorf("%d of %d: %q", c.count, c.total, got)
		}
	}
	var b strings.Builder
	p := (&env{stderr: &b}).progress("study", 2)
	p.start = p.start.Add(-time.Hour)
	p.step()
	p.done()
	if b.Len() > 0 {
		t.Errorf("not on a terminal: %q", b.String())
	}
}
