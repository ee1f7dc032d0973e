package waketest

import (
	"bytes"
	"math/rand/v2"
	"runtime"
)

// Injure gives a copy of b, which is not empty, with one of six injuries, as a bad disk,
// a broken transfer or a careless edit leaves them, and what it is.
func Injure(rng *rand.Rand, b []byte) ([]byte, string) {
	b = bytes.Clone(b)
	at := rng.IntN(len(b))
	switch rng.IntN(6) {
	case 0:
		return b[:at], "cut"
	case 1:
		b[at] ^= 1 << rng.IntN(8)
		return b, "bit flipped"
	case 2:
		b[at] = byte(rng.IntN(256))
		return b, "byte replaced"
	case 3:
		// A digit, where one is found: counts, offsets, dimensions, values.
		for range 200 {
			i := rng.IntN(len(b))
			if b[i] >= '0' && b[i] <= '9' {
				b[i] = '0' + byte(rng.IntN(10))
				break
			}
		}
		return b, "digit replaced"
	case 4:
		n := min(1+rng.IntN(16), len(b)-at)
		return append(b[:at], b[at+n:]...), "bytes lost"
	}
	n := min(1+rng.IntN(16), len(b)-at)
	for i := range n {
		b[at+i] = 0xff
	}
	return b, "bytes set"
}

// Allocated is how many bytes of memory f asks for, what is freed again included. Other
// goroutines must be at rest.
func Allocated(f func()) uint64 {
	var a, b runtime.MemStats
	runtime.ReadMemStats(&a)
	f()
	runtime.ReadMemStats(&b)
	return b.TotalAlloc - a.TotalAlloc
}
