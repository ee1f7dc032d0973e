package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wakeledger/grid/gridtest"
)

// sound is the folder of inputs without fault.
func sound(t *testing.T, names ...string) string {
	t.Helper()
	dir, err := filepath.Abs(filepath.Join("..", "..", "testdata", "sound"))
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(append([]string{dir}, names...)...)
}

// measureInto is a call that writes a handful of files.
func measureInto(t *testing.T, out string, more ...string) []string {
	return append([]string{"measure", sound(t, "plane.csv"), "--speed", "25", "--density", "1.2", "--pressure", "0", "--out", out, "--size", "480x300", "--map", "u/U"}, more...)
}

// call runs the program in this process.
func call(args ...string) (code int, stdout, stderr string) {
	var o, e strings.Builder
	code = run(args, strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// contents are the files below a folder.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		rel, _ := filepath.Rel(dir, name)
		out[filepath.ToSlash(rel)] = string(b)
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	return out
}

// failing is a temporary file on a disk that takes a number of bytes.
type failing struct {
	*os.File
	left *int
}

func (f failing) Write(b []byte) (int, error) {
	n := min(len(b), *f.left)
	*f.left -= n
	n, err := f.File.Write(b[:n])
	if err == nil && n < len(b) {
		err = &fs.PathError{Op: "write", Path: f.Name(), Err: errors.New("no space left on device")}
	}
	return n, err
}

// Wherever the disk gets full, nothing is left of the run, folders included, and what
// was in the folder before is as it was.
func TestFullDisk(t *testing.T) {
	for _, room := range []int{0, 1, 10, 14, 15, 29} {
		for _, old := range []bool{false, true} {
			dir := filepath.Join(t.TempDir(), "out")
			if old {
				if err := os.MkdirAll(dir, 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, "b.txt"), []byte("old"), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			o := newOutput()
			left := room
			o.create = func(dir, pattern string) (tempFile, error) {
				f, err := os.CreateTemp(dir, pattern)
				return failing{f, &left}, err
			}
			for _, name := range []string{"a.txt", "maps/deep/c.png", "b.txt"} {
				o.add(name, []byte("0123456789"))
			}
			err := o.write(dir, nil)
			if err == nil || !strings.HasPrefix(err.Error(), "nothing was written into "+dir+": "+dir) || !strings.HasSuffix(err.Error(), ": no space left on device") || strings.Contains(err.Error(), tempPrefix) {
				t.Errorf("room for %d: %v", room, err)
			}
			after := contents(t, dir)
			if _, err := os.Stat(dir); old && (len(after) != 1 || after["b.txt"] != "old") || !old && !os.IsNotExist(err) {
				t.Errorf("room for %d: left %v, %v", room, after, err)
			}
			if old {
				if es, _ := os.ReadDir(dir); len(es) != 1 {
					t.Errorf("room for %d: %v", room, es)
				}
			}
		}
	}
}

// brokenPipe is a standard output that takes nothing.
type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("broken pipe") }

func TestOutputRefused(t *testing.T) {
	for _, args := range [][]string{
		{"check", sound(t, "plane.csv")},
		{"check", sound(t, "plane.csv"), "--json"},
		{"study", sound(t, "study.toml"), "--out", filepath.Join(t.TempDir(), "o"), "--json"},
		{"rake", sound(t, "rake_log.csv"), "--draft-layout"},
	} {
		var e strings.Builder
		if code := run(args, strings.NewReader(""), brokenPipe{}, &e); code != exitFailed || !strings.HasPrefix(e.String(), "wakeledger: ") || !strings.Contains(e.String(), "broken pipe") {
			t.Errorf("%v: %d, %s", args, code, e.String())
		}
	}
}

// What a killed run left under temporary names goes with the next run; other hidden
// files stay.
func TestLeftovers(t *testing.T) {
	out := t.TempDir()
	for _, name := range []string{".wakeledger-123.part", ".wakeledger-notes", ".hidden.part"} {
		if err := os.WriteFile(filepath.Join(out, name), []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if code, _, stderr := call(measureInto(t, out)...); code != exitDone {
		t.Fatal(stderr)
	}
	after := contents(t, out)
	_, gone := after[".wakeledger-123.part"]
	if gone && lockWait > 0 || after[".wakeledger-notes"] != "x" || after[".hidden.part"] != "x" || after["measure.json"] == "" {
		t.Errorf("%v", after)
	}
}

// A folder stands where a file is to be written: nothing is written at all.
func TestFolderInTheWay(t *testing.T) {
	out := t.TempDir()
	if err := os.Mkdir(filepath.Join(out, "measure.csv"), 0o755); err != nil {
		t.Fatal(err)
	}
	code, stdout, stderr := call(measureInto(t, out)...)
	if es, _ := os.ReadDir(out); code != exitFailed || stdout != "" || len(es) != 1 || !strings.Contains(stderr, "measure.csv is a folder") {
		t.Errorf("%d %q %q %v", code, stdout, stderr, es)
	}
}

// Links as output: one to a folder is followed, one to nothing is refused, and one in
// the place of a file is replaced and its target left alone.
func TestLinksAsOutput(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "target"), filepath.Join(dir, "link")
	if err := os.Symlink(target, link); err != nil {
		gridtest.Missing(t, fmt.Sprintf("links cannot be made here: %v", err))
	}
	code, _, stderr := call(measureInto(t, link)...)
	if code != exitFailed || !strings.Contains(stderr, "is a link to "+target+", which is not there") {
		t.Errorf("a link to nothing: %d %s", code, stderr)
	}
	if err := os.Mkdir(target, 0o755); err != nil {
		t.Fatal(err)
	}
	precious := filepath.Join(dir, "precious")
	if err := os.WriteFile(precious, []byte("keep"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(precious, filepath.Join(target, "measure.txt")); err != nil {
		t.Fatal(err)
	}
	if code, _, stderr := call(measureInto(t, link)...); code != exitDone {
		t.Fatal(stderr)
	}
	if b, _ := os.ReadFile(precious); string(b) != "keep" {
		t.Errorf("the link's target holds %q", b)
	}
	if st, err := os.Lstat(filepath.Join(target, "measure.txt")); err != nil || !st.Mode().IsRegular() {
		t.Errorf("%v, %v", st, err)
	}
}

// Whatever was read is never written over, under any name and by whichever flag it was
// read.
func TestOutputIsInput(t *testing.T) {
	folder := sound(t)
	copyOf := func(t *testing.T, from, to string) {
		b, err := os.ReadFile(filepath.Join(folder, from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	ref := []string{"--density", "1.2", "--map", "none"}
	for name, c := range map[string]struct {
		inputs map[string]string // names in the folder, from sound
		args   []string
	}{
		"survey":    {map[string]string{"measure.csv": "plane.csv"}, append([]string{"measure", "measure.csv", "--speed", "25", "--pressure", "0", "--out", "."}, ref...)},
		"joined":    {map[string]string{"a": "velocity.csv", "measure.csv": "pressure.csv"}, append([]string{"measure", "a+measure.csv", "--speed", "25", "--pressure", "0", "--out", "."}, ref...)},
		"reference": {map[string]string{"a": "plane.csv", "measure.csv": "variant.csv"}, append([]string{"measure", "a", "--reference", "measure.csv", "--out", "."}, ref...)},
		"tare":      {map[string]string{"a": "plane.csv", "measure.csv": "plane.csv"}, append([]string{"measure", "a", "--tare", "measure.csv", "--speed", "25", "--pressure", "0", "--out", "."}, ref...)},
		"compare":   {map[string]string{"a": "plane.csv", "compare.csv": "variant.csv"}, append([]string{"compare", "a", "compare.csv", "--speed", "25", "--pressure", "0", "--out", "."}, ref...)},
		"check":     {map[string]string{"check.txt": "plane.csv"}, []string{"check", "check.txt", "--out", "."}},
		"average":   {map[string]string{"mean.csv": "plane.csv"}, []string{"average", "mean.csv", "--out", "."}},
		"partial":   {map[string]string{"a": "plane.csv"}, []string{"average", "a", "--partial", "a"}},
		"merge":     {map[string]string{"a": "part_1.state", "b": "part_2.state"}, []string{"merge", "a", "b", "--partial", "b"}},
		"layout":    {map[string]string{"log": "rake_log.csv", "rake.txt": "rake.toml"}, []string{"rake", "log", "--layout", "rake.txt", "--out", "."}},
		"draft":     {map[string]string{"rake.toml": "rake_log.csv"}, []string{"rake", "rake.toml", "--draft-layout", "--out", "."}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			for to, from := range c.inputs {
				copyOf(t, from, to)
			}
			before := contents(t, ".")
			code, _, stderr := call(c.args...)
			if code != exitFailed || !strings.Contains(stderr, "is an input and would be overwritten") {
				t.Errorf("%d %s", code, stderr)
			}
			after := contents(t, ".")
			if len(after) != len(before) {
				t.Errorf("%d files, %d before", len(after), len(before))
			}
			for k, v := range before {
				if after[k] != v {
					t.Errorf("%s was changed", k)
				}
			}
		})
	}
	// A study with everything that it can read, each in turn in the place of an output.
	for _, taken := range []string{"study.toml", "plane.csv", "variant.csv", "force.csv", "repeat.csv"} {
		t.Run("study "+taken, func(t *testing.T) {
			t.Chdir(t.TempDir())
			for to, from := range map[string]string{"plane.csv": "plane.csv", "variant.csv": "variant.csv", "force.csv": "force.csv", "repeat.csv": "plane.csv", "study.toml": "study.toml"} {
				copyOf(t, from, to)
			}
			b, err := os.ReadFile("study.toml")
			if err != nil {
				t.Fatal(err)
			}
			s := strings.NewReplacer(`{ drag_area = "0.7 m2", standard_uncertainty = "0.05 m2" }`, `{ record = "force.csv" }`+"\nrepeats = [\"repeat.csv\"]").Replace(string(b))
			if err := os.WriteFile("study.toml", []byte(s), 0o644); err != nil {
				t.Fatal(err)
			}
			if err := os.Mkdir("out", 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.Link(taken, filepath.Join("out", "ledger.csv")); err != nil {
				gridtest.Missing(t, fmt.Sprintf("links cannot be made here: %v", err))
			}
			code, _, stderr := call("study", "study.toml", "--out", "out")
			if es, _ := os.ReadDir("out"); code != exitFailed || !strings.Contains(stderr, "is an input and would be overwritten") || len(es) != 1 {
				t.Errorf("%d %s", code, stderr)
			}
		})
	}
}
