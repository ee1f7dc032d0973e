package survey

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// A file that grows, shrinks, is rewritten at the same size or replaced by another one
// is noticed; one that is only read is not.
func TestSteady(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "plane.csv")
	write := func(s string) {
		if err := os.WriteFile(name, []byte(s), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for what, c := range map[string]struct {
		change  func()
		changed bool
	}{
		"read":    {func() { os.ReadFile(name) }, false},
		"grown":   {func() { write("x,y,z,u\n1,2,3,4\n5,6,7,8\n") }, true},
		"shorter": {func() { write("x") }, true},
		"same size": {func() {
			if err := os.Chtimes(name, time.Time{}, time.Now().Add(time.Second)); err != nil {
				t.Fatal(err)
			}
		}, true},
		"removed": {func() { os.Remove(name) }, true},
		"replaced": {func() {
			st, _ := os.Stat(name)
			other := filepath.Join(dir, "other")
			os.WriteFile(other, []byte("x,y,z,u\n9,9,9,9\n"), 0o644)
			os.Chtimes(other, time.Time{}, st.ModTime())
			os.Rename(other, name)
		}, true},
	} {
		write("x,y,z,u\n1,2,3,4\n")
		check := Steady(name, "-", filepath.Join(dir, "absent"))
		c.change()
		if err := check(); (err != nil) != c.changed {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// The reader tells a change as such, not as the fault that it makes in the rows.
func TestChangedWhileRead(t *testing.T) {
	data, _ := untidy(2, 600, "\n")
	for what, change := range map[string]func(name string) error{
		"grown": func(name string) error {
			f, err := os.OpenFile(name, os.O_APPEND|os.O_WRONLY, 0)
			if err != nil {
				return err
			}
			defer f.Close()
			_, err = f.WriteString("\n")
			return err
		},
		"cut": func(name string) error { return os.Truncate(name, 0) },
		"replaced": func(name string) error {
			return errors.Join(os.Rename(name, name+".old"), os.WriteFile(name, data, 0o644))
		},
		"removed": os.Remove,
		"touched": func(name string) error { return os.Chtimes(name, time.Time{}, time.Unix(1, 0)) },
	} {
		name := filepath.Join(t.TempDir(), "plane.csv")
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := Read(context.Background(), name, Options{}); err != nil {
			t.Errorf("%s: the file at rest: %v", what, err)
		}
		ctx := &during{Context: context.Background(), do: func() {
			if err := change(name); err != nil {
				t.Error(err)
			}
		}}
		_, err := Read(ctx, name, Options{})
		if err == nil || err.Error() != name+": was changed while it was read; wait until it is written, and run again" {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// during is a context that does something when it is first asked, which the reader
// does between its first and its last look at the file.
type during struct {
	context.Context
	once sync.Once
	do   func()
}

func (d *during) Err() error {
	d.once.Do(d.do)
	return nil
}
