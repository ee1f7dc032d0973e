//go:build unix

package main

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"wakeledger/grid/gridtest"
)

// program gives a command that runs the program in a process of its own.
func program(args ...string) (cmd *exec.Cmd, stderr *bytes.Buffer) {
	stderr = &bytes.Buffer{}
	cmd = exec.Command("wakeledger", args...)
	cmd.Stderr = stderr
	return cmd, stderr
}

// leftOver lists what is in a folder under temporary names.
func leftOver(t *testing.T, dir string) (out []string) {
	entries, err := os.ReadDir(dir)
	must(t, err)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".wakeledger") {
			out = append(out, e.Name())
		}
	}
	return out
}

// Killed while it writes, in the middle of any file or round any renaming, a run leaves
// the folder whole or absent, and what it was making goes with a later run.
func TestKilled(t *testing.T) {
	whole := filepath.Join(t.TempDir(), "whole")
	must(t, someFiles().write(whole, nil))
	want := contents(t, whole)
	kills, left := 0, 0
	for {
		parent := t.TempDir()
		out := filepath.Join(parent, "out")
		cmd, stderr := program(out, strconv.Itoa(kills))
		cmd.Args[0] = "killed"
		err := cmd.Run()
		if st, ok := cmd.ProcessState.Sys().(syscall.WaitStatus); err != nil && !(ok && st.Signal() == syscall.SIGKILL) {
			t.Fatal(err, stderr)
		}
		if got := contents(t, out); len(got) > 0 && !maps.Equal(got, want) {
			t.Errorf("kill %d: the folder is half written: %v", kills, slices.Sorted(maps.Keys(got)))
		}
		left += len(leftOver(t, parent))
		// The next run makes it whole, over whatever is there. Killed with all in place, what
		// is left waits for one that makes its files there too.
		again := []string{out}
		if kills > len(want) {
			again = append(again, filepath.Join(parent, "beside"))
		}
		for _, dir := range again {
			if e := someFiles().write(dir, nil); e != nil {
				t.Fatal(e)
			}
		}
		if got := contents(t, out); !maps.Equal(got, want) || len(leftOver(t, parent)) > 0 {
			t.Errorf("kill %d, after another run: %v, want %v", kills, slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want)))
		}
		if err == nil {
			break
		}
		kills++
	}
	// Half of each file, and before and after the folder is renamed, with the lock on its place.
	if n := len(want) + 2; kills != n || left != n+2 {
		t.Errorf("%d kills left %d folders of files to come and locks, want %d and %d", kills, left, n, n+2)
	}
}

// A signal stops a study wherever it is, soon, with nothing written.
func TestStopped(t *testing.T) {
	study, err := filepath.Abs(filepath.Join("..", "..", "examples", "shuttle", "study.toml"))
	must(t, err)
	for sig, after := range map[syscall.Signal]time.Duration{syscall.SIGINT: 150 * time.Millisecond, syscall.SIGTERM: time.Second} {
		out := filepath.Join(t.TempDir(), "out")
		var stderr *bytes.Buffer
		var start time.Time
		code := -1
		// On a busy machine the signal may come before the program is at work; it then
		// dies of it.
		for ; code == -1 && after < 20*time.Second; after *= 2 {
			var cmd *exec.Cmd
			cmd, stderr = program("study", study, "--out", out)
			must(t, cmd.Start())
			time.Sleep(after)
			cmd.Process.Signal(sig)
			start = time.Now()
			cmd.Wait()
			code = cmd.ProcessState.ExitCode()
		}
		if _, err := os.Lstat(out); code != exitFailed || stderr.String() != "wakeledger: stopped\n" || !os.IsNotExist(err) {
			t.Errorf("%s: exit code %d, %q, %v", sig, code, stderr, err)
		}
		if d := time.Since(start); d > 10*time.Second {
			t.Errorf("%s: stopped after %s", sig, d)
		}
	}
}

// Of two runs into one folder at once each file is of the same run.
func TestTwoRuns(t *testing.T) {
	runs := [][]string{measureInto(t, ""), measureInto(t, "")}
	runs[1][1] = sound(t, "variant.csv")
	at := slices.Index(runs[0], "--out") + 1
	var want []map[string]string
	for _, r := range runs {
		r[at] = filepath.Join(t.TempDir(), "one")
		done(t, r...)
		want = append(want, contents(t, r[at]))
	}
	// Files that one run has and the other has not stay from whichever ran first.
	common := func(m, of map[string]string) bool {
		for k, v := range of {
			if m[k] != v {
				return false
			}
		}
		return true
	}
	for range 6 {
		out := filepath.Join(t.TempDir(), "out")
		var cmds []*exec.Cmd
		var errs []*bytes.Buffer
		for _, r := range runs {
			r[at] = out
			c, e := program(r...)
			must(t, c.Start())
			cmds, errs = append(cmds, c), append(errs, e)
		}
		for i, c := range cmds {
			if err := c.Wait(); err != nil {
				t.Errorf("%v: %s", err, errs[i])
			}
		}
		got := contents(t, out)
		if !common(got, want[0]) && !common(got, want[1]) || len(leftOver(t, out)) > 0 {
			t.Errorf("%v are of neither run", slices.Sorted(maps.Keys(got)))
		}
	}
	// The second puts its files in place only when those of the first are.
	dir := t.TempDir()
	done, begun := make(chan error, 1), make(chan struct{}, 99)
	second, first := someFiles(), someFiles()
	second.rename = func(from, to string) error {
		begun <- struct{}{}
		return os.Rename(from, to)
	}
	once := false
	first.rename = func(from, to string) error {
		if !once {
			once = true
			go func() { done <- second.write(dir, nil) }()
			time.Sleep(100 * time.Millisecond)
		}
		if len(begun) > 0 {
			t.Error("two runs write into one folder at once")
		}
		return os.Rename(from, to)
	}
	if err := first.write(dir, nil); err != nil {
		t.Error(err)
	}
	if err := <-done; err != nil {
		t.Error(err)
	}
	// A run that never ends its writing does not hold up the next one for ever.
	defer func(d time.Duration) { patient = d }(patient)
	patient = 50 * time.Millisecond
	first.rename = func(from, to string) error {
		err := second.write(dir, nil)
		if err == nil || !strings.Contains(err.Error(), "another run is putting files into "+dir) {
			t.Errorf("beside a run that does not end: %v", err)
		}
		return os.Rename(from, to)
	}
	if err := first.write(dir, nil); err != nil || len(leftOver(t, dir)) > 0 {
		t.Error(err, leftOver(t, dir))
	}
}

// Signals that come while files are put into place wait until all are.
func TestSignalWaits(t *testing.T) {
	o := someFiles()
	o.rename = func(from, to string) error {
		for _, s := range []syscall.Signal{syscall.SIGINT, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
			must(t, syscall.Kill(os.Getpid(), s))
		}
		time.Sleep(10 * time.Millisecond)
		return os.Rename(from, to)
	}
	dir := t.TempDir()
	if err := o.write(dir, nil); err != nil || len(contents(t, dir)) != len(o.files) {
		t.Error(err, contents(t, dir))
	}
}

// A file system of 64 KiB, where one can be made: that needs root and, in a container,
// the right to mount, which a machine that runs checks may rightly refuse. Then
// TestFullDisk, whose files take a number of bytes, stands alone, and the skip is let
// pass everywhere.
func TestFullFileSystem(t *testing.T) {
	disk := t.TempDir()
	if said, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Skipf("no small file system can be mounted here: %v, %q; TestFullDisk covers it", err, said)
	}
	defer func() { must(t, exec.Command("umount", disk).Run()) }()
	out := filepath.Join(disk, "out")
	code, stdout, stderr := call("measure", sound(t, "plane.csv"), "--speed", "25", "--density", "1.2", "--pressure", "0", "--out", out)
	if es, _ := os.ReadDir(disk); code != exitFailed || stdout != "" || len(es) != 0 || !strings.HasPrefix(stderr, "wakeledger: nothing was written into "+out+": "+out) || !strings.HasSuffix(stderr, ": no space left on device\n") {
		t.Errorf("%d %q %q %v", code, stdout, stderr, es)
	}
}

// Folders and files without permission, as a user who is bound by it.
func TestPermissions(t *testing.T) {
	dir, err := os.MkdirTemp("", "wakeledger-test-")
	must(t, err)
	defer func() {
		os.Chmod(filepath.Join(dir, "locked"), 0o755)
		os.RemoveAll(dir)
	}()
	exe, err := os.Executable()
	must(t, err)
	// A copy that anyone may run: the test binary lies in a private folder.
	prog := filepath.Join(dir, "wakeledger")
	copyFile(t, exe, prog, 0o755)
	copyFile(t, sound(t, "plane.csv"), filepath.Join(dir, "plane.csv"), 0o644)
	copyFile(t, sound(t, "plane.csv"), filepath.Join(dir, "secret.csv"), 0o000)
	for name, mode := range map[string]os.FileMode{"readonly": 0o555, "locked": 0o000, "open": 0o777} {
		must(t, os.Mkdir(filepath.Join(dir, name), 0o755))
		must(t, os.Chmod(filepath.Join(dir, name), mode))
	}
	must(t, os.Chmod(dir, 0o755))
	var attr *syscall.SysProcAttr
	if os.Getuid() == 0 {
		const nobody = 65534
		attr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	}
	for _, c := range []struct{ in, out, want string }{
		{"plane.csv", "readonly", "wakeledger: nothing was written into readonly: permission denied\n"},
		{"plane.csv", "readonly/new", "wakeledger: nothing was written into readonly/new: permission denied\n"},
		{"plane.csv", "locked", "wakeledger: nothing was written into locked: permission denied\n"},
		{"plane.csv", "locked/new", "wakeledger: nothing was written into locked/new: permission denied\n"},
		{"secret.csv", "open/new", "wakeledger: secret.csv: cannot be opened: permission denied; check the name and the permissions\n"},
		{"locked/plane.csv", "open/new", "wakeledger: locked/plane.csv: cannot be opened: permission denied; check the name and the permissions\n"},
		{"plane.csv", "open/new", ""},
	} {
		cmd := exec.Command(prog, "check", c.in, "--out", c.out, "--quiet")
		cmd.Dir, cmd.SysProcAttr = dir, attr
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		err := cmd.Run()
		if errors.Is(err, syscall.EPERM) && cmd.ProcessState == nil {
			gridtest.Missing(t, fmt.Sprintf("this user cannot give up its rights: %v", err))
		}
		if want := map[bool]int{true: exitDone, false: exitFailed}[c.want == ""]; stderr.String() != c.want || cmd.ProcessState.ExitCode() != want {
			t.Errorf("%s into %s: %v, %q\nwant %q", c.in, c.out, err, stderr.String(), c.want)
		}
	}
	if got := contents(t, filepath.Join(dir, "readonly")); len(got) != 0 {
		t.Errorf("left in the read-only folder: %v", got)
	}
}

// Files are made as the user's mask has it.
func TestMask(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	cmd, stderr := program("check", sound(t, "plane.csv"), "--quiet", "--out", out)
	cmd.Args = append([]string{"sh", "-c", `umask 027; exec "$0" "$@"`, cmd.Path}, cmd.Args[1:]...)
	cmd.Path = "/bin/sh"
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v: %s", err, stderr)
	}
	for name, want := range map[string]os.FileMode{"": 0o750, "check.txt": 0o640} {
		if st, err := os.Stat(filepath.Join(out, name)); err != nil || st.Mode().Perm() != want {
			t.Errorf("%q: %v, want %v", name, st.Mode().Perm(), want)
		}
	}
}

func copyFile(t *testing.T, from, to string, mode os.FileMode) {
	t.Helper()
	put(t, to, read(t, from))
	must(t, os.Chmod(to, mode))
}
