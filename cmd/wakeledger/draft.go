package main

import (
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
	fs.Lookup("out").Usage = "write " + draftFile + " into the folder `DIR`, - for standard output (default: the exports' own)"
	force := fs.Bool("force", false, "replace a "+draftFile+" that is there")
	s := addSettings(fs, func(g *settings.Flag) bool { return g.Is("read") && g.Name != "density" })
	return func(ctx context.Context) error {
		dir := fs.Arg(0)
		err := s.check(1)
		if err != nil {
			return err
		}
		opt := draft.Options{Frame: s.Reference.Frame, Support: s.Measure.Support, Read: s.Read("flag"), Plane: s.Plane("flag")}
		to := filepath.Join(e.out, draftFile)
		switch e.out {
		case "":
			e.out, to = dir, filepath.Join(dir, draftFile)
		case "-":
		default:
			if opt.Prefix, err = relative(e.out, dir); err != nil {
				return err
			}
			opt.Prefix = filepath.ToSlash(opt.Prefix)
		}
		if _, err := os.Lstat(to); err == nil && e.out != "-" && !*force {
			return fmt.Errorf("%s is there already, and nothing was read; --force replaces it, --out DIR writes another", to)
		}
		files, err := draft.Files(dir)
		if err != nil {
			return err
		}
		for _, name := range files {
			e.reads(filepath.Join(dir, filepath.FromSlash(name)))
		}
		title := dir
		if full, err := filepath.Abs(dir); err == nil {
			title = filepath.Base(full)
		}
		p := e.progress("reading", len(files))
		d, err := draft.Look(ctx, dir, title, files, opt, p.step)
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
	if e.out == "-" && !e.json {
		_, err := io.WriteString(e.stdout, d.Text)
		return err
	}
	if e.out != "-" {
		o := newOutput()
		o.add(draftFile, []byte(d.Text))
		if err := o.write(e.out, e.read); err != nil {
			return err
		}
	}
	e.out = ""
	return e.finish(result{
		text: func(w io.Writer, _ bool) error {
			for _, c := range d.Configurations {
				fmt.Fprintf(w, "%s%s%s%s%s\n", c.Name, also(": ", c.Surveys...), also("; another run ", c.Repeats...), also("; reference from ", c.Inlet), also("; force from ", c.Records...))
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

// relative is the way from the folder dir to a file.
func relative(dir, file string) (string, error) {
	d, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	f, err := filepath.Abs(file)
	if err != nil {
		return "", err
	}
	return filepath.Rel(d, f)
}
