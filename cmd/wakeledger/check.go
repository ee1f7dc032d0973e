package main

import (
	"context"

	"wakeledger/render/report"
	"wakeledger/wake"
)

func runCheck(ctx context.Context, e *env, args []string) error {
	fs := e.flags()
	f := &surveyFlags{fs: fs}
	layout := fs.String("layout", "", "the files are logs of a rake with the layout `FILE`: which tube is doubtful and why, with charts under --out")
	fs.StringVar(&f.density, "density", "", "density in kg/m3, for a kinematic pressure")
	addReadFlags(fs, f)
	if err := e.parse(fs, args, "wakeledger check slice.csv.gz"); err != nil {
		return err
	}
	if err := e.needFiles(fs.Args(), 1); err != nil {
		return err
	}
	if *layout != "" {
		return e.checkLogs(ctx, fs.Args(), *layout)
	}
	planes, err := e.load(ctx, fs.Args(), f)
	if err != nil {
		return err
	}
	sheet := report.NewCheck(planes)
	var warnings []wake.Warning
	for _, p := range planes {
		warnings = append(warnings, p.Warnings...)
	}
	return e.finish(warnings, sheet.Text, sheet.JSON, "check", nil)
}
