package main

import (
	"errors"
	"io"
	"strings"

	"wakeledger/render/report"
)

// terminal is the standard output. What a file calls itself may hold characters that
// drive a terminal: they are shown as escapes, which JSON and TOML read as the same. It
// keeps the first error, so that help to a full disk fails as a result does.
type terminal struct {
	w   io.Writer
	err error
}

func (t *terminal) Write(b []byte) (int, error) {
	if t.err != nil {
		return 0, t.err
	}
	lines := strings.Split(string(b), "\n")
	for i, line := range lines {
		lines[i] = report.Clean(line)
	}
	if _, t.err = io.WriteString(t.w, strings.Join(lines, "\n")); t.err != nil {
		return 0, t.err
	}
	return len(b), nil
}

// errorLines are the lines of an error, one for each of those joined in it. A line feed
// in a name makes no line.
func errorLines(err error) (out []string) {
	if joined, ok := err.(interface{ Unwrap() []error }); ok && errors.Join(joined.Unwrap()...).Error() == err.Error() {
		for _, e := range joined.Unwrap() {
			out = append(out, errorLines(e)...)
		}
		return out
	}
	return []string{report.Clean(err.Error())}
}
