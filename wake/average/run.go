package average

import (
	"context"
	"runtime"
	"sync"

	"wakeledger/wake"
)

// readAhead is how many bytes of small snapshots may wait: below it as many are
// read at once as there are cores. Larger ones are read one at a time, by all
// cores, while another is added.
const readAhead = 32 << 20

// Run adds the snapshots of the named files in order; the first has number first.
// read reads one file and may be called from several goroutines at once. done,
// which may be nil, is called after each snapshot, in order. At most two snapshots are held,
// or some more if they are small (32 MiB in all).
//
// The error is the first one in the order of the files, or ctx.Err().
func (a *Averager) Run(ctx context.Context, names []string, first int, read func(ctx context.Context, name string) (*wake.Samples, error), done func(*wake.Samples)) error {
	numbers := make([]int, 0, len(names))
	wanted := make([]string, 0, len(names))
	for k, name := range names {
		if a.Only == nil || a.Only(first+k) {
			numbers, wanted = append(numbers, first+k), append(wanted, name)
		}
	}
	if names = wanted; len(names) == 0 {
		return nil
	}
	ctx, cancel := context.WithCancel(ctx)
	var wg sync.WaitGroup
	defer wg.Wait()
	defer cancel()
	add := func(k int, s *wake.Samples) error {
		if err := a.Add(numbers[k], s); err != nil {
			return err
		}
		if done != nil {
			done(s)
		}
		return ctx.Err()
	}
	s, err := read(ctx, names[0])
	if err != nil {
		return err
	}
	columns := 0
	for q := range s.Col {
		if s.Col[q] != nil {
			columns++
		}
	}
	ahead := min(max(readAhead/(8*columns*max(s.N, 1)), 1), runtime.GOMAXPROCS(0))
	if err := add(0, s); err != nil {
		return err
	}
	s = nil // let the collector have it
	type item struct {
		s   *wake.Samples
		err error
	}
	// A file is read once its place in the queue is taken.
	queue := make(chan chan item, ahead)
	wg.Go(func() {
		defer close(queue)
		for _, name := range names[1:] {
			c := make(chan item, 1)
			select {
			case queue <- c:
			case <-ctx.Done():
				return
			}
			wg.Go(func() {
				s, err := read(ctx, name)
				c <- item{s, err}
			})
		}
	})
	k := 0
	for c := range queue {
		it := <-c
		k++
		if it.err != nil {
			return it.err
		}
		if err := add(k, it.s); err != nil {
			return err
		}
	}
	return ctx.Err()
}
