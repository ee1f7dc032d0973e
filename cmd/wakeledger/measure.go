package main

import (
	"context"
	"io"
	"math"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/parts"
)

func runMeasure(ctx context.Context, e *env, args []string) error {
	fs := e.flags()
	first := addOpeningFlags(fs)
	e.addFullFlag(fs)
	if err := e.parse(fs, args, "wakeledger measure slice.csv.gz --speed 25 --density 1.2 --pressure 0 --area 2.55 --out result"); err != nil {
		return err
	}
	if err := first.check(e, fs.Args(), 1); err != nil {
		return err
	}
	planes, opts, err := first.read(ctx, e, fs.Args())
	if err != nil {
		return err
	}
	find, err := first.structure.options(opts[0].Regions)
	if err != nil {
		return err
	}
	take, err := e.taking(ctx, first.survey)
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
	return e.finish(warnings,
		func(w io.Writer) error { return report.MeasureText(w, results, e.full) },
		func(w io.Writer) error { return report.MeasureJSON(w, results) },
		"measure", func(o *output) error {
			if err := o.table("measure.csv", func(w io.Writer) error { return report.LedgerCSV(w, measureLedger(results)) }); err != nil {
				return err
			}
			names := planeNames(planes)
			words := atlas.FileWords(names)
			for k, m := range taken {
				pictures, err := atlas.Plane(ctx, m, names[k], first.maps.options())
				if err != nil {
					return err
				}
				for _, p := range pictures {
					o.add(words[k]+"_"+p.Name+".png", p.PNG)
				}
			}
			return nil
		})
}

// taking is how planes are measured: by themselves, or less the survey of the empty
// section that --tare names.
func (e *env) taking(ctx context.Context, f *surveyFlags) (func(*wake.Plane, measure.Options) (*measure.Measurement, error), error) {
	if f.tare == "" {
		return measure.Take, nil
	}
	empty, err := e.load(ctx, []string{f.tare}, f)
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
