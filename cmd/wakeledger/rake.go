package main

import (
	"context"
	"io"
	"slices"

	"github.com/spf13/pflag"

	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/study"
	"wakeledger/wake/survey/rake"
)

func runRake(e *env, fs *pflag.FlagSet) work {
	layout := fs.String("layout", "", "the layout `FILE` (TOML): columns, tubes and their places, corrections")
	join := fs.Bool("join", false, "the logs are of one traverse, in their order: make one plane of them")
	draft := fs.Bool("draft-layout", false, "print a layout drafted from the log's header, to be filled in")
	return func(ctx context.Context) error {
		if *draft {
			if *layout != "" || e.json || e.out != "" || fs.NArg() != 1 {
				return &usageError{"--draft-layout takes one log, and neither --layout, --out nor --json", "as in wakeledger rake --draft-layout log.csv > rake.toml"}
			}
			log, err := rake.ReadLog(rake.File{Path: fs.Arg(0), Name: fs.Arg(0)})
			if err == nil {
				_, err = e.stdout.Write(rake.Draft(log))
			}
			return err
		}
		if *layout == "" {
			return &usageError{"--layout is missing: it says which column is which tube and where the tubes are", "begin with wakeledger rake --draft-layout log.csv > rake.toml"}
		}
		return e.rakes(ctx, fs.Args(), *layout, *join)
	}
}

// rakes reduces logs of rakes: rake says what each correction changes, and writes the planes;
// check judges the logs alone, which tubes are doubtful and why. Both draw the tubes against their
// neighbours and where the samples are.
func (e *env) rakes(ctx context.Context, logs []string, layout string, join bool) error {
	e.reads(layout)
	name, planes := e.command.name, e.command.name == "rake"
	var results report.Rakes
	warnings := []wake.Warning{}
	var files []rake.File
	for _, name := range logs {
		files = append(files, rake.File{Path: name, Name: name})
	}
	each := 1
	if join {
		each = len(files)
	}
	progress := e.progress("correcting", len(files)/each)
	for files := range slices.Chunk(files, each) {
		r, err := rake.Read(ctx, files, rake.File{Path: layout, Name: layout}, rake.Options{Worth: planes})
		if err != nil {
			progress.done()
			return err
		}
		e.clock.lap("correct")
		results = append(results, r)
		warnings = append(warnings, r.Warnings...)
		progress.step()
	}
	progress.done()
	return e.finish(result{
		warnings: warnings, name: name,
		text: func(w io.Writer, _ bool) error { return results.Text(w, planes) },
		json: document(struct {
			Schema   string         `json:"schema"`
			Warnings []wake.Warning `json:"warnings"`
			Rakes    []*rake.Result `json:"rakes"`
		}{"wakeledger.rake/1", warnings, results}),
		files: func(o *output) error { return rakeFiles(o, results, planes) },
	})
}

// rakeFiles adds the pictures of each result, and the plane file where it is asked for.
func rakeFiles(o *output, results []*rake.Result, plane bool) error {
	var list []study.Named
	for _, r := range results {
		list = append(list, study.Named{Files: r.Logs})
	}
	names := study.ShortNames(list)
	for k, base := range atlas.FileWords(names) {
		if plane {
			if err := o.table(base+"_plane.csv", results[k].WriteCSV); err != nil {
				return err
			}
		}
		for _, c := range report.RakeCharts(results[k], names[k]) {
			png, err := atlas.Chart(c, names[k], atlas.Options{})
			if err != nil {
				return err
			}
			o.add(base+"_"+c.Name+".png", png)
		}
	}
	return nil
}
