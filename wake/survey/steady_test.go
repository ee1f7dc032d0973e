package survey

import (
	"context"
	"os"
	"path/filepath"
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

// The reader tells a change as such, not as the fault that it makes in the rows. The
// file is written anew all the time while it is read.
func TestChangedWhileRead(t *testing.T) {
	name := filepath.Join(t.TempDir(), "plane.csv")
	data, _ := untidy(2, 60000, "\n")
	if err := os.WriteFile(name, data, 0o644); err != nil {
		t.Fatal(err)
	}
	stop := make(chan struct{})
	done := make(chan struct{})
	go func() {
		defer close(done)
		for n := len(data); ; n-- {
			select {
			case <-stop:
				return
			default:
				os.WriteFile(name, data[:n], 0o644)
			}
		}
	}()
	noticed := false
	for range 40 {
		if _, err := Read(context.Background(), name, Options{}); err != nil && err.Error() == name+": was changed while it was read; wait until it is written, and run again" {
			noticed = true
			break
		}
	}
	close(stop)
	<-done
	if !noticed {
		t.Error("forty readings of a file that is written all the time, and no change noticed")
	}
	if err := os.WriteFile(name, data, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Read(context.Background(), name, Options{}); err != nil {
		t.Errorf("the file at rest: %v", err)
	}
}
