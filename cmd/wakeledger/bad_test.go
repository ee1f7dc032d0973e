package main

import (
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite expected output; read the difference")

// badCase is one call of testdata/bad/table.txt.
type badCase struct {
	args []string
	line int
	// code and text are expected: the exit code, and the line on standard error.
	code int
	text string
}

// TestBadTable makes every call of testdata/bad/table.txt: wrong files for each
// reader, wrong studies and layouts, wrong flags of each command. Each ends with the
// exit code and the one line that the table tells, prints nothing else but warnings,
// writes no NaN or Inf, and leaves nothing behind.
func TestBadTable(t *testing.T) {
	t.Chdir(filepath.Join("..", "..", "testdata", "bad"))
	table := read(t, "table.txt")
	cases := parseTable(t, table)
	before := listing(t, "..")
	used := map[string]bool{"table.txt": true}
	results := map[int]string{}
	for _, c := range cases {
		for _, a := range c.args {
			noteUse(used, a)
		}
		out := filepath.Join(t.TempDir(), "out")
		args := slices.Clone(c.args)
		// Where the call does not say where it writes, it is told to.
		if len(args) > 0 && !slices.Contains(args, "--out") {
			args = append(args, "--out", out)
		}
		got := refused(t, fmt.Sprintf("table.txt:%d", c.line), out, args...)
		results[c.line] = got
		if want := fmt.Sprintf("%d %s", c.code, c.text); got != want && !*update {
			t.Errorf("table.txt:%d:\n got %s\nwant %s", c.line, got, want)
		}
	}
	if after := listing(t, ".."); after != before {
		t.Errorf("files were written beside the inputs:\n%s\nbefore:\n%s", after, before)
	}
	if len(cases) < 150 {
		t.Errorf("%d calls, hundreds are expected", len(cases))
	}
	if *update {
		writeTable(t, table, results)
	}
	// Every file of the corpus is in the table, by itself or through a study that is.
	must(t, filepath.WalkDir(".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && !used[filepath.ToSlash(name)] {
			t.Errorf("%s is in no row of the table", name)
		}
		return err
	}))
}

// refused makes a call that has to fail: its exit code with the one line of the fault; beside
// it come warnings alone, and nothing is left in out.
func refused(t *testing.T, what, out string, args ...string) string {
	t.Helper()
	code, stdout, stderr := call(args...)
	var faults []string
	for l := range strings.Lines(stderr) {
		if rest, ok := strings.CutPrefix(l, "wakeledger: "); ok {
			faults = append(faults, strings.TrimSuffix(rest, "\n"))
		} else if !strings.HasPrefix(l, "warning: ") && len(args) > 0 {
			t.Errorf("%s: stderr holds %q", what, l)
		}
	}
	if _, err := os.Lstat(out); len(faults) != 1 || code != exitFailed && code != exitUsage || stdout != "" || !os.IsNotExist(err) {
		t.Errorf("%s: exit code %d, faults %q, one is expected; stdout %q, %s: %v", what, code, faults, stdout, out, err)
	}
	return fmt.Sprintf("%d %s", code, strings.Join(faults, " | "))
}

// TestBadFiles gives every malformed file of the readers to the program: one line
// that names the file.
func TestBadFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "..", "wake", "survey", "testdata", "bad", "*"))
	if err != nil || len(files) < 20 {
		t.Fatalf("%d malformed files, at least 20 are expected, %v", len(files), err)
	}
	for _, f := range files {
		out := filepath.Join(t.TempDir(), "out")
		if got := refused(t, f, out, "measure", f, "--speed", "1", "--pressure", "0", "--out", out); !strings.Contains(got, filepath.Base(f)) {
			t.Errorf("the message does not name %s: %s", f, got)
		}
	}
}

// parseTable reads blocks of "$ arguments" and "CODE text". In the arguments @ stands
// for a reference state; words with blanks are in double quotes.
func parseTable(t *testing.T, s string) (out []badCase) {
	for i, l := range strings.Split(s, "\n") {
		switch {
		case strings.TrimSpace(l) == "" || l[0] == '#':
		case strings.HasPrefix(l, "$"):
			out = append(out, badCase{args: words(l[1:]), line: i + 1})
		default:
			code, text, _ := strings.Cut(l, " ")
			n, err := strconv.Atoi(code)
			if err != nil || len(out) == 0 {
				t.Fatalf("table.txt:%d: %q", i+1, l)
			}
			out[len(out)-1].code, out[len(out)-1].text = n, text
		}
	}
	return out
}

var word = regexp.MustCompile(`"[^"]*"|[^\s"]+`)

// words splits a line of arguments.
func words(s string) (out []string) {
	s = strings.ReplaceAll(s, " @", " --speed 25 --density 1.2 --pressure 0")
	var joined bool
	for _, at := range word.FindAllStringIndex(s, -1) {
		w := strings.ReplaceAll(s[at[0]:at[1]], `"`, "")
		// A quote in the middle goes on with the word before it.
		if joined = at[0] > 0 && s[at[0]-1] != ' ' && len(out) > 0; joined {
			out[len(out)-1] += w
			continue
		}
		out = append(out, w)
	}
	return out
}

func writeTable(t *testing.T, table string, results map[int]string) {
	var b strings.Builder
	for i, l := range strings.Split(strings.TrimSuffix(table, "\n"), "\n") {
		if l != "" && l[0] != '#' && l[0] != '$' {
			continue
		}
		fmt.Fprintln(&b, l)
		if r, ok := results[i+1]; ok {
			fmt.Fprintln(&b, r)
		}
	}
	put(t, "table.txt", b.String())
}

// noteUse notes a file of the corpus that an argument names, with those that a study
// among them names.
func noteUse(used map[string]bool, arg string) {
	for _, part := range append(strings.Split(arg, "+"), arg) {
		data, err := os.ReadFile(part)
		if err != nil {
			continue
		}
		used[filepath.ToSlash(filepath.Clean(part))] = true
		for _, m := range regexp.MustCompile(`"(\.\./[^"]+)"`).FindAllStringSubmatch(string(data), -1) {
			used[filepath.ToSlash(filepath.Join(filepath.Dir(part), m[1]))] = true
		}
	}
}

// listing tells the files below a folder, with sizes.
func listing(t *testing.T, dir string) string {
	var b strings.Builder
	must(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && !d.IsDir() {
			name += fmt.Sprint(" ", info.Size(), info.ModTime().UnixNano())
		}
		fmt.Fprintln(&b, name)
		return err
	}))
	return b.String()
}
