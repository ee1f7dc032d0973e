package report

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"html/template"
	"image/png"
	"io"
	"maps"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// Picture is a finished PNG and what it shows.
type Picture struct {
	// Station and Configuration are names of the study; Configuration is empty for
	// a picture of several.
	Station, Configuration string
	// Quantity is what is mapped, in words.
	Quantity string
	// Kind is Map, or Sheet for a picture that compares configurations.
	Kind PictureKind
	// Alt says in words what is seen; Caption is printed below.
	Alt, Caption string
	// Order sorts the quantities of a station, low first.
	Order int
	PNG   []byte
}

// PictureKind says how a picture is shown.
type PictureKind uint8

// The kinds of picture.
const (
	Map PictureKind = iota
	Sheet
)

var (
	//go:embed page.gohtml
	pageText string
	//go:embed page.css
	pageStyle string
	//go:embed page.js
	pageScript string

	pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{"math": mathText, "clean": Clean, "next": func(i int) int { return i + 1 }, "verdict": verdictClass}).Parse(pageText))
)

// mathText sets C_D with a subscript and escapes everything.
func mathText(s string) template.HTML {
	return template.HTML(strings.ReplaceAll(html.EscapeString(clean(s)), "C_D", "C<sub>D</sub>"))
}

// Page writes the study as one HTML file that needs nothing else: style, script,
// samples and pictures are in it, and its content security policy lets it run that
// script and load nothing. viewer may be nil: then there is no script.
//
// Of the pictures, which are keyed by their file names, the page takes one sheet a
// station, of the quantity that comes first, or where there is none the maps of
// that quantity: they show what can be seen where scripts do not run.
//
// A picture that is no PNG, or of a station or configuration that the study does
// not have, a viewer that does not fit the study, and a number that is not finite,
// are errors, and nothing is written.
func Page(w io.Writer, o *study.Outcome, pictures map[string]Picture, viewer *Viewer) error {
	v, err := newPage(o, pictures, viewer)
	if err != nil {
		return err
	}
	return v.write(w, "page")
}

// Summary writes two pages of that page for paper, without a script: the verdicts, where
// the changes are, the quoted drag, and a picture. Errors are those of Page.
func Summary(w io.Writer, o *study.Outcome, picture *Picture) error {
	pictures := map[string]Picture{}
	if picture != nil {
		pictures["picture"] = *picture
	}
	v, err := newPage(o, pictures, nil)
	if err != nil {
		return err
	}
	// The notes that marks point at are on the page.
	for i := range v.Findings {
		v.Findings[i].Marks = nil
	}
	for i := range v.Ledgers {
		v.Ledgers[i].Marks, v.Ledgers[i].ID = nil, ""
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
	Findings    []findingView
	Story       []*Chart
	Ledgers     []ledgerView
	Pairs       []*Table
	Viewer      *viewerView
	// Scripts are the viewer's samples and the script itself.
	Scripts template.HTML
	Figures []*Chart
	// What became of the parts of the wake: sentences, tables, and where they end.
	PartLines  []finding
	PartTables []*Table
	PartEnds   []string
	ForceParts []*Table
	Forces     *Table
	Stations   []stationView
	Rakes      []*Table
	Notes      []wake.Warning
	Methods    []methodView
	Inputs     *Table
	Cautions   []string
}

type findingView struct {
	Name, Size string
	Marks      []int
	Sentence   finding
	// Moves say what became of the foremost station's parts of the wake, and More how
	// many sentences the section on the parts has.
	Moves []finding
	More  int
	Lines []finding
	Table *Table
}

// ledgerView is the drag table of a station.
type ledgerView struct {
	ID, Count string
	Quoted    bool
	Marks     []int
	*Table
}

// optionView is one thing that the reader can choose.
type optionView struct {
	ID, Text string
	Checked  bool
}

type stationView struct {
	ID, Title string
	Missing   string
	Surveys   []surveyView
	Frames    []frameView
	Profile   *Chart
	Lines     []finding
	Tables    []*Table
	Basis     []itemView
}

type surveyView struct {
	Name, Verdict string
	Marks         []int
}

// frameView is a picture.
type frameView struct {
	Name          string
	Source        template.HTMLAttr
	Alt, Caption  string
	Width, Height int
}

type itemView struct{ Name, Text string }

type methodView struct{ Name, Text, Source string }

// policy lets the page use its own style, its own script and its own pictures, and
// nothing else.
func policy(style, script string) string {
	p := "default-src 'none'; img-src data:; style-src '" + sourceHash(style) + "'"
	if script != "" {
		p += "; script-src '" + sourceHash(script) + "'"
	}
	return p + "; base-uri 'none'; form-action 'none'"
}

// sourceHash is how a policy names a text that it allows (CSP level 3, section
// 2.3.1).
func sourceHash(s string) string {
	sum := sha256.Sum256([]byte(s))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

func newPage(o *study.Outcome, pictures map[string]Picture, viewer *Viewer) (*page, error) {
	if err := finite(o); err != nil {
		return nil, err
	}
	frames, err := placePictures(o, pictures)
	if err != nil {
		return nil, err
	}
	view, err := newViewer(o, viewer)
	if err != nil {
		return nil, err
	}
	p := &page{
		Title: titleOf(o), Lead: strings.TrimSpace(leadWords(o) + " " + forceWords(o)), Cautions: cautions,
		Style: template.CSS(pageStyle), Viewer: view, Policy: policy(pageStyle, ""),
		Story:      storyFigure(o),
		PartTables: shownOf(append([]*Table{pathTable(o).titled(pathTitle, "")}, pathMoveTables(o)...)), PartEnds: pathEnds(o),
		ForceParts: shownOf(forcePartTables(o)), Rakes: shownOf(rakeTables(o)), Forces: forceTable(o).shown(), Pairs: shownOf([]*Table{studyPairs(o)}),
		Methods: methodsUsed(o), Inputs: inputTable(o).shown(),
	}
	p.Figures = newFigures(o)[len(p.Story):]
	if view != nil {
		p.Policy = policy(pageStyle, pageScript)
		p.Scripts = template.HTML("<script type=\"application/json\" id=\"viewer-data\">" + string(view.Data) + "</script>\n" + view.Rasters + "<script>" + pageScript + "</script>")
	}
	for _, c := range o.Configurations {
		p.PartLines = append(p.PartLines, pathSentences(o, c.Name)...)
	}
	var n notes
	p.Marks = n.numbers(o.Warnings)
	for _, f := range studyFindings(o) {
		v := findingView{Name: f.name, Marks: n.numbers(f.warnings), Lines: f.list, Table: f.rows.shown(), More: len(pathSentences(o, f.name)), Moves: briefMoveWords(o, f.name)}
		v.Sentence, v.Size = verdictSentence(o, f.name)
		if f.brief > 1 {
			v.Sentence.Text += " P" + strings.TrimPrefix(f.list[1].Text, "p") + "."
		}
		p.Findings = append(p.Findings, v)
	}
	for i, st := range stationsInOrder(o) {
		id := fmt.Sprintf("station-%d", i+1)
		if c := st.Comparison; c != nil {
			ws := slices.Clone(c.Warnings)
			if c.Baseline != nil {
				ws = concerning(c.Baseline, ws...)
			}
			l := ledgerView{id, ledgerTitle("", c), st.Name == o.Headline, n.numbers(ws), changeFirst(ledgerTable(c, stationNames(o, st)).titled(stationTitle(st), "")).shown()}
			if l.Table != nil {
				p.Ledgers = append(p.Ledgers, l)
			}
		}
		v := newStation(o, st, id, &n, frames[st.Name])
		v.Profile = profileFigure(o, st)
		p.Stations = append(p.Stations, v)
	}
	p.Notes = n.list
	return p, nil
}

// changeFirst sets the change, its ± and the verdict beside the first column of a ledger, where a
// narrow screen shows them.
func changeFirst(t *Table) *Table {
	at := func(name string) int {
		return slices.IndexFunc(t.Columns, func(c Column) bool { return c.Name == name })
	}
	d, v := at("Δ m²"), at("verdict")
	if d < 1 || v < 0 {
		return t
	}
	front := []int{0, d, d + 1, v}
	out := *t
	out.Columns, out.Rows = nil, make([][]string, len(t.Rows))
	for c := range t.Columns {
		if !slices.Contains(front, c) {
			front = append(front, c)
		}
	}
	for _, c := range front {
		out.Columns = append(out.Columns, t.Columns[c])
		for i, r := range t.Rows {
			out.Rows[i] = append(out.Rows[i], r[c])
		}
	}
	return &out
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
		if t = t.shown(); t != nil {
			out = append(out, t)
		}
	}
	return out
}

func newStation(o *study.Outcome, st study.StationOutcome, id string, n *notes, frames []frameView) stationView {
	v := stationView{ID: id, Title: stationTitle(st), Missing: joinNames(st.Missing), Frames: frames}
	for _, sv := range st.Surveys {
		if sv.Result == nil {
			continue
		}
		v.Surveys = append(v.Surveys, surveyView{Name: clean(sv.Configuration), Verdict: verdictOf(sv.Result), Marks: n.numbers(sv.Result.Warnings)})
	}
	ts := runTables(st)
	c := st.Comparison
	var names []string
	if c != nil {
		n.numbers(c.Warnings)
		names = stationNames(o, st)
		ts = append(ts, changeTables(c, names)...)
		v.Basis = append(v.Basis, itemView{"common ground", commonWords(c)})
	}
	for _, r := range ledgerRows(o) {
		if r.station.Name != st.Name || r.region != nil {
			continue
		}
		n.numbers(r.result.Warnings)
		of := ", " + clean(r.configuration)
		ts = append(append(ts, partTables(r.result, of)...), dragTable(r.result).titled("Drag by method"+of+", m² of drag area", "").detailed())
		if c == nil {
			ts = append(ts, regionTable(r.result).titled("Regions"+of, ""))
		}
		if c == nil || r.result == c.Baseline {
			v.Basis = append(v.Basis, basisItems(r.result)...)
		}
	}
	if c != nil {
		for i, x := range c.Variants {
			for _, f := range variantFindings(x) {
				f.Where = strings.TrimSuffix(names[i+1]+": "+f.Where, ": ") + ": "
				v.Lines = append(v.Lines, f)
			}
		}
		ts = append(ts, changeBudgets(c, names)...)
	}
	v.Tables = shownOf(ts)
	return v
}

// placePictures checks the pictures and sorts them to their stations: of each one
// sheet, or else the maps of one quantity.
func placePictures(o *study.Outcome, pictures map[string]Picture) (map[string][]frameView, error) {
	stations, configurations := map[string]bool{}, map[string]int{"": -1}
	for _, st := range o.Stations {
		stations[st.Name] = true
	}
	for i, c := range o.Configurations {
		configurations[c.Name] = i
	}
	names := slices.Collect(maps.Keys(pictures))
	slices.SortFunc(names, func(a, b string) int {
		p, q := pictures[a], pictures[b]
		return cmp.Or(cmp.Compare(q.Kind, p.Kind), cmp.Compare(p.Order, q.Order), cmp.Compare(p.Quantity, q.Quantity),
			cmp.Compare(configurations[p.Configuration], configurations[q.Configuration]), cmp.Compare(a, b))
	})
	out := map[string][]frameView{}
	first := map[string]Picture{}
	for _, name := range names {
		pic := pictures[name]
		index, ok := configurations[pic.Configuration]
		if !ok || pic.Kind == Map && index < 0 {
			return nil, fmt.Errorf("picture %q is of configuration %q, which the study does not have", name, pic.Configuration)
		}
		if !stations[pic.Station] {
			return nil, fmt.Errorf("picture %q is of station %q, which the study does not have", name, pic.Station)
		}
		size, err := png.DecodeConfig(bytes.NewReader(pic.PNG))
		if err != nil {
			return nil, fmt.Errorf("picture %q: %w", name, err)
		}
		lead, ok := first[pic.Station]
		if !ok {
			first[pic.Station] = pic
		} else if lead.Kind == Sheet || lead.Quantity != pic.Quantity {
			continue
		}
		f := frameView{
			Name: clean(pic.Quantity), Alt: clean(pic.Alt), Caption: clean(pic.Caption), Width: size.Width, Height: size.Height,
			// The letters of base64 need no escape in an attribute.
			Source: template.HTMLAttr(`src="data:image/png;base64,` + base64.StdEncoding.EncodeToString(pic.PNG) + `"`),
		}
		if pic.Kind == Map {
			f.Name = clean(pic.Configuration) + ", " + f.Name
		}
		out[pic.Station] = append(out[pic.Station], f)
	}
	return out, nil
}

func inputTable(o *study.Outcome) *Table {
	g := NewTable("role", "configuration", "file", ">bytes", "SHA-256")
	for _, in := range o.Inputs {
		g.Add(clean(in.Role), clean(in.Configuration), clean(in.File), thousands(int(in.Bytes)), clean(in.SHA256))
	}
	return g
}
