package poisson

import (
	"runtime"
	"sync"
)

// parallel calls work(lo, hi) for ranges that cover 0 … n−1 once, on all
// processors. Each call has transforms and buffers of its own, and each index is
// worked out alone, so the split does not change a bit of the result.
func parallel(n int, work func(lo, hi int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers < 2 {
		work(0, n)
		return
	}
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() { work(n*w/workers, n*(w+1)/workers) })
	}
	wg.Wait()
}
