package waketest

import "runtime"

// Allocated is how many bytes of memory f asks for, what is freed again included. Other
// goroutines must be at rest.
func Allocated(f func()) uint64 {
	var a, b runtime.MemStats
	runtime.ReadMemStats(&a)
	f()
	runtime.ReadMemStats(&b)
	return b.TotalAlloc - a.TotalAlloc
}
