package main

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
)

// memoryThere is how many bytes the program may use: what the system has available, or the
// limit of the control group; math.MaxUint64 where neither is known. A limit on addresses
// tells nothing, since the runtime reserves many that it never uses.
func memoryThere() uint64 {
	there := uint64(math.MaxUint64)
	if f, err := os.Open("/proc/meminfo"); err == nil {
		defer f.Close()
		for s := bufio.NewScanner(f); s.Scan(); {
			var kb uint64
			if n, _ := fmt.Sscanf(s.Text(), "MemAvailable: %d kB", &kb); n == 1 {
				there = kb << 10
			}
		}
	}
	if b, err := os.ReadFile("/sys/fs/cgroup/memory.max"); err == nil {
		var n uint64
		if k, _ := fmt.Sscan(strings.TrimSpace(string(b)), &n); k == 1 {
			there = min(there, n)
		}
	}
	return there
}
