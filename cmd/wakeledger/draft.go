package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"wakeledger/render/report"
	"wakeledger/wake/draft"
	"wakeledger/wake/survey/settings"
)

// draftFile is what draft writes.
const draftFile = "study.toml"

func runDraft(e *env, fs *pflag.FlagSet) work {
	fs.Lookup("out").Usage = "write " + draftFile + " into the folder `DIR` (default: the exports' own)"
	force := fs.Bool("force", false, "replace a "+draftFile+" that is there")
	s := addSettings(fs, func(g *settings.Flag) bool { return g.Is("read") && g.Name != "density" })
	return func(ctx context.Context) error {
		if err := s.check(1); err != nil {
			return err
		}
		dir := fs.Arg(0)
		e.out = cmp.Or(e.out, dir)
		opt := draft.Options{Frame: s.Reference.Frame, Support: s.Measure.Support, Read: s.Read("flag"), Plane: s.Plane("flag")}
		to := filepath.Join(e.out, draftFile)
		full, errFull := filepath.Abs(dir)
		out, errOut := filepath.Abs(e.out)
		prefix, err := filepath.Rel(out, full)
		if err = cmp.Or(errFull, errOut, err); err != nil {
			return err
		}
		opt.Prefix = filepath.ToSlash(prefix)
		if _, err := os.Lstat(to); err == nil && !*force {
			return fmt.Errorf("%s is there already, and nothing was read; --force replaces it, --out DIR writes another", to)
		}
		files, err := draft.Files(dir)
		if err != nil {
			return err
		}
		for _, name := range files {
			e.reads(filepath.Join(dir, filepath.FromSlash(name)))
		}
		p := e.progress("reading", len(files))
		d, err := draft.Look(ctx, dir, filepath.Base(full), files, opt, p.step)
		p.done()
		if err != nil {
			return err
		}
		e.clock.lap("read")
		return e.drafted(d, to)
	}
}

// drafted writes the draft, and nothing else, and says what it holds.
func (e *env) drafted(d *draft.Draft, to string) error {
	if err := e.judge(d.Warnings); err != nil {
		return err
	}
	o := newOutput()
	o.add(draftFile, []byte(d.Text))
	if err := o.write(e.out, e.read); err != nil {
		return err
	}
	e.out = ""
	return e.finish(result{
		text: func(w io.Writer, _ bool) error {
			for _, c := range d.Configurations {
				fmt.Fprintf(w, "%s%s%s%s%s%s%s\n", c.Name, also(": ", c.Surveys...), also("; snapshots ", c.Snapshots), also("; another run ", c.Repeats...), also("; reference from ", c.Inlet), also("; force from ", c.Records...), also("; force of another run ", c.ForceRepeats...))
			}
			var stations []string
			for _, s := range d.Stations {
				stations = append(stations, s.Name)
			}
			fmt.Fprintf(w, "stations: %s\n", strings.Join(stations, ", "))
			for _, doubt := range d.Warnings {
				fmt.Fprintln(w, report.Clean(doubt.Where+": "+doubt.Text))
			}
			_, err := fmt.Fprintf(w, "%s written. Fill in %s, then: wakeledger study %s\n", to, strings.Join(d.Left, ", "), to)
			return err
		},
		json: document(struct {
			Schema string `json:"schema"`
			*draft.Draft
		}{"wakeledger.draft/1", d}),
	})
}

// also lists files after what they are, a few of many; nothing where there are none.
func also(what string, files ...string) string {
	if len(files) > 3 {
		files = append(slices.Clone(files[:2]), fmt.Sprintf("%d more", len(files)-2))
	}
	if s := strings.Join(files, ", "); s != "" {
		return what + s
	}
	return ""
}
