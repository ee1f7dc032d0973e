package main

import (
	"os"
	"runtime/debug"
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
