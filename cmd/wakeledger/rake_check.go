package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"wakeledger/wake/survey/rake"
)

// checkLogs says of each log which tubes are doubtful and why, and draws the tubes
// against their neighbours and where the samples are.
func (e *env) checkLogs(ctx context.Context, names []string, layout string) error {
	results, warnings, err := e.reduceLogs(ctx, slices.Collect(slices.Chunk(names, 1)), layout, rake.Options{})
	if err != nil {
		return err
	}
	return e.finish(warnings,
		func(w io.Writer) error { return rakeCheckText(w, results) },
		func(w io.Writer) error { return rakeJSON(w, results, warnings) },
		"check", func(o *output) error { return rakeFiles(o, results, false) })
}

// rakeCheckText is the part of a rake's sheet that judges the log.
func rakeCheckText(w io.Writer, results []*rake.Result) error {
	var b bytes.Buffer
	for k, r := range results {
		if k > 0 {
			b.WriteByte('\n')
		}
		rakeHead(&b, r)
		var doubtful []rake.TubeReport
		for _, t := range r.Tubes {
			if t.State != "good" {
				doubtful = append(doubtful, t)
			}
		}
		b.WriteString("\ntubes in doubt\n")
		for _, t := range doubtful {
			rakeWrap(&b, "  ", fmt.Sprintf("%s is %s: %s; it would be %s", t.Name, t.State, t.Why, t.Treated), 6)
		}
		if len(doubtful) == 0 {
			rakeWrap(&b, "  ", fmt.Sprintf("none of %d: all respond to the wind, vary and follow their neighbours", len(r.Tubes)), 6)
		}
		b.WriteString("\nzeros, drift and reference\n")
		for _, s := range r.Steps {
			switch s.Name {
			case rake.Zero, rake.Drift, rake.Rows, rake.Repeats:
				rakeWrap(&b, fmt.Sprintf("  %-8s  ", s.Name), s.Text, 12)
			}
		}
		rakeTubes(&b, r)
		rakeWarnings(&b, r)
	}
	_, err := io.WriteString(w, strings.TrimRight(b.String(), "\n")+"\n")
	return err
}
