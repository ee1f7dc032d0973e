package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"wakeledger/render/report"
	"wakeledger/wake"
)

// env is what a command works in: its streams and the flags that all share.
type env struct {
	stdout, stderr io.Writer
	command        command
	// ctx ends at a signal.
	ctx context.Context
	// read lists the files that reads knows.
	read []string

	json, quiet, strict, timings bool
	// full asks for all tables in the text, not the verdicts alone.
	full  bool
	out   string
	clock *clock
}

// reads notes files that are read, which no output may replace.
func (e *env) reads(names ...string) { e.read = append(e.read, names...) }

// flags makes the command's flag set with the flags that all commands have.
func (e *env) flags() *pflag.FlagSet {
	fs := pflag.NewFlagSet(e.command.name, pflag.ContinueOnError)
	fs.SortFlags = false
	fs.BoolVar(&e.json, "json", false, "print only JSON")
	fs.StringVar(&e.out, "out", "", "write the results into the folder `DIR`")
	fs.BoolVar(&e.quiet, "quiet", false, "print only errors (and JSON)")
	fs.BoolVar(&e.strict, "strict", false, "fail when there is a warning")
	fs.BoolVar(&e.timings, "timings", false, "end with one JSON line of time and memory by stage")
	fs.Lookup("timings").Annotations = map[string][]string{seldom: nil}
	e.clock = newClock()
	return fs
}

// addFullFlag is for the commands whose text is short unless asked.
func (e *env) addFullFlag(fs *pflag.FlagSet) {
	fs.BoolVar(&e.full, "full", false, "print every table and note")
}

// text is where tables for people go: nowhere with --json or --quiet.
func (e *env) text() io.Writer {
	if e.json || e.quiet {
		return io.Discard
	}
	return e.stdout
}

// judge lets warnings fail under --strict, before anything is written.
func (e *env) judge(warnings []wake.Warning) error {
	if !e.strict || len(warnings) == 0 {
		return nil
	}
	for _, w := range warnings {
		fmt.Fprintln(e.stderr, "warning: "+report.Clean(w.String()))
	}
	return fmt.Errorf("%s, and --strict lets none pass; nothing was written", wake.Plural(len(warnings), "warning"))
}
