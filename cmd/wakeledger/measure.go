package main

import (
	"context"
	"io"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/survey/settings"
)

func runMeasure(e *env, fs *pflag.FlagSet) work {
	s := addSettings(fs, func(g *settings.Flag) bool { return !g.Is("compare") })
	e.addFullFlag(fs)
	return func(ctx context.Context) error {
		c, maps, err := s.study(fs.Args(), study.Apart)
		if err != nil {
			return err
		}
		outcome, fields, err := e.run(ctx, c, "")
		if err != nil {
			return err
		}
		var results []*measure.Result
		var warnings []wake.Warning
		for _, st := range outcome.Stations {
			results, warnings = append(results, st.Surveys[0].Result), append(warnings, st.Surveys[0].Result.Warnings...)
		}
		e.clock.count(results)
		count := 0.0
		if fs.Changed("count") {
			count = c.Reference.Count
		}
		return e.finish(result{
			warnings: warnings, name: "measure",
			text: func(w io.Writer, full bool) error { return report.MeasureText(w, results, full, count) },
			json: func(w io.Writer) error { return report.MeasureJSON(w, results) },
			files: func(o *output) error {
				if err := o.table("measure.csv", func(w io.Writer) error { return report.LedgerCSV(w, outcome) }); err != nil {
					return err
				}
				names := configurations(outcome)
				words := atlas.FileWords(names)
				for k, f := range fields {
					pictures, err := atlas.Plane(ctx, f.Single[0], names[k], maps)
					if err != nil {
						return err
					}
					for _, p := range pictures {
						o.add(words[k]+"_"+p.Name+".png", p.PNG)
					}
				}
				return nil
			},
		})
	}
}

// configurations are the names of an outcome's configurations.
func configurations(o *study.Outcome) (names []string) {
	for _, c := range o.Configurations {
		names = append(names, c.Name)
	}
	return names
}
