package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"
)

// progress is one line on a terminal that shows how much is done and how long the rest takes. It appears
// after a second and is wiped at the end; nothing is shown where standard error
// is not a terminal, or with --quiet.
type progress struct {
	mu    sync.Mutex
	w     io.Writer
	what  string
	total int
	count int
	start time.Time
}

func (e *env) progress(what string, total int) *progress {
	p := &progress{what: what, total: total, start: time.Now()}
	if f, ok := e.stderr.(*os.File); ok && !e.quiet && total > 0 {
		if st, err := f.Stat(); err == nil && st.Mode()&os.ModeCharDevice != 0 {
			p.w = f
		}
	}
	return p
}

// step counts one piece of work.
func (p *progress) step() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.count++
	if p.w != nil && time.Since(p.start) > time.Second {
		fmt.Fprintf(p.w, "\r%s ", p.line(time.Since(p.start)))
	}
}

// line says how much is done after a time, and how long the rest takes if it goes on so. Where
// more comes than was announced (a study whose planes make the stations), no time is told.
func (p *progress) line(took time.Duration) string {
	s := fmt.Sprintf("%s: %d of %d", p.what, p.count, max(p.count, p.total))
	if left := p.total - p.count; left > 0 && p.count > 0 {
		s += fmt.Sprintf(", about %v left", max(took*time.Duration(left)/time.Duration(p.count), time.Second).Round(time.Second))
	}
	// Wipes what a longer line before it leaves.
	return fmt.Sprintf("%-80s", s)
}

// done wipes the line.
func (p *progress) done() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w != nil {
		fmt.Fprintf(p.w, "\r%80s \r", "")
	}
}
