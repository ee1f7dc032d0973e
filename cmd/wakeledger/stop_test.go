package main

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"
)

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
