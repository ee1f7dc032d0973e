package main

import (
	"context"
	"io"

	"github.com/spf13/pflag"

	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/average"
	"wakeledger/wake/measure"
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
			return e.rakes(ctx, fs.Args(), *layout, false)
		}
		var planes []*wake.Plane
		var warnings []wake.Warning
		opt := s.Plane("flag")
		opt.Release = true
		for _, name := range fs.Args() {
			samples, err := average.Read(ctx, name, s.Read("flag"))
			if err != nil {
				return err
			}
			lean(samples.N)
			of, err := wake.Planes(samples, opt)
			if err != nil {
				return err
			}
			for _, p := range of {
				p.Warnings = append(p.Warnings, measure.Suspects(p)...)
				warnings = append(warnings, p.Warnings...)
			}
			planes = append(planes, of...)
		}
		e.clock.lap("read")
		sheet := report.Check(planes)
		return e.finish(result{warnings: warnings, name: "check", json: sheet.JSON, text: func(w io.Writer, _ bool) error { return sheet.Text(w) }})
	}
}
