package report

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"html/template"
	"image/png"
	"io"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Picture is a finished PNG and what it shows.
type Picture struct {
	// Station and Configuration are names of the study; Configuration is empty for
	// a sheet of several.
	Station, Configuration string
	// Quantity is what is mapped, in words.
	Quantity string
	// Alt says in words what is seen; Caption is printed below.
	Alt, Caption string
	PNG          []byte
}

var (
	//go:embed page.gohtml
	pageText string
	//go:embed page.css
	pageStyle string
	//go:embed page.js
	pageScript string

	pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{"math": mathText, "clean": Clean, "typeset": typeset, "next": func(i int) int { return i + 1 }, "verdict": verdictClass, "firm": firm, "short": short}).Parse(pageText))
)

// mathText sets C_D with a subscript and escapes everything.
func mathText(s string) template.HTML {
	return template.HTML(strings.ReplaceAll(html.EscapeString(clean(s)), "C_D", "C<sub>D</sub>"))
}

// Page writes the study as one HTML file that needs nothing else: style, script,
// samples and pictures are in it, and its content security policy lets it run that
// script and load nothing. viewer may be nil: then there is no script.
//
// Of the pictures the page takes the first sheet of a station, or where there is none
// the maps of the quantity that comes first: they show what can be seen where scripts
// do not run.
//
// A picture that is no PNG is an error, and nothing is written. Pictures and viewer are of the study's stations and configurations.
func Page(w io.Writer, o *study.Outcome, pictures []Picture, viewer *Viewer) error {
	v, err := newPage(o, pictures, viewer)
	if err != nil {
		return err
	}
	return v.write(w, "page")
}

// Summary writes two pages of that page for paper, without a script: the verdicts, where
// the changes are, the quoted drag, and a picture. Errors are those of Page.
func Summary(w io.Writer, o *study.Outcome, pictures []Picture) error {
	v, err := newPage(o, pictures, nil)
	if err != nil {
		return err
	}
	// The notes that marks point at are on the page.
	for i := range v.Findings {
		v.Findings[i].Marks = nil
	}
	return v.write(w, "summary")
}

func (v *page) write(w io.Writer, template string) error {
	var b bytes.Buffer
	if err := pageTemplate.ExecuteTemplate(&b, template, v); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// page is the view of a study: all that the template prints.
type page struct {
	Title, Lead string
	Policy      string
	Style       template.CSS
	Marks       []int
	Findings    []findings
	Story       *Chart
	// Ledger is that of the quoted station and the table of any two configurations.
	Ledger []*Table
	Viewer *Viewer
	// Scripts are the viewer's samples and the script itself.
	Scripts  template.HTML
	Figures  []*Chart
	Stations []stationView
	Folds    []fold
	Notes    []wake.Warning
}

// frameView is a picture.
type frameView struct {
	Name          string
	Source        template.HTMLAttr
	Alt, Caption  string
	Width, Height int
}

// policy lets the page use its own style, its own script if it has one, and its own pictures, and
// nothing else.
func policy(script string) string {
	return "default-src 'none'; img-src data:; style-src '" + sourceHash(pageStyle) + "'" + script + "; base-uri 'none'; form-action 'none'"
}

// sourceHash is how a policy names a text that it allows (CSP level 3, section
// 2.3.1).
func sourceHash(s string) string {
	sum := sha256.Sum256([]byte(s))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

func newPage(o *study.Outcome, pictures []Picture, viewer *Viewer) (*page, error) {
	view := newViewer(o, viewer)
	var n notes
	p := &page{
		Title: titleOf(o), Lead: strings.TrimSpace(leadWords(o) + " " + forceWords(o)), Marks: n.numbers(o.Warnings),
		Style: template.CSS(pageStyle), Viewer: view, Policy: policy(""),
		Findings: studyFindings(o, &n), Story: storyFigure(o), Folds: folds(o), Figures: newFigures(o),
	}
	if p.Story != nil {
		p.Figures = p.Figures[1:]
	}
	if view != nil {
		p.Policy = policy("; script-src '" + sourceHash(pageScript) + "'")
		var err error
		if p.Scripts, err = view.scripts(); err != nil {
			return nil, err
		}
	}
	for _, st := range stationsInOrder(o) {
		if c := st.Comparison; c != nil && p.Ledger == nil {
			t := ledgerTable(c, stationNames(o, st))
			p.Ledger = []*Table{t.titled(stationTitle(st)+strings.TrimPrefix(t.Title, "Ledger"), "")}
		}
		v := newStation(o, st)
		v.Tables = shownOf(v.Tables)
		var err error
		if v.Frames, err = framesOf(st.Name, pictures); err != nil {
			return nil, err
		}
		p.Stations = append(p.Stations, v)
	}
	p.Ledger = shownOf(append(p.Ledger, studyPairs(o)))
	n.addOutcome(o)
	p.Notes = n.list
	return p, nil
}

// firm tells a verdict that stands from one that is open.
func firm(verdict string) bool { return verdict == uncertainty.Resolved || verdict == "agree" }

// verdictClass is the class of a cell that holds a verdict, else empty.
func verdictClass(c Column, cell string) string {
	switch {
	case c.Name != "verdict":
	case firm(cell):
		return "verdict firm"
	case cell == uncertainty.NotResolved || cell == uncertainty.NotJudged || cell == "differ":
		return "verdict"
	}
	return ""
}

// shownOf leaves out tables that have nothing to show.
func shownOf(ts []*Table) (out []*Table) {
	for _, t := range ts {
		if t = t.Shown(); t != nil {
			out = append(out, t)
		}
	}
	return out
}

// framesOf are the pictures that the page takes of a station.
func framesOf(station string, pictures []Picture) (out []frameView, err error) {
	of := slices.DeleteFunc(slices.Clone(pictures), func(p Picture) bool { return p.Station != station })
	if sheet := slices.IndexFunc(of, func(p Picture) bool { return p.Configuration == "" }); sheet >= 0 {
		of = of[sheet : sheet+1]
	}
	for _, pic := range of {
		if pic.Quantity != of[0].Quantity {
			continue
		}
		size, err := png.DecodeConfig(bytes.NewReader(pic.PNG))
		if err != nil {
			return nil, fmt.Errorf("picture %q: %w", pic.Alt, err)
		}
		out = append(out, frameView{
			Name: clean(strings.TrimPrefix(pic.Configuration+", "+pic.Quantity, ", ")), Alt: clean(pic.Alt), Caption: clean(pic.Caption), Width: size.Width, Height: size.Height,
			// The letters of base64 need no escape in an attribute.
			Source: template.HTMLAttr(`src="data:image/png;base64,` + base64.StdEncoding.EncodeToString(pic.PNG) + `"`),
		})
	}
	return out, nil
}
