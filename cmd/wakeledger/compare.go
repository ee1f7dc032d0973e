package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"slices"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/force"
	"wakeledger/wake/measure"
)

func runCompare(ctx context.Context, e *env, args []string) error {
	fs := e.flags()
	first := addOpeningFlags(fs)
	e.addFullFlag(fs)
	count := addCountFlag(fs)
	repeats := fs.StringArray("repeat", nil, "`FILE` of another run of the baseline (repeatable)")
	forces := fs.StringArray("force", nil, "`FILE` with the record of the force, once for each")
	reruns := fs.StringArray("force-repeat", nil, "`FILE` with the force of --repeat")
	first.structure.addWidthFlag(fs)
	first.maps.addChangeFlags(fs)
	if err := e.parse(fs, args, `wakeledger compare bare.csv fairing.csv --speed 25 --density 1.2 --pressure 0 --region "right wheel:0.66,1.8,0,1.0"`); err != nil {
		return err
	}
	if err := first.check(e, fs.Args(), 2); err != nil {
		return err
	}
	if n := len(*forces); n != 0 && n != fs.NArg() {
		return &usageError{fmt.Sprintf("--force is given %d times, files: %d", n, fs.NArg()), "give it once for each file, in their order"}
	}
	if first.survey.tare != "" {
		return &usageError{"--tare in a comparison", "what the empty section adds cancels between configurations; use it with measure"}
	}
	parts, err := first.structure.options(nil)
	if err != nil {
		return err
	}
	moves, err := first.structure.shift()
	if err != nil {
		return err
	}
	planes, opts, err := first.read(ctx, e, fs.Args())
	if err != nil {
		return err
	}
	if !(*count > 0) {
		return &usageError{"--count is not positive", "give the size of a drag count in C_D, 0.001 or 0.0001"}
	}
	names := planeNames(planes)
	all := compare.Options{Measure: opts[0], Each: opts, Count: *count, Structures: parts, Moves: moves, Names: names}
	if len(*forces) > 0 && len(planes) != fs.NArg() {
		return &wake.InputError{Text: fmt.Sprintf("%d planes in %d files: which of them a force record is of cannot be told", len(planes), fs.NArg()), Cure: "give files with one plane each"}
	}
	if len(*reruns) > 0 && len(*forces) == 0 {
		return &usageError{"--force-repeat without --force", "give the records of the runs compared as well"}
	}
	var forceDoubts []wake.Warning
	var records []*force.Mean
	for k, name := range slices.Concat(*forces, *reruns) {
		e.reads(name)
		o := opts[0]
		if k < len(*forces) {
			o = opts[k]
		}
		m, err := force.Read([]force.File{{Path: name, Name: name}}, force.Options{Dynamic: o.Reference.Dynamic(), Area: o.FrontalArea})
		if err != nil {
			return err
		}
		forceDoubts, records = append(forceDoubts, m.Warnings...), append(records, m)
		if k < len(*forces) {
			all.Force = append(all.Force, m.Item())
		}
	}
	if err := e.repeats(ctx, *repeats, planes, first.survey, &all); err != nil {
		return err
	}
	c, pair, err := compare.Compare(planes, all)
	if err != nil {
		return err
	}
	c.Warnings = append(forceDoubts, c.Warnings...)
	for k := 1; k < len(*forces); k++ {
		if l := force.NewLedger(records[0], records[k], slices.Concat(records[:1], records[len(*forces):])); l != nil {
			l.Over(all.Measure.FrontalArea, cmp.Or(all.Count, 0.001))
			c.Variants[k-1].Force = l
		}
	}
	e.clock.lap("compare")
	return e.finish(c.Warnings,
		func(w io.Writer) error { return report.CompareText(w, c, names, e.full) },
		func(w io.Writer) error { return report.CompareJSON(w, c) },
		"compare", func(o *output) error {
			if err := o.table("compare.csv", func(w io.Writer) error { return report.LedgerCSV(w, compareLedger(c, names)) }); err != nil {
				return err
			}
			if len(planes) > 2 {
				if err := o.table("pairs.csv", func(w io.Writer) error { return report.PairsCSV(w, compareLedger(c, names)) }); err != nil {
					return err
				}
			}
			pictures, err := atlas.Comparison(ctx, c, pair.Measurements, names, first.maps.options())
			if err != nil {
				return err
			}
			for _, p := range pictures {
				o.add(p.Name+".png", p.PNG)
			}
			return nil
		})
}

// repeats reads further runs of the baseline and puts what they scatter by into the options.
func (e *env) repeats(ctx context.Context, files []string, planes []*wake.Plane, f *surveyFlags, all *compare.Options) error {
	if len(files) == 0 {
		return nil
	}
	runs, err := e.load(ctx, files, f)
	if err != nil {
		return err
	}
	all.Repeats = make([][]*compare.Known, len(planes))
	var values []measure.Vector
	for k, p := range append(planes[:1:1], runs...) {
		if p.Normal != planes[0].Normal || !(math.Abs(p.Position-planes[0].Position) <= planes[0].Mesh.Spacing()) {
			return &wake.InputError{
				File: p.Name(), Text: fmt.Sprintf("the repeat is at %s = %.4f m, the baseline at %s = %.4f m", p.Normal, p.Position, planes[0].Normal, planes[0].Position),
				Cure: "give another run of the baseline at its station",
			}
		}
		run, err := compare.Repeat(p, *all, all.Measure)
		if err != nil {
			return err
		}
		values = append(values, run.Values)
		if k > 0 {
			all.Repeats[0] = append(all.Repeats[0], run)
		}
	}
	sd, dof := measure.Pool([][]measure.Vector{values})
	for k := range all.Each {
		u := &all.Each[k].Uncertainty
		u.Repeat, u.RepeatDOF = sd, dof
	}
	return nil
}

func addCountFlag(fs *pflag.FlagSet) *float64 {
	return fs.Float64("count", 0.001, "size of a drag count in C_D")
}
