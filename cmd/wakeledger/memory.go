package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"strconv"
	"strings"
	"time"
)

const (
	// manySamples is from where on memory is mostly that of columns and meshes.
	manySamples = 200_000
	// leanPercent is how much garbage, as a part of what is in use, then waits to be
	// collected. Columns hold no pointers, so collecting costs next to nothing there;
	// with small surveys, where the collector has work to do, it would cost a tenth of
	// the run.
	leanPercent = 20
)

// lean keeps the memory of large surveys near what they need, unless the user has
// set the collector.
func lean(samples int) {
	if samples >= manySamples && os.Getenv("GOGC") == "" {
		debug.SetGCPercent(leanPercent)
	}
}

const (
	// memoryLook is how often the memory in use is looked at, memoryShare the part of
	// what is there above which a run is ended: beyond it the runtime, or the system,
	// would end it without a word that a user can act on.
	memoryLook  = 20 * time.Millisecond
	memoryShare = 0.85
)

// memoryError says that a run was ended since memory ran short.
type memoryError string

func (e memoryError) Error() string { return string(e) }

// watchMemory ends the context when the program's memory comes near what was there for it
// at the start, or near GOMEMLIMIT, which the runtime would keep to by collecting without
// end. Where nothing is known nothing is watched.
func watchMemory(ctx context.Context, cancel context.CancelCauseFunc) {
	there := min(memoryThere(), uint64(debug.SetMemoryLimit(-1)))
	if there == math.MaxInt64 {
		return
	}
	read := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	tick := time.NewTicker(memoryLook)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		metrics.Read(read)
		if used := read[0].Value.Uint64() - read[1].Value.Uint64(); float64(used) > memoryShare*float64(there) {
			cancel(memoryError(fmt.Sprintf("not enough memory: %d MB are in use, %d MB are there; nothing was written; export fewer samples, give fewer planes at a time, or use a machine with more memory", used>>20, there>>20)))
			return
		}
	}
}

// memoryThere is how many bytes the program may use: what the system has available, or the
// limit of the control group; very many where neither is known. A limit on addresses
// tells nothing, since the runtime reserves many that it never uses.
func memoryThere() uint64 {
	there := uint64(math.MaxInt64)
	if kb := kilobytes("/proc/meminfo", "MemAvailable"); kb > 0 {
		there = kb << 10
	}
	b, _ := os.ReadFile("/sys/fs/cgroup/memory.max")
	if limit, err := strconv.ParseUint(strings.TrimSpace(string(b)), 10, 64); err == nil {
		there = min(there, limit)
	}
	return there
}

// kilobytes is the size under a key of a file of the system's, 0 where it has none.
func kilobytes(file, key string) (kb uint64) {
	b, _ := os.ReadFile(file)
	_, text, _ := strings.Cut(string(b), key+":")
	fmt.Sscan(text, &kb)
	return kb
}
