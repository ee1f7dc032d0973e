package main

import (
	"strings"
	"testing"
	"time"
)

// The line on a terminal tells what is left at the pace so far; no number of steps breaks it, and
// nothing appears where standard error is no terminal.
func TestProgress(t *testing.T) {
	for _, c := range []struct {
		count, total int
		want         string
	}{
		{1, 4, "study [#######.......................] 1 of 4, about 30s left"},
		{3, 4, "3 of 4, about 3s left"},
		{4, 4, "study [##############################] 4 of 4"},
		{6, 4, "study [##############################] 6 of 6"},
	} {
		p := &progress{what: "study", total: c.total, count: c.count}
		if got := p.line(10 * time.Second); len(got) != 80 || !strings.Contains(got+"$", c.want) || strings.Contains(got, "left") != (c.count < c.total) {
			t.Errorf("%d of %d: %q", c.count, c.total, got)
		}
	}
	var b strings.Builder
	p := (&env{stderr: &b}).progress("study", 2)
	p.start = p.start.Add(-time.Hour)
	p.step()
	p.done()
	if b.Len() > 0 {
		t.Errorf("not on a terminal: %q", b.String())
	}
}
