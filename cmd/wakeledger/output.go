package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/wake/survey"
)

// output collects the files of a run in memory, so that nothing is written unless
// everything could be made.
type output struct {
	names []string
	files map[string][]byte
}

func newOutput() *output { return &output{files: map[string][]byte{}} }

// add keeps a file; a name with slashes makes folders.
func (o *output) add(name string, data []byte) {
	if _, ok := o.files[name]; !ok {
		o.names = append(o.names, name)
	}
	o.files[name] = data
}

// write puts the files into dir: first all of them under other names beside their
// places, then each is renamed into place. On failure the former are removed. An
// input is never overwritten.
func (o *output) write(dir string, inputs []string) (err error) {
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
	for _, name := range o.names {
		path := filepath.Join(dir, name)
		f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".part-*")
		if err != nil {
			return err
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
			return err
		}
	}
	for k, name := range o.names {
		path := filepath.Join(dir, name)
		if st, e := os.Lstat(path); e == nil && st.IsDir() {
			return &fs.PathError{Op: "write", Path: path, Err: fs.ErrExist}
		}
		if err := os.Rename(temps[k], path); err != nil {
			return err
		}
		// What is in place stays there; the rest can still be removed.
		temps[k] = ""
	}
	return nil
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
			missing = append(missing, p)
			if p == filepath.Dir(p) {
				break
			}
		}
		slices.Reverse(missing)
		for _, m := range missing {
			if err := os.Mkdir(m, 0o755); err != nil {
				return made, err
			}
			made = append(made, m)
		}
		if st, err := os.Stat(d); err != nil {
			return made, err
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
