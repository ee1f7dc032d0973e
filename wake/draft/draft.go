package draft

import (
	"bytes"
	"cmp"
	"context"
	_ "embed" // the study file
	"fmt"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/template"
	"unicode"

	"wakeledger/wake"
)

// Draft is what was understood of a folder, and the study file of it.
type Draft struct {
	Title          string           `json:"title"`
	Stations       []Station        `json:"stations"`
	Configurations []*Configuration `json:"configurations"` // the baseline first
	// Inlet is the undisturbed plane that the reference of all comes from.
	Inlet string `json:"inlet,omitempty"`
	// Left are the words that a run needs and no file tells.
	Left []string `json:"left_to_fill_in"`
	// Warnings are guesses about a configuration, and files that the study does not use.
	Warnings []wake.Warning `json:"warnings"`
	// Text is the study file.
	Text string `json:"study_file"`

	opt     Options
	exports []*export
	runs    []*run
	inlets  map[string]string // of further runs, by survey
}

// Station is a place where planes lie; Files, where it is not empty, tells its files from those of
// another window there.
type Station struct {
	Name string `json:"name"`
	place
	Files string `json:"files,omitempty"`

	exports []*export
	words   []string
	used    bool
}

// Configuration is a state of the vehicle by the names of its files.
type Configuration struct {
	Name    string   `json:"name"`
	Surveys []string `json:"surveys"`
	Repeats []string `json:"repeats,omitempty"`
	// Snapshots is the pattern of a series.
	Snapshots string `json:"snapshots,omitempty"`
	// Inlet is the undisturbed plane that its reference comes from, Records are those of its force,
	// ForceRepeats those of further runs.
	Inlet        string   `json:"inlet,omitempty"`
	Records      []string `json:"force_records,omitempty"`
	ForceRepeats []string `json:"force_repeats,omitempty"`
}

func (c *Configuration) empty() bool { return len(c.Surveys) == 0 && c.Snapshots == "" }

// Codes of warnings.
const (
	guessed = "guessed"
	notUsed = "not-used"
)

func (d *Draft) warn(code, where, format string, a ...any) {
	cure := map[string]string{guessed: "correct the draft", notUsed: "see check"}[code]
	d.Warnings = append(d.Warnings, wake.Doubt(code, where, cure, format, a...))
}

// Look reads the files of a folder (Files) and drafts their study; step is called after each. The
// error is a *wake.InputError where no file is a survey, or ctx's.
func Look(ctx context.Context, dir, title string, files []string, opt Options, step func()) (*Draft, error) {
	d := &Draft{Title: printable(title), Left: []string{}, Warnings: []wake.Warning{}, opt: opt, inlets: map[string]string{}}
	var records []*export
	for _, name := range files {
		e, err := look(ctx, dir, name, &opt)
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case err != nil:
			d.warn(notUsed, name, "not used: %v", err)
		case e.record:
			records = append(records, e)
		default:
			d.exports = append(d.exports, e)
		}
		step()
	}
	d.series(files)
	d.stations()
	d.join()
	d.sort()
	d.records(dir, records)
	if d.settle(); len(d.Configurations) == 0 {
		e := &wake.InputError{File: dir, Text: "holds no survey that is understood", Cure: "see check, and name the columns with --column"}
		for _, w := range d.Warnings[:min(1, len(d.Warnings))] {
			e.Text += fmt.Sprintf("; %s: %s", w.Where, w.Text)
		}
		return nil, e
	}
	return d, d.write()
}

// base are names of what others are compared with.
var base = regexp.MustCompile(`(?i)base|bare|ref|orig|standard`)

// settle finds the baseline, the names of the stations in use and what is left to fill in.
func (d *Draft) settle() {
	for _, c := range d.Configurations {
		if c.empty() && c.Inlet != "" {
			if d.Inlet = cmp.Or(d.Inlet, c.Inlet); d.Inlet != c.Inlet {
				d.warn(notUsed, c.Inlet, "not used: another plane far upstream beside %s", d.Inlet)
			}
		}
	}
	d.Configurations = slices.DeleteFunc(d.Configurations, (*Configuration).empty)
	slices.SortStableFunc(d.Configurations, func(a, b *Configuration) int {
		return cmp.Compare(len(base.FindString(b.Name)), len(base.FindString(a.Name)))
	})
	d.Stations = slices.DeleteFunc(d.Stations, func(s Station) bool { return !s.used })
	named := map[string]int{}
	for k, s := range d.Stations {
		d.Stations[k].Name = cmp.Or(strings.Join(s.words, " "), s.where())
		named[d.Stations[k].Name]++
	}
	for k := range d.Stations {
		s := &d.Stations[k]
		s.Files = d.files(s)
		if named[s.Name] > 1 {
			s.Name = strings.TrimSpace(s.where() + " " + cmp.Or(strings.Join(s.words, " "), s.Files))
		}
	}
	pressure, speed := false, false
	for _, c := range d.Configurations {
		in := cmp.Or(c.Inlet, d.Inlet)
		pressure = pressure || in == ""
		speed = speed || !slices.ContainsFunc(d.exports, func(e *export) bool { return e.name == in && e.holds(wake.U) })
	}
	d.Left = append(d.Left, "density")
	if speed {
		d.Left = append(d.Left, "speed")
	}
	if pressure {
		d.Left = append(d.Left, "pressure")
	}
}

// file is how the study file names one of the folder. The second of joined files is named as it
// lies to the first.
func (d *Draft) file(name string) string { return strconv.Quote(path.Join(d.opt.Prefix, name)) }

// surveys lists files as the study file does, those of a further run with its own reference.
func (d *Draft) surveys(names []string) string {
	var items []string
	for _, name := range names {
		item := d.file(name)
		if in := d.inlets[name]; in != "" {
			item = "{ file = " + item + ", reference = { plane = " + d.file(in) + " } }"
		}
		items = append(items, item)
	}
	return "[" + strings.Join(items, ", ") + "]"
}

//go:embed study.tmpl
var studyText string

// write makes the study file.
func (d *Draft) write() error {
	var columns []string
	for q := range wake.NumQuantities {
		if c, ok := d.opt.Read.Columns[q]; ok {
			columns = append(columns, q.String()+" = "+strconv.Quote(c))
		}
	}
	t, err := template.New("study").Funcs(template.FuncMap{
		"q": strconv.Quote, "join": strings.Join, "file": d.file, "surveys": d.surveys,
		"warnings": func(code, where string) (out []wake.Warning) {
			for _, w := range d.Warnings {
				if w.Code == code && (where == "" || w.Where == where) {
					out = append(out, w)
				}
			}
			return out
		},
		"needs": func(key string) bool { return slices.Contains(d.Left, key) },
	}).Parse(studyText)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	err = t.Execute(&b, map[string]any{"Draft": d, "Stated": columns, "Frame": d.opt.Frame, "Support": d.opt.Support})
	d.Text = printable(b.String())
	return err
}

// printable takes control characters, which TOML refuses, out of what headers and folders' names
// bring in.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
}
