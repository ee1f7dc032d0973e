package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/grid"
	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/study"
)

func runStudy(e *env, fs *pflag.FlagSet) work {
	var s studyFlags
	s.add(fs)
	fs.Lookup("out").Usage = "write the results into the folder `DIR` (default: STUDY-ledger)"
	fs.StringVar(&s.against, "against", "", "`CONFIGURATION` that the others are set against, for baseline")
	fs.StringVar(&s.only, "only", "", "run `CONFIGURATION,STATION` alone (either may be left out), with the baseline: the folder's ledger is then of this part")
	fs.BoolVar(&s.single, "single-maps", false, "draw a map of each survey and quantity beside the sheets that compare them")
	return func(ctx context.Context) error {
		file := fs.Arg(0)
		e.out = cmp.Or(e.out, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))+"-ledger")
		data, err := os.ReadFile(file)
		if err != nil {
			return &wake.InputError{File: file, Text: "the study file cannot be read: " + wake.Reason(err), Cure: "check the name and the permissions"}
		}
		return e.study(ctx, file, data, filepath.Dir(file), s)
	}
}

// studyFlags say how a study is run.
type studyFlags struct {
	// against, if not empty, is the baseline in place of the file's, and only the part that is
	// run (Config.Only). single draws the maps of single surveys.
	against, only   string
	single, summary bool
}

// add has the flags of the demo too.
func (s *studyFlags) add(fs *pflag.FlagSet) {
	fs.BoolVar(&s.summary, "summary", false, "write summary.html too: two pages for print, without a script")
}

// study runs a study file and writes its folder. File names in the study are
// relative to dir.
func (e *env) study(ctx context.Context, file string, data []byte, dir string, s studyFlags) error {
	cfg, err := study.Parse(file, data)
	if err != nil {
		return err
	}
	if s.against != "" {
		if err := cfg.Against(s.against); err != nil {
			return err
		}
	}
	if s.only != "" {
		if err := cfg.Only(s.only); err != nil {
			return err
		}
	}
	if err := cfg.Expand(dir); err != nil {
		return err
	}
	cfg.Maps.Single = cfg.Maps.Single || s.single
	opt, outline, err := drawing(&cfg.Maps, dir)
	if in, ok := errors.AsType[*wake.InputError](err); ok && in.File == "" {
		in.File = file
	}
	if err != nil {
		return err
	}
	outcome, fields, err := e.run(ctx, cfg, dir)
	if err != nil {
		return err
	}
	outcome.Inputs = append([]study.Input{study.NewInput("study", filepath.Base(file), data)}, outcome.Inputs...)
	e.reads(file)
	if outline != nil {
		outcome.Inputs = append(outcome.Inputs, study.NewInput("silhouette", cfg.Maps.Silhouette, outline))
	}
	return e.finish(result{
		warnings: report.StudyWarnings(outcome), name: "ledger",
		text: func(w io.Writer, full bool) error {
			if full {
				return report.StudyText(w, outcome)
			}
			return report.StudySummary(w, outcome)
		},
		json:  func(w io.Writer) error { return report.StudyJSON(w, outcome) },
		files: func(o *output) error { return e.studyFiles(ctx, opt, outcome, fields, s.summary, o) },
		done: func(w io.Writer, o *output) {
			fmt.Fprintf(w, "\n%d files written into %s: open %s; %s and the .csv files beside it hold every number\n", len(o.files), e.out, filepath.Join(e.out, "report.html"), filepath.Join(e.out, "ledger.json"))
		},
	})
}

// studyFiles makes everything that a study's folder holds.
func (e *env) studyFiles(ctx context.Context, opt atlas.Options, outcome *study.Outcome, fields []study.Fields, summary bool, o *output) error {
	for _, t := range []struct {
		name  string
		write func(io.Writer, *study.Outcome) error
	}{
		{"ledger.csv", report.LedgerCSV}, {"pairs.csv", report.PairsCSV}, {"forces.csv", report.ForcesCSV}, {"paths.csv", report.PathsCSV}, {"moves.csv", report.MovesCSV},
		{"exchange.csv", report.ExchangeCSV}, {"topviews.csv", report.TopViewsCSV}, {"ledger.md", report.LedgerMarkdown},
	} {
		var b bytes.Buffer
		if err := t.write(&b, outcome); err != nil {
			return err
		}
		// A table of what this study does not have would be a header alone; that of a part takes the
		// place of the whole study's.
		if outcome.Part == nil && strings.HasSuffix(t.name, ".csv") && bytes.Count(b.Bytes(), []byte("\n")) <= 1 {
			continue
		}
		o.add(t.name, b.Bytes())
	}
	opt, err := opt.For(ctx, outcome, fields)
	if err != nil {
		return err
	}
	p := e.progress("maps", opt.Steps(len(fields)))
	pictures, err := atlas.Study(ctx, outcome, fields, opt, p.step)
	p.done()
	if err != nil {
		return err
	}
	var page []report.Picture
	for _, pic := range pictures {
		o.add("maps/"+pic.Name+".png", pic.PNG)
		if pic.Station != "" {
			page = append(page, pic.Picture)
		}
	}
	charts := report.Charts(outcome)
	drawn := make([][]byte, len(charts))
	if err := grid.Each(ctx, len(charts), func(i int) (err error) {
		drawn[i], err = atlas.Chart(charts[i], outcome.Title, opt)
		return err
	}); err != nil {
		return err
	}
	for i, c := range charts {
		o.add("charts/"+c.Name+".png", drawn[i])
	}
	viewer, err := atlas.Viewer(ctx, outcome, fields, opt)
	if err != nil {
		return err
	}
	if err := o.table("report.html", func(w io.Writer) error { return report.Page(w, outcome, page, viewer) }); err != nil || !summary {
		return err
	}
	pair, err := atlas.Pair(ctx, outcome, fields, opt)
	if err != nil {
		return err
	}
	var shown []report.Picture
	if pair != nil {
		shown = append(shown, pair.Picture)
	}
	return o.table("summary.html", func(w io.Writer) error { return report.Summary(w, outcome, shown) })
}
