package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/render"
	"wakeledger/render/atlas"
	"wakeledger/render/report"
	"wakeledger/wake"
	"wakeledger/wake/survey/rake"
)

func runRake(ctx context.Context, e *env, args []string) error {
	fs := e.flags()
	layout := fs.String("layout", "", "the layout `FILE` (TOML): columns, tubes and their places, corrections")
	draft := fs.Bool("draft-layout", false, "print a layout drafted from the log's header, to be filled in")
	join := fs.Bool("join", false, "the logs are parts of one plane: join them; positions in more than one log are averaged")
	without := fs.StringSlice("without", nil, "`LIST` of corrections to leave out: zero, drift, tubes, fill, rows, repeats, static, displacement, wall")
	if err := e.parse(fs, args, "wakeledger rake bare_rake.csv --layout rake.toml --out rake"); err != nil {
		return err
	}
	if err := e.needFiles(fs.Args(), 1); err != nil {
		return err
	}
	if *draft {
		if *layout != "" || e.json || fs.NArg() != 1 {
			return &usageError{"--draft-layout takes one log, and neither --layout nor --json", "as in wakeledger rake --draft-layout log.csv > rake.toml"}
		}
		return e.draftLayout(fs.Arg(0))
	}
	if *layout == "" {
		return &usageError{"--layout is missing: it says which column is which tube and where the tubes are", "begin with wakeledger rake --draft-layout log.csv > rake.toml"}
	}
	opt := rake.Options{Worth: true}
	for _, name := range *without {
		c, err := rake.ParseCorrection(strings.TrimSpace(name))
		if err != nil {
			return err
		}
		opt.Without = append(opt.Without, c)
	}
	groups := [][]string{fs.Args()}
	if !*join {
		groups = slices.Collect(slices.Chunk(fs.Args(), 1))
	}
	results, warnings, err := e.reduceLogs(ctx, groups, *layout, opt)
	if err != nil {
		return err
	}
	return e.finish(rakeResult("rake", results, warnings, report.Rakes(results).Text))
}

// reduceLogs reduces each group of logs to a result.
func (e *env) reduceLogs(ctx context.Context, groups [][]string, layout string, opt rake.Options) ([]*rake.Result, []wake.Warning, error) {
	e.reads(layout)
	var results []*rake.Result
	warnings := []wake.Warning{}
	progress := e.progress("correcting", len(groups))
	defer progress.done()
	for _, logs := range groups {
		r, err := rake.Read(ctx, logs, layout, opt)
		if err != nil {
			return nil, nil, err
		}
		e.clock.lap("correct")
		results = append(results, r)
		warnings = append(warnings, r.Warnings...)
		progress.step()
	}
	return results, warnings, nil
}

// checkLogs says of each log which tubes are doubtful and why, and draws the tubes
// against their neighbours and where the samples are.
func (e *env) checkLogs(ctx context.Context, names []string, layout string) error {
	results, warnings, err := e.reduceLogs(ctx, slices.Collect(slices.Chunk(names, 1)), layout, rake.Options{})
	if err != nil {
		return err
	}
	return e.finish(rakeResult("check", results, warnings, report.Rakes(results).CheckText))
}

func rakeResult(name string, results []*rake.Result, warnings []wake.Warning, text func(io.Writer) error) result {
	return result{
		warnings: warnings, name: name,
		text: func(w io.Writer, _ bool) error { return text(w) },
		json: document(struct {
			Schema   string         `json:"schema"`
			Warnings []wake.Warning `json:"warnings"`
			Rakes    []*rake.Result `json:"rakes"`
		}{"wakeledger.rake/1", warnings, results}),
		files: func(o *output) error { return rakeFiles(o, results, name == "rake") },
	}
}

// rakeFiles adds the pictures of each result, and the plane file where it is asked for.
func rakeFiles(o *output, results []*rake.Result, plane bool) error {
	var list []named
	for _, r := range results {
		logs := r.Logs
		if len(logs) == 0 {
			logs = []string{r.Log}
		}
		list = append(list, named{files: logs})
	}
	names := shortNames(list)
	for k, base := range atlas.FileWords(names) {
		if plane {
			if err := o.table(base+"_plane.csv", results[k].WriteCSV); err != nil {
				return err
			}
		}
		if err := rakePictures(o, base, names[k], results[k]); err != nil {
			return err
		}
	}
	return nil
}

// draftLayout prints the draft, or writes it into the folder of --out.
func (e *env) draftLayout(name string) error {
	log, err := rake.ReadLog(name)
	if err != nil {
		return err
	}
	text := rake.Draft(log)
	if e.out == "" {
		_, err = e.stdout.Write(text)
		return err
	}
	o := newOutput()
	o.add("rake.toml", text)
	if err := o.write(e.out, e.read); err != nil {
		return err
	}
	fmt.Fprintf(e.text(), "%s written; fill in its question marks\n", filepath.Join(e.out, "rake.toml"))
	return nil
}

// rakePictures adds the strip chart of the tubes and the map of the positions; base begins their
// files' names, and name is in their titles.
func rakePictures(o *output, base, name string, r *rake.Result) error {
	add := func(end, title string, img *image.RGBA) error {
		var b bytes.Buffer
		if err := render.EncodePNG(&b, img, []render.Text{{Key: "Title", Value: title}, {Key: "Source", Value: name}}, 0); err != nil {
			return err
		}
		o.add(base+end, b.Bytes())
		return nil
	}
	title := r.Title
	if title == "" {
		title = "Rake survey"
	}
	strips, off := r.Strips()
	if len(strips) > 0 && len(off) > 1 {
		c := render.StripChart{
			Title: title + ": tubes as read", Subtitle: name + ", zeros subtracted, each row over its own dynamic pressure",
			Footer: "A tube that does not follow its neighbours is judged by three tests: response to the wind, spread and lag, distance from the median of its neighbours.",
			X:      "row of the log", Y: "(pressure − p_ref)/q", Shaded: off, ShadedName: "wind off",
			Value: "tube", Around: "median of up to four neighbours",
		}
		for _, s := range strips {
			t := render.Strip{Name: s.Name, Values: s.Values, Around: s.Around, Marked: s.State != "good"}
			if t.Marked {
				t.Note = s.State
			}
			c.Strips = append(c.Strips, t)
		}
		img, err := render.DrawStrips(c, 1200)
		if err != nil {
			return err
		}
		if err := add("_tubes.png", c.Title, img); err != nil {
			return err
		}
	}
	m := render.Map{
		Title: title + ": positions", Subtitle: name, View: render.PlaneView("x"),
		Panel: render.Panel{Kinds: []string{"measured once", "measured more than once", "reversed or across the tube", "filled from neighbours"}},
		Footer: fmt.Sprintf("%d positions of the rake, %d of them repeated; %d samples kept, %d readings missing or left out",
			r.Rows.Places, r.Rows.Repeated, r.Counts.Kept, r.Counts.Missing+r.Counts.Outside),
	}
	lines := r.Kind == "line" && len(r.Lines) > 1
	if lines {
		// Several lines lie one behind the other: they are looked at from above.
		m.View = render.PlaneView("z")
	}
	for _, s := range r.Samples {
		p := render.Spot{At: grid.Point{X: s.Y, Y: s.Z}}
		if lines {
			p.At = grid.Point{X: s.X, Y: s.Y}
		}
		switch {
		case s.State == "filled":
			p.Kind = 3
		case s.State == "reversed":
			p.Kind = 2
		case s.Readings > 1:
			p.Kind = 1
		}
		m.Spots = append(m.Spots, p)
	}
	img, err := render.Draw(m, image.Pt(1200, 900))
	if err != nil {
		return err
	}
	return add("_positions.png", m.Title, img)
}
