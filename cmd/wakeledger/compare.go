package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/survey/settings"
)

func runCompare(e *env, fs *pflag.FlagSet) work {
	s := addSettings(fs, func(*settings.Flag) bool { return true })
	e.addFullFlag(fs)
	repeats := fs.StringArray("repeat", nil, "`FILE` of another run of the baseline (repeatable)")
	forces := fs.StringArray("force", nil, "force record `FILE`, one for each plane, in order")
	reruns := fs.StringArray("force-repeat", nil, "force record `FILE` of the --repeat run")
	return func(ctx context.Context) error {
		if n := len(*forces); n != 0 && n != fs.NArg() {
			return &usageError{fmt.Sprintf("--force is given %s, for %s", wake.Plural(n, "time"), wake.Plural(fs.NArg(), "file")), "give it once for each file, in their order"}
		}
		if len(*reruns) > 0 && len(*forces) == 0 {
			return &usageError{"--force-repeat without --force", "give the records of the runs compared as well"}
		}
		if s.ForceStart != nil && len(*forces) == 0 {
			return &usageError{"--start without --force", "give the records that it is the start of"}
		}
		if s.Reference.Tare != nil {
			return &usageError{"--tare in a comparison", "what the empty section adds cancels between configurations; use it with measure"}
		}
		c, maps, err := s.study(fs.Args(), study.Together)
		if err != nil {
			return err
		}
		c.Configurations[0].Repeats = surveys(*repeats)
		for k, name := range *forces {
			c.Configurations[k].Force = &study.Force{Records: []string{name}, Start: s.ForceStart}
			if k == 0 {
				c.Configurations[k].Force.Repeats = *reruns
			}
		}
		outcome, fields, err := e.run(ctx, c, "")
		if err != nil {
			return err
		}
		st := outcome.Stations[0]
		comparison, names := st.Comparison, configurations(outcome)
		comparison.Warnings = append(outcome.Warnings, comparison.Warnings...)
		for _, l := range outcome.ByPart {
			comparison.Variants[slices.Index(st.Variants, l.Configuration)].Force = l.Ledger
		}
		return e.finish(result{
			warnings: comparison.Warnings, name: "compare",
			text: func(w io.Writer, full bool) error { return report.CompareText(w, comparison, names, full) },
			json: func(w io.Writer) error { return report.CompareJSON(w, comparison) },
			files: func(o *output) error {
				err := o.table("compare.csv", func(w io.Writer) error { return report.LedgerCSV(w, outcome) })
				if len(names) > 2 {
					err = errors.Join(err, o.table("pairs.csv", func(w io.Writer) error { return report.PairsCSV(w, outcome) }))
				}
				pictures, wrong := atlas.Comparison(ctx, comparison, &compare.Pair{Measurements: fields[0].Compared, Own: fields[0].Single}, names, maps)
				for _, p := range pictures {
					o.add(p.Name+".png", p.PNG)
				}
				return errors.Join(err, wrong)
			},
		})
	}
}
