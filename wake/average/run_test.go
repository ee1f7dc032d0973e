package average

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"wakeledger/wake"
)

// TestRun: files are added in their order, at most a few are held, the first error
// in the order of the files is told, and an end of the context ends the work.
func TestRun(t *testing.T) {
	names := make([]string, 40)
	for k := range names {
		names[k] = fmt.Sprint(k + 1)
	}
	var held, most atomic.Int64
	read := func(ctx context.Context, name string) (*wake.Samples, error) {
		var k int
		fmt.Sscan(name, &k)
		if n := held.Add(1); n > most.Load() {
			most.Store(n)
		}
		if k%3 == 0 {
			time.Sleep(time.Millisecond) // so that later files are ready first
		}
		return file(k, 6, 4), nil
	}
	a, _ := New(options())
	var order []string
	err := a.Run(context.Background(), names, 1, read, func(s *wake.Samples) {
		held.Add(-1)
		order = append(order, s.File)
	})
	if err != nil {
		t.Fatal(err)
	}
	all := make([]int, 40)
	for k := range all {
		all[k] = k + 1
		if want := fmt.Sprintf("flow_%03d.csv", k+1); order[k] != want {
			t.Fatalf("snapshot %d was %s, want %s", k+1, order[k], want)
		}
	}
	if !bytes.Equal(encode(t, a.State()), encode(t, averageOf(t, options(), all...))) {
		t.Error("the state is not that of adding one by one")
	}
	if m, limit := most.Load(), int64(runtime.GOMAXPROCS(0)+2); m > limit {
		t.Errorf("%d snapshots were held at once, want at most %d", m, limit)
	}
	for range 20 {
		a, _ = New(options())
		err = a.Run(context.Background(), names, 1, func(ctx context.Context, name string) (*wake.Samples, error) {
			if name == "7" {
				time.Sleep(time.Millisecond)
			}
			if name == "7" || name == "8" {
				return nil, &wake.InputError{File: name, Text: "broken"}
			}
			return read(ctx, name)
		}, nil)
		if err == nil || err.Error() != "7: broken" {
			t.Fatalf("error %v, want that of file 7", err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	a, _ = New(options())
	err = a.Run(ctx, names, 1, func(ctx context.Context, name string) (*wake.Samples, error) {
		if name == "5" {
			cancel()
		}
		return read(ctx, name)
	}, nil)
	if !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that of the context", err)
	}
}

// TestMemory: the memory held does not grow with the number of snapshots, but for
// the time series.
func TestMemory(t *testing.T) {
	const ny, nz = 50, 40
	live := func(count int) (state, heap uint64) {
		a := mustNew(t, Options{Reference: reference()})
		names := make([]string, count)
		for k := range names {
			names[k] = fmt.Sprint(k)
		}
		base := file(0, ny, nz)
		var ms runtime.MemStats
		added := 0
		err := a.Run(context.Background(), names, 1, func(_ context.Context, name string) (*wake.Samples, error) {
			s := *base
			s.File = name
			for q := range s.Col {
				s.Col[q] = append([]float64(nil), base.Col[q]...)
				if base.Col[q] == nil {
					s.Col[q] = nil
				}
			}
			return &s, nil
		}, func(*wake.Samples) {
			if added++; added == count {
				runtime.GC()
				runtime.ReadMemStats(&ms)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		return uint64(8 * len(a.State().acc)), ms.HeapAlloc
	}
	live(2) // what is made once
	// The most blocks of the record that are held at a time.
	_, few := live(maxStretches)
	state, many := live(1000)
	snapshot := uint64(7 * 8 * ny * nz)
	t.Logf("live after 24 snapshots %d kB, after 1000 %d kB; one snapshot has %d kB, the sums %d kB", few/1024, many/1024, snapshot/1024, state/1024)
	// 1000 entries of some 300 bytes.
	if many > few+512*990 {
		t.Errorf("live memory grew from %d to %d bytes", few, many)
	}
}
