package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"

	"wakeledger/wake"
	"wakeledger/wake/survey"
)

// output collects the files of a run in memory, so that nothing is written unless
// everything could be made.
type output struct {
	files []outFile
	// create makes a file that is not there yet, and rename puts one in place: those of
	// the file system but for tests.
	create func(path string) (io.WriteCloser, error)
	rename func(from, to string) error
}

type outFile struct {
	name string
	data []byte
}

// Files are made in a folder beside their places that is told by its name: one left by
// a run that was killed is removed by the next run that writes there.
const (
	tempPrefix = ".wakeledger-"
	tempSuffix = ".part"
)

// writing is read-locked while files are put into place. A run that is stopped takes it
// for good, so that no file is begun when the process ends.
var writing sync.RWMutex

var errBusy = errors.New("another run is writing into it")

func newOutput() *output {
	return &output{rename: os.Rename, create: func(path string) (io.WriteCloser, error) {
		return os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	}}
}

// add keeps a file; a name with slashes makes folders.
func (o *output) add(name string, data []byte) {
	o.files = append(o.files, outFile{name, data})
}

// table adds a file that a function writes.
func (o *output) table(name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	o.add(name, b.Bytes())
	return nil
}

// data is what a file will hold.
func (o *output) data(name string) []byte {
	for _, f := range o.files {
		if f.name == name {
			return f.data
		}
	}
	return nil
}

// target is where a file goes.
type target struct {
	outFile
	// path is the place as messages name it.
	path string
	// base is the deepest folder on the way that is there, free of links; rel leads from
	// it to the file. The first part of rel is what is put in place, and topPath how
	// messages name that.
	base, rel, topPath string
}

// plan finds the place of each file, and refuses those that cannot be written, that
// would replace an input under whatever name, or that fall on each other: on many
// systems names differ by more than their case, or not at all.
func (o *output) plan(dir string, inputs []string) ([]target, error) {
	var out []target
	taken := map[string]bool{}
	for _, f := range o.files {
		t := target{outFile: f, path: filepath.Join(dir, f.name)}
		if err := t.settle(); err != nil {
			return nil, err
		}
		if err := notAnInput(t.path, inputs); err != nil {
			return nil, err
		}
		key := strings.ToLower(filepath.Join(t.base, t.rel))
		if taken[key] {
			return nil, fmt.Errorf("%s would be written twice, as names in upper and lower case are one file on some systems; choose another name", t.path)
		}
		taken[key] = true
		out = append(out, t)
	}
	for _, t := range out {
		for p := filepath.Dir(t.rel); p != "."; p = filepath.Dir(p) {
			if taken[strings.ToLower(filepath.Join(t.base, p))] {
				return nil, fmt.Errorf("%s cannot be written: a file is to take the place of its folder %s; choose another name", t.path, p)
			}
		}
	}
	return out, nil
}

// settle finds the folder that is there, and parts the way at it.
func (t *target) settle() error {
	if st, err := os.Lstat(t.path); err == nil && st.IsDir() {
		return fmt.Errorf("%s is a folder, and a file of that name is to be written; remove it or choose another folder", t.path)
	}
	t.topPath, t.rel = t.path, filepath.Base(t.path)
	for p := filepath.Dir(t.path); ; p = filepath.Dir(p) {
		st, err := os.Stat(p)
		if err == nil && !st.IsDir() {
			return fmt.Errorf("%s is a file, a folder is expected", p)
		}
		if err == nil {
			if t.base, err = filepath.EvalSymlinks(p); err == nil {
				t.base, err = filepath.Abs(t.base)
			}
			return err
		}
		if to, err := os.Readlink(p); err == nil {
			return fmt.Errorf("%s is a link to %s, which is not there", p, to)
		}
		if p == filepath.Dir(p) {
			return fmt.Errorf("%s: %s", p, wake.Reason(err))
		}
		t.topPath, t.rel = p, filepath.Join(filepath.Base(p), t.rel)
	}
}

// write puts the files into dir. All are first made in a folder beside their places;
// then what is new, a whole folder where dir is not there yet, is renamed into place,
// and what is there already is replaced. A failure takes back what was put in place. Of
// two runs into one folder the second waits for the first, so that the files are those
// of one run. A link in the place of a file is replaced, and what it points to is left
// alone.
func (o *output) write(dir string, inputs []string) error {
	writing.RLock()
	defer writing.RUnlock()
	targets, release, err := o.take(dir, inputs)
	defer release()
	if err != nil {
		return err
	}
	stages, err := o.stage(targets)
	defer func() {
		for _, s := range stages {
			os.RemoveAll(s)
		}
	}()
	if err == nil {
		err = o.place(targets, stages)
	}
	var some *partlyError
	if err != nil && !errors.As(err, &some) {
		err = fmt.Errorf("nothing was written into %s: %w", dir, err)
	}
	return err
}

// take plans the files and locks the folders that they are made in, always in the same
// order, and removes what killed runs left in them.
func (o *output) take(dir string, inputs []string) (targets []target, release func(), err error) {
	var all []func()
	release = func() {
		for _, f := range all {
			f()
		}
		all = nil
	}
	bases := func(targets []target) (out []string) {
		for _, t := range targets {
			out = append(out, t.base)
		}
		slices.Sort(out)
		return slices.Compact(out)
	}
	if targets, err = o.plan(dir, inputs); err != nil {
		return nil, release, err
	}
	for {
		folders := bases(targets)
		for _, d := range folders {
			free, held, err := lockFolder(d, lockWait)
			if err != nil {
				return nil, release, fmt.Errorf("nothing was written into %s: %w; wait for it, or choose another folder with --out", dir, err)
			}
			all = append(all, free)
			if held {
				removeLeft(d)
			}
		}
		// The run that was waited for may have made folders.
		if targets, err = o.plan(dir, inputs); err != nil || slices.Equal(folders, bases(targets)) {
			return targets, release, err
		}
		release()
	}
}

// Parts of a stage: the files to come, and those that they replace.
const (
	stageNew = "new"
	stageOld = "old"
)

// stage makes the files in a folder beside their places, one for each base.
func (o *output) stage(targets []target) (stages map[string]string, err error) {
	stages = map[string]string{}
	for _, t := range targets {
		s, ok := stages[t.base]
		if !ok {
			if s, err = os.MkdirTemp(t.base, tempPrefix+"*"+tempSuffix); err == nil {
				stages[t.base] = s
				err = os.Mkdir(filepath.Join(s, stageOld), 0o700)
			}
			if err != nil {
				return stages, fmt.Errorf("%s: %s", t.topPath, wake.Reason(err))
			}
		}
		path := filepath.Join(s, stageNew, t.rel)
		err := os.MkdirAll(filepath.Dir(path), 0o777)
		var f io.WriteCloser
		if err == nil {
			f, err = o.create(path)
		}
		if err == nil {
			_, err = f.Write(t.data)
			if e := f.Close(); err == nil {
				err = e
			}
		}
		if err != nil {
			return stages, fmt.Errorf("%s: %s", t.path, wake.Reason(err))
		}
	}
	return stages, nil
}

// partlyError says that some files were written and others not.
type partlyError struct {
	err  error
	left []string
}

func (e *partlyError) Error() string {
	return fmt.Sprintf("%v; written and not taken back: %s", e.err, strings.Join(e.left, ", "))
}

// place renames what was staged into place. It takes milliseconds, in which signals
// wait; what fails takes back the rest. So the folders hold the old files or the new.
func (o *output) place(targets []target, stages map[string]string) error {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
	defer signal.Stop(signals)
	type step struct{ path, from, to, kept string }
	var done []step
	put := func(s *step) error {
		st, err := os.Lstat(s.to)
		if err != nil {
			s.kept = ""
			return o.rename(s.from, s.to)
		}
		if st.Mode().IsRegular() {
			err = os.Chmod(s.from, st.Mode().Perm())
		}
		// A second name for the old file leaves it in place until the new one takes it.
		if err == nil && os.Link(s.to, s.kept) != nil {
			err = os.Rename(s.to, s.kept)
		}
		if err == nil {
			if err = o.rename(s.from, s.to); err != nil {
				os.Rename(s.kept, s.to)
			}
		}
		return err
	}
	placed := map[string]bool{}
	for _, t := range targets {
		top, stage := filepath.Base(t.topPath), stages[t.base]
		s := step{t.topPath, filepath.Join(stage, stageNew, top), filepath.Join(t.base, top), filepath.Join(stage, stageOld, top)}
		if placed[s.to] {
			continue
		}
		placed[s.to] = true
		err := put(&s)
		if err == nil {
			done = append(done, s)
			continue
		}
		err = fmt.Errorf("%s: %s", t.path, wake.Reason(err))
		var left []string
		for _, s := range slices.Backward(done) {
			from, to := s.to, s.from
			if s.kept != "" {
				from, to = s.kept, s.to
			}
			if o.rename(from, to) != nil {
				left = append(left, s.path)
			}
		}
		if left != nil {
			return &partlyError{err, left}
		}
		return err
	}
	return nil
}

// removeLeft removes what a killed run left in a folder while it made its files. Those
// of a run that is at work are not met, as it holds the folder.
func removeLeft(dir string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), tempPrefix) && strings.HasSuffix(e.Name(), tempSuffix) {
			os.RemoveAll(filepath.Join(dir, e.Name()))
		}
	}
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
		if in == "-" {
			files = []string{"/dev/stdin"}
		}
		for _, f := range files {
			if si, err := os.Stat(f); err == nil && os.SameFile(st, si) {
				return fmt.Errorf("%s is an input and would be overwritten; choose another name or folder", path)
			}
		}
	}
	return nil
}
