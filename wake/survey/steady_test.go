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
