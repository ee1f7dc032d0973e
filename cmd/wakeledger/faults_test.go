package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"wakeledger/grid/gridtest"
)

// sound is the folder of inputs without fault.
func sound(t *testing.T, names ...string) string {
	t.Helper()
	dir, err := filepath.Abs(filepath.Join("..", "..", "testdata", "sound"))
	must(t, err)
	return filepath.Join(append([]string{dir}, names...)...)
}

// measureInto is a call that writes a handful of files.
func measureInto(t *testing.T, out string, more ...string) []string {
	return append([]string{"measure", sound(t, "plane.csv"), "--speed", "25", "--density", "1.2", "--pressure", "0", "--out", out, "--size", "480x300", "--map", "u/U"}, more...)
}

// call runs the program in this process.
func call(args ...string) (code int, stdout, stderr string) {
	var o, e strings.Builder
	code = run(args, &o, &e)
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

// failing is a file on a disk that takes a number of bytes.
type failing struct {
	io.WriteCloser
	path string
	left *int
}

func (f failing) Write(b []byte) (int, error) {
	n := min(len(b), *f.left)
	*f.left -= n
	n, err := f.WriteCloser.Write(b[:n])
	if err == nil && n < len(b) {
		err = &fs.PathError{Op: "write", Path: f.path, Err: errors.New("no space left on device")}
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
				put(t, filepath.Join(dir, "b.txt"), "old")
			}
			o := someFiles()
			left, create := room, o.create
			o.create = func(path string) (io.WriteCloser, error) {
				f, err := create(path)
				return failing{f, path, &left}, err
			}
			err := o.write(dir, nil)
			if err == nil || !strings.HasPrefix(err.Error(), "nothing was written into "+dir+": "+dir) || !strings.HasSuffix(err.Error(), ": no space left on device") || strings.Contains(err.Error(), ".part") {
				t.Errorf("room for %d: %v", room, err)
			}
			es, err := os.ReadDir(dir)
			if after := contents(t, dir); old && (len(es) != 1 || after["b.txt"] != "old") || !old && !os.IsNotExist(err) {
				t.Errorf("room for %d: left %v, %v", room, after, err)
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
		{"--help"},
		{"measure", "--help"},
		{"version"},
	} {
		var e strings.Builder
		if code := run(args, brokenPipe{}, &e); code != exitFailed || !strings.HasPrefix(e.String(), "wakeledger: ") || !strings.Contains(e.String(), "broken pipe") {
			t.Errorf("%v: %d, %s", args, code, e.String())
		}
	}
}

// What a killed run left goes with the next one; other hidden files stay.
func TestLeftovers(t *testing.T) {
	out := t.TempDir()
	const left = ".wakeledger123.part/new/a"
	for _, name := range []string{left, ".wakeledger-notes", ".hidden.part"} {
		put(t, filepath.Join(out, name), "x")
	}
	done(t, measureInto(t, out)...)
	after := contents(t, out)
	if after[left] != "" || after[".wakeledger-notes"] != "x" || after[".hidden.part"] != "x" || after["measure.json"] == "" {
		t.Errorf("%v", after)
	}
}

// A run that makes its files beside those of another leaves these alone, and does not wait for them.
func TestRunsBeside(t *testing.T) {
	parent := t.TempDir()
	first, second := someFiles(), someFiles()
	create, n := first.create, 0
	first.create = func(path string) (io.WriteCloser, error) {
		if n++; n == 2 {
			begin := time.Now()
			if err := second.write(filepath.Join(parent, "second"), nil); err != nil || time.Since(begin) > 10*time.Second {
				t.Errorf("%v after %v", err, time.Since(begin))
			}
		}
		return create(path)
	}
	if err := first.write(filepath.Join(parent, "first"), nil); err != nil || len(contents(t, parent)) != 2*len(first.files) {
		t.Errorf("%v, %v", err, slices.Sorted(maps.Keys(contents(t, parent))))
	}
}

// A file that is gone or cut before it is put in place fails the run, which leaves nothing.
func TestFileVanishes(t *testing.T) {
	for name, spoil := range map[string]func(string) error{"gone": os.Remove, "cut": func(path string) error { return os.Truncate(path, 3) }} {
		parent := t.TempDir()
		o := someFiles()
		create, made := o.create, ""
		o.create = func(path string) (io.WriteCloser, error) {
			if made != "" && o.files[0].name == filepath.Base(made) {
				must(t, spoil(made))
			}
			made = path
			return create(path)
		}
		err := o.write(filepath.Join(parent, "out"), nil)
		if err == nil || !strings.Contains(err.Error(), filepath.Join(parent, "out", "a.txt")+" was removed or changed while the run was writing") || len(contents(t, parent)) > 0 {
			t.Errorf("%s: %v, %v", name, err, contents(t, parent))
		}
	}
}

// A folder stands where a file is to be written: nothing is written at all.
func TestFolderInTheWay(t *testing.T) {
	out := t.TempDir()
	must(t, os.Mkdir(filepath.Join(out, "measure.csv"), 0o755))
	code, stdout, stderr := call(measureInto(t, out)...)
	if es, _ := os.ReadDir(out); code != exitFailed || stdout != "" || len(es) != 1 || !strings.Contains(stderr, "measure.csv is a folder") {
		t.Errorf("%d %q %q %v", code, stdout, stderr, es)
	}
}

// What cannot be put in place takes back what was: the folder is as it was, or the
// message says what is new in it.
func TestFailedRename(t *testing.T) {
	names := []string{"a.txt", "b.txt", "maps/c.png", "new/deep/d.png", "z.txt"}
	for fails := range names {
		for _, stuck := range []bool{false, true} {
			parent := t.TempDir()
			dir := filepath.Join(parent, "out")
			must(t, os.MkdirAll(filepath.Join(dir, "maps"), 0o755))
			for _, name := range []string{"b.txt", "maps/c.png", "other"} {
				put(t, filepath.Join(dir, name), "old")
			}
			before := contents(t, parent)
			o := newOutput()
			for _, name := range names {
				o.add(name, []byte("new"))
			}
			n := 0
			o.rename = func(from, to string) error {
				if n++; n == fails+1 || stuck && n > fails {
					return &os.LinkError{Op: "rename", Old: from, New: to, Err: errors.New("no luck")}
				}
				return os.Rename(from, to)
			}
			err := o.write(dir, nil)
			what := filepath.Join(dir, names[fails])
			if fails == 3 {
				what = filepath.Join(dir, "new")
			}
			want := "nothing was written into " + dir + ": " + what + ": no luck"
			if stuck && fails > 0 {
				want = what + ": no luck; written and not taken back: "
			} else if after := contents(t, parent); !maps.Equal(after, before) {
				t.Errorf("rename %d: %v, before %v", fails, after, before)
			}
			if err == nil || !strings.HasPrefix(err.Error(), want) || stuck && fails > 0 && !strings.HasSuffix(err.Error(), filepath.Join(dir, "a.txt")) {
				t.Errorf("rename %d: %v, want %q", fails, err, want)
			}
		}
	}
}

// Planes and configurations whose names differ in case, in letters outside a to z or in a
// sign have pictures of their own, however long the names are.
func TestPictureEach(t *testing.T) {
	folder := sound(t)
	t.Chdir(t.TempDir())
	plane := read(t, filepath.Join(folder, "plane.csv"))
	args := []string{"measure"}
	long := strings.Repeat("long", 61)
	for _, name := range []string{"größe", "grüße", "gr-e-2", "A b", "a b", "a&b", long, long + "2", "change"} {
		put(t, name+".csv", plane)
		args = append(args, name+".csv")
	}
	code, _, stderr := call(append(args, "--speed", "25", "--density", "1.2", "--pressure", "0", "--out", "out", "--size", "480x300", "--map", "u/U")...)
	pictures := 0
	for name := range contents(t, "out") {
		if strings.HasSuffix(name, ".png") {
			pictures++
		}
	}
	if code != exitDone || pictures != len(args)-1 {
		t.Errorf("%d %s: %d pictures of %d planes", code, stderr, pictures, len(args)-1)
	}
	text := read(t, filepath.Join(folder, "study.toml"))
	study, _, _ := strings.Cut(text, "[[configuration]]")
	var names []string
	for _, name := range []string{"bare", "größe", "grüße", "Bare", "a/b", "a-b", "change", strings.Repeat("long", 80)} {
		study += fmt.Sprintf("[[configuration]]\nname = %q\nsurveys = [\"größe.csv\"]\n", name)
		names = append(names, name)
	}
	put(t, "study.toml", study+"[maps]\nquantities = [\"u/U\"]\nsize = \"480x300\"\nsingle = true\n")
	code, _, stderr = call("study", "study.toml", "--quiet", "--out", "ledger")
	pictures = 0
	for name := range contents(t, "ledger") {
		if strings.HasPrefix(name, "maps/01_") {
			pictures++
		}
	}
	if code != exitDone || pictures != len(names)+1 {
		t.Errorf("%d %s: %d pictures of %d configurations and their comparison", code, stderr, pictures, len(names))
	}
}

// Names reach a terminal without what would drive it: one line an error, no control or
// direction characters in text or JSON.
func TestNamesShown(t *testing.T) {
	plane, err := os.ReadFile(sound(t, "plane.csv"))
	t.Chdir(t.TempDir())
	name := "a\nb\x1b[2J\u009b1m\u202eplane.csv"
	must(t, err)
	if err := os.WriteFile(name, plane, 0o644); err != nil {
		gridtest.Missing(t, fmt.Sprintf("such a name cannot be made here: %v", err))
	}
	ref := []string{"--speed", "25", "--density", "1.2", "--pressure", "0"}
	for _, args := range [][]string{
		{"check", name}, {"check", name, "--json"}, {"check", name, "--out", "out\x1b[2J"}, {"check", name, "--strict", "--layout", name},
		append([]string{"measure", name}, ref...), append([]string{"measure", name, "--json"}, ref...), append([]string{"measure", name, "--strict"}, ref...),
		append([]string{"compare", name, name}, ref...), {"average", name}, {"merge", name}, {"rake", name, "--draft-layout"}, {"rake", name, "--layout", name},
		{"check", name + "absent"}, {"study", name}, {name}, {"check", "--" + name}, {"measure", name, "--speed", name}, {"measure", name, "--region", name}, {"check", name, "--out", name},
	} {
		code, stdout, stderr := call(args...)
		if bad := strings.IndexFunc(stdout+stderr, func(r rune) bool { return r != '\n' && unicode.In(r, unicode.Cc, unicode.Cf) }); bad >= 0 {
			t.Errorf("%q: %d shows %q", args, code, (stdout + stderr)[bad:min(bad+20, len(stdout+stderr))])
		}
		for line := range strings.Lines(stderr) {
			if !strings.HasPrefix(line, "wakeledger: ") && !strings.HasPrefix(line, "warning: ") {
				t.Errorf("%q: the line %q", args, line)
			}
		}
		if strings.Contains(stdout, "a\nb") {
			t.Errorf("%q: the name breaks a line of\n%s", args, stdout)
		}
		if slices.Contains(args, "--json") {
			var v struct {
				Surveys, Planes []struct{ File string }
			}
			err := json.Unmarshal([]byte(stdout), &v)
			if all := append(v.Surveys, v.Planes...); err != nil || len(all) == 1 && all[0].File != name {
				t.Errorf("%q: %v, %q", args, err, all)
			}
		}
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
	must(t, os.Mkdir(target, 0o755))
	precious := filepath.Join(dir, "precious")
	must(t, os.WriteFile(precious, []byte("keep"), 0o600))
	must(t, os.Symlink(precious, filepath.Join(target, "measure.txt")))
	done(t, measureInto(t, link)...)
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
	fill := func(t *testing.T, inputs string) {
		t.Chdir(t.TempDir())
		for _, in := range strings.Fields(inputs) {
			to, from, _ := strings.Cut(in, "=")
			text := "0 0\n1 0\n1 1\n" // an outline
			if from != "outline" {
				text = read(t, filepath.Join(folder, from))
			}
			put(t, to, text)
		}
	}
	for name, c := range map[string][2]string{ // the inputs, as what of sound, and the call
		"survey":     {"measure.csv=plane.csv", "measure measure.csv @ --map none --out ."},
		"joined":     {"a=velocity.csv measure.csv=pressure.csv", "measure a+measure.csv @ --map none --out ."},
		"reference":  {"a=plane.csv measure.csv=variant.csv", "measure a --reference measure.csv --density 1.2 --map none --out ."},
		"tare":       {"a=plane.csv measure.csv=plane.csv", "measure a --tare measure.csv @ --map none --out ."},
		"compare":    {"a=plane.csv compare.csv=variant.csv", "compare a compare.csv @ --map none --out ."},
		"check":      {"check.txt=plane.csv", "check check.txt --out ."},
		"average":    {"mean.csv=plane.csv", "average mean.csv --out ."},
		"merge":      {"a=part_1.state mean.state=part_2.state", "merge a mean.state --out ."},
		"layout":     {"log=rake_log.csv rake.txt=rake.toml", "rake log --layout rake.txt --out ."},
		"silhouette": {"a=plane.csv measure.txt=outline", "measure a --silhouette measure.txt @ --map none --out ."},
		"rake check": {"log=rake_log.csv check.txt=rake.toml", "check log --layout check.txt --out ."},
	} {
		t.Run(name, func(t *testing.T) {
			fill(t, c[0])
			before := contents(t, ".")
			code, _, stderr := call(words(c[1])...)
			if code != exitFailed || !strings.Contains(stderr, "is an input and would be overwritten") {
				t.Errorf("%d %s", code, stderr)
			}
			if after := contents(t, "."); !maps.Equal(after, before) {
				t.Errorf("%d files, %d before, or one was changed", len(after), len(before))
			}
		})
	}
	// A study with everything that it can read, each in turn in the place of an output.
	for _, taken := range []string{"study.toml", "plane.csv", "variant.csv", "force.csv", "repeat.csv"} {
		t.Run("study "+taken, func(t *testing.T) {
			fill(t, "plane.csv=plane.csv variant.csv=variant.csv force.csv=force.csv repeat.csv=plane.csv study.toml=study.toml")
			put(t, "study.toml", strings.NewReplacer(`{ drag_area = "0.7 m2", standard_uncertainty = "0.05 m2" }`, `{ record = "force.csv" }`+"\nrepeats = [\"repeat.csv\"]").Replace(read(t, "study.toml")))
			must(t, os.Mkdir("out", 0o755))
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

// A stage that does not look at the context does not hold up a stop, and what it would
// write afterwards is not begun.
func TestStopDoesNotWait(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	out := filepath.Join(t.TempDir(), "out")
	asleep, written := make(chan struct{}), make(chan error)
	begin := time.Now()
	err := untilStopped(ctx, func() error {
		<-asleep
		o := newOutput()
		o.add("a", []byte("a"))
		err := o.write(out, nil)
		written <- err
		return err
	})
	if took := time.Since(begin); !errors.Is(err, context.Canceled) || took < patience || took > patience+20*time.Second {
		t.Errorf("%v after %v", err, took)
	}
	close(asleep)
	select {
	case err := <-written:
		t.Errorf("a stopped run writes: %v", err)
	case <-time.After(50 * time.Millisecond):
	}
	if _, err := os.Stat(out); !os.IsNotExist(err) {
		t.Errorf("a stopped run made the folder: %v", err)
	}
	// The process would have ended here.
	writing.Unlock()
	if err := <-written; err != nil {
		t.Error(err)
	}
}

// A stop in the middle of the writing waits until all files are in place.
func TestStopWaitsForFiles(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	out := t.TempDir()
	o := newOutput()
	o.add("a", []byte("a"))
	o.add("b", []byte("b"))
	create := o.create
	o.create = func(path string) (io.WriteCloser, error) {
		stop()
		time.Sleep(patience)
		return create(path)
	}
	err := untilStopped(ctx, func() error {
		err := o.write(out, nil)
		time.Sleep(patience)
		return err
	})
	if err != nil {
		// The files were ready, the work was not.
		writing.Unlock()
	}
	if got := contents(t, out); len(got) != 2 || got["a"] != "a" || got["b"] != "b" {
		t.Errorf("%v, %v", got, err)
	}
}
