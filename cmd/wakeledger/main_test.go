package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/waketest"
)

func TestMain(m *testing.M) {
	testscript.Main(tests{m}, map[string]func(){"wakeledger": main, "killed": killed})
}

// tests are all tests, with a folder that they share and what is to be done at their end.
type tests struct{ *testing.M }

var (
	shared string
	atEnd  []func()
)

func (m tests) Run() int {
	var err error
	if shared, err = os.MkdirTemp("", "wakeledger-test-"); err != nil {
		panic(err)
	}
	// Those that drive a browser wait more than they work.
	if err := flag.Set("test.parallel", "6"); err != nil {
		panic(err)
	}
	code := m.M.Run()
	for _, f := range atEnd {
		f()
	}
	os.RemoveAll(shared)
	return code
}

// demo runs the demo in the shared folder, once, and gives what it prints.
var demo = sync.OnceValues(func() (printed string, err error) {
	cmd := exec.Command("wakeledger", "demo", "--summary")
	cmd.Dir = shared
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		err = fmt.Errorf("the demo: %w: %s", err, &stderr)
	}
	return string(out), err
})

// killed writes someFiles into the folder of its first argument and kills itself at the
// step of its second: with half of a file written, before or after a renaming.
func killed() {
	at, err := strconv.Atoi(os.Args[2])
	if err != nil {
		panic(err)
	}
	step := func() {
		if at--; at < 0 {
			if p, err := os.FindProcess(os.Getpid()); err == nil {
				p.Kill()
			}
			select {}
		}
	}
	o := someFiles()
	create := o.create
	o.create = func(path string) (io.WriteCloser, error) {
		f, err := create(path)
		return halting{f, step}, err
	}
	o.rename = func(from, to string) error {
		step()
		err := os.Rename(from, to)
		step()
		return err
	}
	if err := o.write(os.Args[1], nil); err != nil {
		panic(err)
	}
}

func someFiles() *output {
	o := newOutput()
	for _, name := range []string{"a.txt", "maps/deep/c.png", "b.txt"} {
		o.add(name, []byte("0123456789"))
	}
	return o
}

// halting is a file with a step in the middle of what is written.
type halting struct {
	io.WriteCloser
	step func()
}

func (h halting) Write(b []byte) (int, error) {
	n, err := h.WriteCloser.Write(b[:len(b)/2])
	if err != nil {
		return n, err
	}
	h.step()
	k, err := h.WriteCloser.Write(b[n:])
	return n + k, err
}

// TestScripts runs the scripts in testdata/script: each is a dialogue with the
// program, its files, what it prints and its exit code. $EXAMPLE is the folder of the example,
// $SHUTTLE that of the shuttle's first computation, without which the scripts about it are
// skipped.
func TestScripts(t *testing.T) {
	t.Parallel()
	example, err := filepath.Abs(filepath.Join("..", "..", "examples", "shuttle"))
	must(t, err)
	first, ok := waketest.SharedPath("shuttle")
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "script"),
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLE", example)
			e.Setenv("SHUTTLE", first)
			if name := filepath.Base(e.WorkDir); !ok && (strings.Contains(name, "shuttle") || strings.Contains(name, "pictures")) {
				e.T().Skip("the shuttle's first planes are not here: set WAKELEDGER_SHARED to the folder that holds data/shuttle")
			}
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"near": near,
		},
	})
}

// must ends the test with an error that is none of its business.
func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// read gives a file's text.
func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	must(t, err)
	return string(b)
}

// put writes a file, and the folders above it.
func put(t *testing.T, name, text string) {
	t.Helper()
	must(t, os.MkdirAll(filepath.Dir(name), 0o755))
	must(t, os.WriteFile(name, []byte(text), 0o644))
}

// decode reads what the program writes as JSON.
func decode[T any](t *testing.T, text string) (v T) {
	t.Helper()
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatalf("%v: %.2000s", err, text)
	}
	return v
}

// measured is what measure gives.
type measured struct {
	Warnings []wake.Warning
	Surveys  []*measure.Result
}

// codes are those of warnings.
func codes(warnings []wake.Warning) (out []string) {
	for _, w := range warnings {
		out = append(out, w.Code)
	}
	return out
}

// done runs the program in this process, to its end, and gives what it prints.
func done(t *testing.T, args ...string) (stdout string) {
	t.Helper()
	code, stdout, stderr := call(args...)
	if code != exitDone {
		t.Fatalf("%q: %d %s", args, code, stderr)
	}
	return stdout
}

// near checks a number in the JSON on stdout: near PATH WANT TOLERANCE, with PATH
// of keys and indices between dots, as in surveys.0.drag.momentum.drag_area_m2.
// "! near PATH" checks that there is no such key.
func near(ts *testscript.TestScript, neg bool, args []string) {
	var at any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &at))
	for key := range strings.SplitSeq(args[0], ".") {
		switch v := at.(type) {
		case map[string]any:
			at = v[key]
		case []any:
			i, err := strconv.Atoi(key)
			if at = nil; err == nil && i < len(v) {
				at = v[i]
			}
		default:
			at = nil
		}
	}
	if neg {
		if at != nil {
			ts.Fatalf("%s is %v, but should be absent", args[0], at)
		}
		return
	}
	var want, tol float64
	if _, err := fmt.Sscan(strings.Join(args[1:], " "), &want, &tol); err != nil {
		ts.Fatalf("near %v: PATH, WANT and TOLERANCE are expected", args)
	}
	if got, ok := at.(float64); !ok || !(math.Abs(got-want) <= tol) {
		ts.Fatalf("%s is %v, %v ± %v is expected", args[0], at, want, tol)
	}
}
