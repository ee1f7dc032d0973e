package average

import (
	"context"
	"runtime"

	"wakeledger/grid"
	"wakeledger/wake"
)

// readAhead is how many bytes of snapshots are read side by side, two snapshots at least.
const readAhead = 32 << 20

// Run adds the snapshots of the named files in order; the first has number first. read
// reads one file and may be called from several goroutines at once. done, which may be nil,
// is called after each snapshot, in order. Two snapshots are held, or more if they are small
// (32 MiB in all).
//
// The error is the first one in the order of the files, or ctx.Err().
func (a *Averager) Run(ctx context.Context, names []string, first int, read func(ctx context.Context, name string) (*wake.Samples, error), done func(*wake.Samples)) error {
	left := grid.Where(len(names), func(k int) bool { return a.Only == nil || a.Only(first+k) })
	for ahead := 1; len(left) > 0; {
		some := left[:min(ahead, len(left))]
		left = left[len(some):]
		list, errs := make([]*wake.Samples, len(some)), make([]error, len(some))
		grid.Parallel(len(some), func(k int) { list[k], errs[k] = read(ctx, names[some[k]]) })
		for k, s := range list {
			if errs[k] != nil {
				return errs[k]
			}
			if err := a.Add(first+some[k], s); err != nil {
				return err
			}
			if done != nil {
				done(s)
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			list[k] = nil // let the collector have it
		}
		h := &a.state.head
		size := 8 * (3 + len(h.Quantities)) * h.Samples
		ahead = min(max(readAhead/size, 2), runtime.GOMAXPROCS(0))
	}
	return nil
}
