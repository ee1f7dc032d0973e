package main

import (
	"bytes"
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
	cases := parseTable(t, string(table))
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
		if len(args) > 0 && !slices.Contains(args, "--out") && !slices.Contains(args, "--partial") {
			args = append(args, "--out", out)
		}
		var stdout, stderr strings.Builder
		code := run(args, strings.NewReader(""), &stdout, &stderr)
		got := fmt.Sprintf("%d ", code)
		var faults []string
		for _, l := range strings.Split(strings.TrimSuffix(stderr.String(), "\n"), "\n") {
			if rest, ok := strings.CutPrefix(l, "wakeledger: "); ok {
				faults = append(faults, rest)
			} else if !strings.HasPrefix(l, "warning: ") && len(c.args) > 0 {
				t.Errorf("table.txt:%d: stderr holds %q", c.line, l)
			}
		}
		if len(faults) != 1 {
			t.Errorf("table.txt:%d: %d lines of faults, one is expected: %q", c.line, len(faults), faults)
		}
		got += strings.Join(faults, " | ")
		results[c.line] = got
		if code != exitFailed && code != exitUsage {
			t.Errorf("table.txt:%d: exit code %d", c.line, code)
		}
		if stdout.Len() > 0 {
			t.Errorf("table.txt:%d: stdout holds %q", c.line, stdout.String())
		}
		if want := fmt.Sprintf("%d %s", c.code, c.text); got != want && !*update {
			t.Errorf("table.txt:%d:\n got %s\nwant %s", c.line, got, want)
		}
		if notFinite.MatchString(stdout.String()) {
			t.Errorf("table.txt:%d: %s", c.line, stdout.String())
		}
		if _, err := os.Lstat(out); !os.IsNotExist(err) {
			t.Errorf("table.txt:%d: %s was left behind", c.line, out)
		}
	}
	if after := listing(t, ".."); after != before {
		t.Errorf("files were written beside the inputs:\n%s\nbefore:\n%s", after, before)
	}
	if len(cases) < 150 {
		t.Errorf("%d calls, hundreds are expected", len(cases))
	}
	if *update {
		writeTable(t, string(table), results)
	}
	// Every file of the corpus is in the table, by itself or through a study that is.
	must(t, filepath.WalkDir(".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && !used[filepath.ToSlash(name)] {
			t.Errorf("%s is in no row of the table", name)
		}
		return err
	}))
}

var notFinite = regexp.MustCompile(`\b(NaN|[+-]?Inf)\b`)

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
	var b bytes.Buffer
	for i, l := range strings.Split(strings.TrimSuffix(table, "\n"), "\n") {
		if l != "" && l[0] != '#' && l[0] != '$' {
			continue
		}
		fmt.Fprintln(&b, l)
		if r, ok := results[i+1]; ok {
			fmt.Fprintln(&b, r)
		}
	}
	put(t, "table.txt", string(b.Bytes()))
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
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		fmt.Fprintln(&b, name, info.Size()*int64(map[bool]int{true: 0, false: 1}[d.IsDir()]), info.ModTime().UnixNano())
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.String()
}
