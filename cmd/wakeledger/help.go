package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"
)

// seldom marks the flags that --help leaves to --help-all where a command has many.
const seldom = "seldom"

// manyFlags is how many flags go onto one screen with their words.
const manyFlags = 13

// help prints the flags of a command, its limits and its example.
func (e *env) help(fs *pflag.FlagSet, all bool) {
	c := e.command
	fmt.Fprintf(e.stdout, "%s\n%s\n\n", c.usage(), c.about)
	n := 0
	fs.VisitAll(func(*pflag.Flag) { n++ })
	hidden := 0
	if !all && n > manyFlags {
		fs.VisitAll(func(f *pflag.Flag) {
			if _, ok := f.Annotations[seldom]; ok {
				f.Hidden = true
				hidden++
			}
		})
	}
	// A switch needs no word that it may be given.
	fmt.Fprint(e.stdout, strings.ReplaceAll(fs.FlagUsagesWrapped(80), "[=true|false]", "             "))
	if hidden > 0 {
		fmt.Fprintf(e.stdout, "--help-all lists %d more flags\n", hidden)
	}
	if c.limits != "" {
		fmt.Fprintln(e.stdout, c.limits)
	}
	if c.example != "" {
		fmt.Fprintf(e.stdout, "\nexample: wakeledger %s %s\n", c.name, c.example)
	}
}
