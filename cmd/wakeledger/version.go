package main

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime/debug"

	"github.com/spf13/pflag"
)

// release is the version of the contract that the output follows.
const release = "0.1.0"

func runVersion(e *env, fs *pflag.FlagSet) work {
	return func(_ context.Context) error {
		built := ""
		if info, ok := debug.ReadBuildInfo(); ok {
			for _, s := range info.Settings {
				if s.Key == "vcs.revision" {
					built = s.Value
				}
			}
		}
		if e.json {
			return json.NewEncoder(e.stdout).Encode(map[string]string{"version": release, "revision": built})
		}
		fmt.Fprintf(e.text(), "wakeledger %s\n", release)
		if built != "" {
			fmt.Fprintf(e.text(), "revision %s\n", built)
		}
		return nil
	}
}
