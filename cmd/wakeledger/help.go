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

// limits says, for the commands that read files, what they refuse to take in.
func limits(command string) string {
	const survey = "limits: a packed file unpacks to 250 times its size (NumPy .npz 1032 times) and\n64 GiB at most; 2147483647 samples; about 250 bytes of memory a sample"
	switch command {
	case "check", "measure", "compare", "plan", "average":
		return survey
	case "study":
		return "limits: a study file of 4 MiB; surveys as those of measure, all of them in\nmemory at once"
	case "rake":
		return "limits: a log of 1 GiB of text, which unpacks to 250 times its size at most; a\nlayout of 1 MiB"
	case "merge":
		return "limits: 4194304 snapshots of 2147483647 samples; about 300 bytes of memory a\nsample"
	}
	return ""
}

// help prints the flags of a command, its limits and its example.
func (e *env) help(fs *pflag.FlagSet, example string, all bool) {
	c := e.command
	fmt.Fprintf(e.stdout, "usage: %s\n%s\n\n", strings.TrimSpace("wakeledger "+c.name+" [flags] "+c.args), c.about)
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
		fmt.Fprintf(e.stdout, "--help-all tells %d more: reference and frame, methods, uncertainties, parts of\nthe wake, pictures\n", hidden)
	}
	if l := limits(c.name); l != "" {
		fmt.Fprintln(e.stdout, l)
	}
	if example != "" {
		fmt.Fprintf(e.stdout, "\nexample: %s\n", example)
	}
}
