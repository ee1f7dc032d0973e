package main

import (
	"context"
	"io"
	"math"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
	"wakeledger/wake/survey/settings"
)

func runMeasure(e *env, fs *pflag.FlagSet) work {
	s := addSettings(fs, func(g *settings.Flag) bool { return !g.Is("compare") })
	e.addFullFlag(fs)
	return func(ctx context.Context) error {
		if err := s.ready(e, fs.Args()); err != nil {
			return err
		}
		planes, opts, err := s.read(ctx, e, fs.Args())
		if err != nil {
			return err
		}
		find, _ := s.Parts()
		take, err := e.taking(ctx, s)
		if err != nil {
			return err
		}
		var results []*measure.Result
		var warnings []wake.Warning
		var taken []*measure.Measurement
		for k, p := range planes {
			m, err := take(p, opts[k])
			if err != nil {
				return err
			}
			if find != nil {
				if _, _, err := parts.Survey(m, *find); err != nil {
					return err
				}
			}
			taken, results = append(taken, m), append(results, m.Result)
			warnings = append(warnings, m.Result.Warnings...)
		}
		e.clock.lap("integrate")
		e.clock.count(results)
		return e.finish(result{
			warnings: warnings, name: "measure",
			text: func(w io.Writer, full bool) error { return report.MeasureText(w, results, full) },
			json: func(w io.Writer) error { return report.MeasureJSON(w, results) },
			files: func(o *output) error {
				if err := o.table("measure.csv", func(w io.Writer) error { return report.LedgerCSV(w, measureLedger(results)) }); err != nil {
					return err
				}
				names := planeNames(planes)
				words := atlas.FileWords(names)
				for k, m := range taken {
					pictures, err := atlas.Plane(ctx, m, names[k], s.maps)
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

// taking is how planes are measured: by themselves, or less the survey of the empty
// section that --tare names.
func (e *env) taking(ctx context.Context, s *stated) (func(*wake.Plane, measure.Options) (*measure.Measurement, error), error) {
	if s.Reference.Tare == nil {
		return measure.Take, nil
	}
	empty, err := e.load(ctx, s.Reference.Tare, s)
	if err != nil {
		return nil, err
	}
	return func(p *wake.Plane, opt measure.Options) (*measure.Measurement, error) {
		best := empty[0]
		for _, t := range empty[1:] {
			if t.Normal == p.Normal && math.Abs(t.Position-p.Position) < math.Abs(best.Position-p.Position) {
				best = t
			}
		}
		return compare.Tare(p, best, opt)
	}, nil
}
