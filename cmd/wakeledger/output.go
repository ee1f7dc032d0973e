package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/gofrs/flock"

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

// Each run makes its files in a folder of its own beside their places, in which it holds a lock.
// Putting them in place, and making and removing such folders, is for the one run that holds the
// lock beside them. Locks go with the process, however that ends: what a killed run left is told by
// them at once.
const (
	stagePattern = ".wakeledger*.part"
	lockName     = ".wakeledger.lock"
)

// patient is how long a run waits for others to put their files in place: far more than renaming takes.
var patient = time.Minute

// writing is read-locked while files are put into place. A run that is stopped takes it
// for good, so that no file is begun when the process ends.
var writing sync.RWMutex

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

// write puts the files into dir. All are first made in a folder beside their places;
// then what is new, a whole folder where dir is not there yet, is renamed into place,
// and what is there already is replaced. A failure takes back what was put in place. Of
// two runs into one folder the second waits for the first, so that the files are those
// of one run. A link in the place of a file is replaced, and what it points to is left
// alone.
func (o *output) write(dir string, inputs []string) error {
	writing.RLock()
	defer writing.RUnlock()
	dir = filepath.Clean(dir)
	for _, f := range o.files {
		path := filepath.Join(dir, f.name)
		if st, err := os.Lstat(path); err == nil && st.IsDir() {
			return fmt.Errorf("%s is a folder, and a file of that name is to be written; remove it or choose another folder", path)
		}
		if err := notAnInput(path, inputs); err != nil {
			return err
		}
	}
	left, err := o.put(dir)
	switch {
	case left != nil:
		return fmt.Errorf("%w; written and not taken back: %s", err, strings.Join(left, ", "))
	case err != nil:
		return fmt.Errorf("nothing was written into %s: %w", dir, err)
	}
	return nil
}

// put makes the files and renames them into place; left are those that a failure could not
// take back.
func (o *output) put(dir string) (left []string, err error) {
	base, way, err := standing(dir)
	if err != nil {
		return nil, err
	}
	stage, free, err := newStage(base)
	if err != nil {
		return nil, err
	}
	defer free()
	for _, f := range o.files {
		if err := o.make(filepath.Join(stage, "new", way, f.name), f.data); err != nil {
			return nil, fmt.Errorf("%s: %s", filepath.Join(dir, f.name), wake.Reason(err))
		}
	}
	same := false
	err = locked(base, func() (err error) {
		// A run that was waited for may have made the folder.
		if now, _, err := standing(dir); err != nil || now != base {
			return err
		}
		same = true
		left, err = o.place(base, way, stage)
		return err
	})
	if err == nil && !same {
		return o.put(dir)
	}
	return left, err
}

// place renames the files of a stage into place.
func (o *output) place(base, way, stage string) (left []string, err error) {
	// Signals wait: they would leave old files beside new ones.
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
	defer signal.Stop(signals)
	made := filepath.Join(stage, "new")
	var tops []string // what is renamed, below base: files, or the first folder on the way that is not there
	for _, f := range o.files {
		top := filepath.Join(way, f.name)
		if st, err := os.Stat(filepath.Join(made, top)); err != nil || st.Size() != int64(len(f.data)) {
			return nil, fmt.Errorf("%s was removed or changed while the run was writing it; run again", filepath.Join(base, top))
		}
		for p := filepath.Dir(top); p != "."; p = filepath.Dir(p) {
			if _, err := os.Stat(filepath.Join(base, p)); err != nil {
				top = p
			}
		}
		if !slices.Contains(tops, top) {
			tops = append(tops, top)
		}
	}
	kept := func(i int) string { return filepath.Join(stage, strconv.Itoa(i)) }
	for i, top := range tops {
		to := filepath.Join(base, top)
		// A second name for the old file, if there is one, leaves it in place until the new one takes it.
		if os.Link(to, kept(i)) != nil {
			os.Rename(to, kept(i))
		}
		err := o.rename(filepath.Join(made, top), to)
		if err == nil {
			continue
		}
		os.Rename(kept(i), to)
		for k, top := range slices.Backward(tops[:i]) {
			from, to := filepath.Join(base, top), filepath.Join(made, top)
			if _, err := os.Lstat(kept(k)); err == nil {
				from, to = kept(k), from
			}
			if o.rename(from, to) != nil {
				left = append(left, filepath.Join(base, top))
			}
		}
		return left, fmt.Errorf("%s: %s", to, wake.Reason(err))
	}
	return nil, nil
}

// standing is the deepest folder on the way to dir that is there, and the way on from it.
func standing(dir string) (base, way string, err error) {
	for base = dir; ; base, way = filepath.Dir(base), filepath.Join(filepath.Base(base), way) {
		st, err := os.Stat(base)
		if err == nil && !st.IsDir() {
			return base, way, fmt.Errorf("%s is a file, a folder is expected", base)
		}
		if to, e := os.Readlink(base); e == nil && err != nil {
			return base, way, fmt.Errorf("%s is a link to %s, which is not there", base, to)
		}
		switch {
		case err == nil:
			return base, way, nil
		case !errors.Is(err, fs.ErrNotExist):
			return base, way, errors.New(wake.Reason(err))
		}
	}
}

// newStage makes a folder for the files to come, and removes those that killed runs left. free
// removes it.
func newStage(base string) (stage string, free func(), err error) {
	var own *flock.Flock
	err = locked(base, func() (err error) {
		all, _ := fs.Glob(os.DirFS(base), stagePattern)
		for _, name := range all {
			if lock, _ := claim(filepath.Join(base, name, lockName)); lock.Locked() {
				lock.Close()
				os.RemoveAll(filepath.Join(base, name))
			}
		}
		if stage, err = os.MkdirTemp(base, stagePattern); err != nil {
			return errors.New(wake.Reason(err))
		}
		own, _ = claim(filepath.Join(stage, lockName))
		return nil
	})
	return stage, func() { own.Close(); os.RemoveAll(stage) }, err
}

// locked calls do while no other run puts files below base. On a file system without locks it does
// not wait.
func locked(base string, do func() error) error {
	path := filepath.Join(base, lockName)
	for begun := time.Now(); ; time.Sleep(5 * time.Millisecond) {
		lock, err := claim(path)
		switch {
		case lock.Locked():
			// Where an open file cannot be removed it is when closed.
			defer func() {
				err := os.Remove(path)
				if lock.Close(); err != nil {
					os.Remove(path)
				}
			}()
		case err == nil && time.Since(begun) > patient:
			return fmt.Errorf("another run is putting files into %s; wait for it, or choose another folder with --out", base)
		case err == nil:
			continue
		}
		return do()
	}
}

// claim locks a file, which it makes, unless another run has it; the error is that of a file system
// without locks.
func claim(path string) (*flock.Flock, error) {
	lock := flock.New(path)
	if held, err := lock.TryLock(); !held {
		return lock, err
	}
	// The one before may have removed the file when it was open here already.
	ours, err := lock.Stat()
	if there, e := os.Stat(path); err != nil || e != nil || !os.SameFile(ours, there) {
		lock.Close()
	}
	return lock, nil
}

// make writes a file into the stage.
func (o *output) make(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	f, err := o.create(path)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return cmp.Or(err, f.Close())
}

// notAnInput refuses a path that is one of the inputs.
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
