package main

import (
	"os"
	"runtime"
	"syscall"
	"unsafe"
)

const (
	// hugePage is the size of a large page on the processors that Go runs on, mostly;
	// a request that is not aligned to it is merely of less use.
	hugePage = 2 << 20
	// perByte is how much memory a byte of a text file comes to, above the planes'
	// peak of 240 bytes a sample at 66 bytes a row; packed files take more, and go
	// without for the rest.
	perByte = 4
	// leastInput and mostHuge are the size of the input below which it makes no
	// difference, and the most that is asked for.
	leastInput, mostHuge = 1 << 20, 4 << 30
)

// hugePages asks the kernel to back the memory that large files will need with large
// pages. The first touch of each small page costs about as much as reading two
// hundred samples' numbers from it; a plane of a million samples touches seventy
// thousand. A block is taken from the heap, marked, and given back untouched: the mark
// stays with the addresses, which the columns and meshes then come to lie on. It is a
// wish: where the kernel refuses it, all goes on as before.
func hugePages(files []string) {
	var total int64
	for _, name := range files {
		if s, err := os.Stat(name); err == nil && s.Mode().IsRegular() && s.Size() < mostHuge {
			total += s.Size()
		}
	}
	if total < leastInput {
		return
	}
	block := make([]byte, min(total*perByte, mostHuge)+hugePage)
	// The first byte that is aligned.
	skip := int(-uintptr(unsafe.Pointer(&block[0])) & (hugePage - 1))
	whole := block[skip:]
	_ = syscall.Madvise(whole[:len(whole)&^(hugePage-1)], syscall.MADV_HUGEPAGE)
	runtime.KeepAlive(block)
	runtime.GC()
}
