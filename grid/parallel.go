package grid

import (
	"cmp"
	"context"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"
)

// Parallel calls f(0) … f(n−1), each once, on all processors. Worker w of k takes w, w+k,
// …, since neighbours often cost alike.
func Parallel(n int, f func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers < 2 {
		for i := range n {
			f(i)
		}
		return
	}
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w; i < n; i += workers {
				f(i)
			}
		})
	}
	wg.Wait()
}

// Ranges calls f(lo, hi) for ranges that cover 0 … n−1 once, one for each processor, for
// work that needs buffers of its own.
func Ranges(n int, f func(lo, hi int)) {
	parts := min(runtime.GOMAXPROCS(0), n)
	Parallel(parts, func(k int) { f(n*k/parts, n*(k+1)/parts) })
}

// Each calls f(0) … f(n−1) on all processors, for work that may fail and of which one call may take
// much longer than another. It returns the first error by index, ctx's for those not called because
// it ended.
func Each(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		g.Go(func() error {
			if errs[i] = ctx.Err(); errs[i] == nil {
				errs[i] = f(i)
			}
			return nil
		})
	}
	_ = g.Wait()
	return cmp.Or(errs...)
}
