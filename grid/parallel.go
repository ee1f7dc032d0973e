package grid

import (
	"runtime"
	"sync"
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
