package main

import (
	"encoding/json"
	"io"
	"sync"
	"time"

	"wakeledger/wake/measure"
)

// clock notes wall time, processor time and peak memory stage by stage.
type clock struct {
	mu          sync.Mutex
	start, last time.Time
	cpu         float64
	line        timing
}

// timing is the one JSON line that --timings prints: seconds of wall (s) and
// processor time (cpu) and peak memory in MiB (mb) by stage, and figures to check
// that two programs did the same work.
type timing struct {
	Wall     map[string]float64 `json:"s"`
	Memory   map[string]float64 `json:"mb"`
	CPU      map[string]float64 `json:"cpu"`
	Integral float64            `json:"I"`
	Area     float64            `json:"area"`
	Samples  int                `json:"n"`
	Elements int                `json:"ntri"`
	Pixels   int                `json:"pix"`
}

func newClock() *clock {
	now := time.Now()
	return &clock{start: now, last: now, line: timing{Wall: map[string]float64{}, Memory: map[string]float64{}, CPU: map[string]float64{}}}
}

// lap ends a stage; a stage may have several laps.
func (c *clock) lap(stage string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	now, cpu := time.Now(), processorTime()
	c.line.Wall[stage] += now.Sub(c.last).Seconds()
	c.line.CPU[stage] += cpu - c.cpu
	c.line.Memory[stage] = float64(kilobytes("/proc/self/status", "VmHWM")) / 1024 // the peak so far
	c.last, c.cpu = now, cpu
}

// print writes the line.
func (c *clock) print(w io.Writer) error {
	c.line.Wall["total"] = time.Since(c.start).Seconds()
	return json.NewEncoder(w).Encode(c.line)
}

// count notes what was worked on.
func (c *clock) count(results []*measure.Result) {
	for _, r := range results {
		c.line.Samples += r.Samples
		c.line.Elements += r.Mesh.Elements
		c.line.Area += r.Mesh.Area
		if r.Wake != nil && r.Wake.MomentumArea != nil {
			c.line.Integral += *r.Wake.MomentumArea
		}
	}
}
