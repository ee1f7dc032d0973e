package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"wakeledger/wake/survey"
)

// output collects the files of a run in memory, so that nothing is written unless
// everything could be made.
type output struct {
	names []string
	files map[string][]byte
	// create makes a temporary file, os.CreateTemp but for tests.
	create func(dir, pattern string) (tempFile, error)
}

type tempFile interface {
	Name() string
	Write([]byte) (int, error)
	Chmod(fs.FileMode) error
	Close() error
}

// Temporary files are told by their names: those of a run that was killed are removed
// by the next one that writes into the folder.
const (
	tempPrefix = ".wakeledger-"
	tempSuffix = ".part"
)

// writing is read-locked while files are put into place. A run that is stopped takes it
// for good, so that no file is begun when the process ends.
var writing sync.RWMutex

var errBusy = errors.New("another run is writing into it")

func newOutput() *output {
	return &output{files: map[string][]byte{}, create: func(dir, pattern string) (tempFile, error) { return os.CreateTemp(dir, pattern) }}
}

// add keeps a file; a name with slashes makes folders.
func (o *output) add(name string, data []byte) {
	if _, ok := o.files[name]; !ok {
		o.names = append(o.names, name)
	}
	o.files[name] = data
}

// write puts the files into dir: first all of them under temporary names beside their
// places, then each is renamed into place. On failure the former are removed. Of two
// runs into one folder the second waits for the first, so that the files are those of
// one run. An input is never overwritten; a link in the place of a file is replaced, and
// what it points to is left alone.
func (o *output) write(dir string, inputs []string) (err error) {
	writing.RLock()
	defer writing.RUnlock()
	for _, name := range o.names {
		if err := notAnInput(filepath.Join(dir, name), inputs); err != nil {
			return err
		}
	}
	made, err := makeDirs(dir, o.names)
	var temps []string
	defer func() {
		if err == nil {
			return
		}
		for _, t := range temps {
			os.Remove(t)
		}
		slices.Reverse(made)
		for _, d := range made {
			os.Remove(d)
		}
		err = fmt.Errorf("nothing was written into %s: %w", dir, err)
	}()
	if err != nil {
		return err
	}
	release, err := o.lock(dir)
	defer release()
	if err != nil {
		return err
	}
	for _, name := range o.names {
		path := filepath.Join(dir, name)
		if st, err := os.Lstat(path); err == nil && st.IsDir() {
			return fmt.Errorf("%s is a folder, and a file of that name is to be written; remove it or choose another folder", path)
		}
	}
	for _, name := range o.names {
		path := filepath.Join(dir, name)
		f, err := o.create(filepath.Dir(path), tempPrefix+"*"+tempSuffix)
		if err != nil {
			return fmt.Errorf("%s: %s", path, reason(err))
		}
		temps = append(temps, f.Name())
		_, err = f.Write(o.files[name])
		if err == nil {
			err = f.Chmod(0o644)
		}
		if e := f.Close(); err == nil {
			err = e
		}
		if err != nil {
			return fmt.Errorf("%s: %s", path, reason(err))
		}
	}
	for k, name := range o.names {
		path := filepath.Join(dir, name)
		if err := os.Rename(temps[k], path); err != nil {
			return fmt.Errorf("%s: %s", path, reason(err))
		}
		// What is in place stays there; the rest can still be removed.
		temps[k] = ""
	}
	return nil
}

// lock takes the folders of the files, always in the same order, and removes what
// killed runs left in them.
func (o *output) lock(dir string) (release func(), err error) {
	var folders []string
	for _, name := range o.names {
		d := filepath.Dir(filepath.Join(dir, name))
		if abs, err := filepath.Abs(d); err == nil {
			d = abs
		}
		if !slices.Contains(folders, d) {
			folders = append(folders, d)
		}
	}
	slices.Sort(folders)
	var all []func()
	release = func() {
		for _, f := range all {
			f()
		}
	}
	for _, d := range folders {
		free, held, err := lockFolder(d, lockWait)
		if err != nil {
			release()
			return func() {}, fmt.Errorf("%w; wait for it, or choose another folder with --out", err)
		}
		all = append(all, free)
		if held {
			removeLeft(d)
		}
	}
	return release, nil
}

// removeLeft removes the temporary files that a killed run left in a folder. Those of a
// run that is at work are not met, as it holds the folder.
func removeLeft(dir string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if e.Type().IsRegular() && strings.HasPrefix(e.Name(), tempPrefix) && strings.HasSuffix(e.Name(), tempSuffix) {
			os.Remove(filepath.Join(dir, e.Name()))
		}
	}
}

// makeDirs makes the folders that the files need and lists those it made, outer
// ones first.
func makeDirs(dir string, names []string) (made []string, err error) {
	for _, name := range append([]string{"."}, names...) {
		d := filepath.Dir(filepath.Join(dir, name))
		if name == "." {
			d = filepath.Clean(dir)
		}
		var missing []string
		for p := d; ; p = filepath.Dir(p) {
			if _, err := os.Stat(p); err == nil {
				break
			}
			if to, err := os.Readlink(p); err == nil {
				return made, fmt.Errorf("%s is a link to %s, which is not there", p, to)
			}
			missing = append(missing, p)
			if p == filepath.Dir(p) {
				break
			}
		}
		slices.Reverse(missing)
		for _, m := range missing {
			// Another run may make it at the same time.
			if err := os.Mkdir(m, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
				return made, fmt.Errorf("%s: %s", m, reason(err))
			} else if err == nil {
				made = append(made, m)
			}
		}
		if st, err := os.Stat(d); err != nil {
			return made, fmt.Errorf("%s: %s", d, reason(err))
		} else if !st.IsDir() {
			return made, fmt.Errorf("%s is a file, a folder is expected", d)
		}
	}
	return made, nil
}

// notAnInput refuses a path that is one of the files read.
func notAnInput(path string, inputs []string) error {
	st, err := os.Stat(path)
	if err != nil {
		return nil
	}
	for _, in := range inputs {
		// An input may be two files joined; one that cannot be told is as named.
		files, err := survey.Parts(in)
		if err != nil {
			files = []string{in}
		}
		for _, f := range files {
			if si, err := os.Stat(f); err == nil && os.SameFile(st, si) {
				return fmt.Errorf("%s is an input and would be overwritten; choose another name or folder", path)
			}
		}
	}
	return nil
}

// slug makes a file name of a label: letters and digits, the rest as single
// hyphens.
func slug(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '.' || r == '+' || r == '_':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	out := strings.Trim(b.String(), "-.")
	if out == "" {
		return "plane"
	}
	return out
}

// unique makes file names that differ.
type unique map[string]int

func (u unique) name(s string) string {
	n := slug(s)
	u[n]++
	if u[n] > 1 {
		return fmt.Sprintf("%s-%d", n, u[n])
	}
	return n
}
