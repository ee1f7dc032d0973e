package main

import (
	"context"
	"io"

	"github.com/spf13/pflag"

	"wakeledger/render/report"
	"wakeledger/wake"
)

func runCheck(e *env, fs *pflag.FlagSet) work {
	s := addSettings(fs, reading())
	fs.Lookup("density").Usage = "`DENSITY` in kg/m3, for a kinematic pressure"
	layout := fs.String("layout", "", "the files are logs of a rake with the layout `FILE`: which tube is doubtful and why, with charts under --out")
	return func(ctx context.Context) error {
		if err := s.check(fs.NArg()); err != nil {
			return err
		}
		if *layout != "" {
			return e.checkLogs(ctx, fs.Args(), *layout)
		}
		planes, err := e.load(ctx, fs.Args(), s)
		if err != nil {
			return err
		}
		sheet := report.Check(planes)
		var warnings []wake.Warning
		for _, p := range planes {
			warnings = append(warnings, p.Warnings...)
		}
		return e.finish(result{warnings: warnings, name: "check", json: sheet.JSON, text: func(w io.Writer, _ bool) error { return sheet.Text(w) }})
	}
}
