package main

import (
	"context"
	"errors"
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
	"wakeledger/wake/survey/settings"
)

func runCompare(e *env, fs *pflag.FlagSet) work {
	s := addSettings(fs, func(*settings.Flag) bool { return true })
	e.addFullFlag(fs)
	repeats := fs.StringArray("repeat", nil, "`FILE` of another run of the baseline (repeatable)")
	forces := fs.StringArray("force", nil, "`FILE` with the record of the force, once for each")
	reruns := fs.StringArray("force-repeat", nil, "`FILE` with the force of --repeat")
	return func(ctx context.Context) error {
		if err := s.ready(e, fs.Args()); err != nil {
			return err
		}
		if n := len(*forces); n != 0 && n != fs.NArg() {
			return &usageError{fmt.Sprintf("--force is given %d times, files: %d", n, fs.NArg()), "give it once for each file, in their order"}
		}
		if len(*reruns) > 0 && len(*forces) == 0 {
			return &usageError{"--force-repeat without --force", "give the records of the runs compared as well"}
		}
		if s.Reference.Tare != nil {
			return &usageError{"--tare in a comparison", "what the empty section adds cancels between configurations; use it with measure"}
		}
		parts, moves := s.Parts()
		planes, opts, err := s.read(ctx, e, fs.Args())
		if err != nil {
			return err
		}
		names := planeNames(planes)
		all := compare.Options{Measure: opts[0], Count: s.Reference.Count, Structures: parts, Moves: moves}
		for k := range planes {
			all.Own = append(all.Own, compare.Own{Name: names[k], Measure: &opts[k]})
		}
		if len(*forces) > 0 && len(planes) != fs.NArg() {
			return &wake.InputError{Text: fmt.Sprintf("%d planes in %d files: which of them a force record is of cannot be told", len(planes), fs.NArg()), Cure: "give files with one plane each"}
		}
		var records []*force.Mean
		var doubts []wake.Warning
		for k, name := range slices.Concat(*forces, *reruns) {
			o := opts[0]
			if k < len(*forces) {
				o = opts[k]
			}
			m, err := e.forceOf(name, &o)
			if err != nil {
				return err
			}
			records, doubts = append(records, m), append(doubts, m.Warnings...)
			if k < len(*forces) {
				all.Own[k].Force = m.Item()
			}
		}
		if err := e.repeats(ctx, *repeats, planes, s, &all); err != nil {
			return err
		}
		c, pair, err := compare.Compare(planes, all)
		if err != nil {
			return err
		}
		c.Warnings = append(doubts, c.Warnings...)
		byPart(c, records, len(*forces), &all)
		e.clock.lap("compare")
		ledger := compareLedger(c, names)
		return e.finish(result{
			warnings: c.Warnings, name: "compare",
			text: func(w io.Writer, full bool) error { return report.CompareText(w, c, names, full) },
			json: func(w io.Writer) error { return report.CompareJSON(w, c) },
			files: func(o *output) error {
				err := o.table("compare.csv", func(w io.Writer) error { return report.LedgerCSV(w, ledger) })
				if len(planes) > 2 {
					err = errors.Join(err, o.table("pairs.csv", func(w io.Writer) error { return report.PairsCSV(w, ledger) }))
				}
				pictures, wrong := atlas.Comparison(ctx, c, pair, names, s.maps)
				for _, p := range pictures {
					o.add(p.Name+".png", p.PNG)
				}
				return errors.Join(err, wrong)
			},
		})
	}
}

// byPart sets the forces of the variants beside the baseline's, which is the first of n records;
// those behind are of the baseline's other runs.
func byPart(c *compare.Comparison, records []*force.Mean, n int, opt *compare.Options) {
	for k := 1; k < n; k++ {
		if l := force.NewLedger(records[0], records[k], slices.Concat(records[:1], records[n:])); l != nil {
			l.Over(opt.Measure.FrontalArea, opt.Count)
			c.Variants[k-1].Force = l
		}
	}
}

// forceOf reads the record of the force of one run, with the reference of its plane.
func (e *env) forceOf(name string, opt *measure.Options) (*force.Mean, error) {
	e.reads(name)
	return force.Read([]force.File{{Path: name, Name: name}}, force.Options{Dynamic: opt.Reference.Dynamic(), Area: opt.FrontalArea})
}

// repeats reads further runs of the baseline and puts what they scatter by into the options.
func (e *env) repeats(ctx context.Context, files []string, planes []*wake.Plane, s *stated, all *compare.Options) error {
	if len(files) == 0 {
		return nil
	}
	runs, err := e.load(ctx, files, s)
	if err != nil {
		return err
	}
	var values []measure.Vector
	var layout measure.Layout
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
		layout, values = run.Layout, append(values, run.Values)
		if k > 0 {
			all.Own[0].Repeats = append(all.Own[0].Repeats, run)
		}
	}
	sd, dof := measure.Pool(layout, all.Measure.Regions, [][]measure.Vector{values})
	for _, own := range all.Own {
		u := &own.Measure.Uncertainty
		u.Repeat, u.RepeatDOF = sd, dof
	}
	return nil
}
