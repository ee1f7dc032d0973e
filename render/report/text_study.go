package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// StudyText writes a whole study as text: the verdicts at the quoted station, any two configurations, each station,
// then the sections that the page folds, but for their details, and the notes.
func StudyText(w io.Writer, o *study.Outcome) error {
	var s sheet
	s.verdicts(o, true)
	s.tables(2, studyPairs(o))
	for _, st := range stationsInOrder(o) {
		v := newStation(o, st)
		s.section(v.Title, "-")
		if v.Missing != "" {
			s.para("No plane here: "+v.Missing, 0)
		}
		for _, x := range v.Surveys {
			s.hang(x.Name+": "+x.Verdict, 0, 4)
		}
		s.tables(2, plain(v.Tables)...)
	}
	for _, f := range folds(o) {
		if f.Words != nil {
			s.section(f.Title, "")
		}
		s.tables(6, plain(f.Tables)...)
		for _, x := range f.Words {
			s.hang(x, 2, 2)
		}
	}
	s.notes.addOutcome(o)
	s.putGroups("Notes, one of each kind; ledger.json has them all", s.notes.groups(true))
	return s.print(w)
}

// StudySummary writes what fits a terminal: the verdicts, how far the parts of the wake moved, where
// the change is, and the force by part or beside the wake.
func StudySummary(w io.Writer, o *study.Outcome) error {
	var s sheet
	s.verdicts(o, false)
	s.tables(2, forceSummary(o))
	s.notes.addOutcome(o)
	var kinds []string
	for _, g := range s.notes.groups(true) {
		kinds = append(kinds, clean(g.first.Code))
	}
	if kinds != nil {
		s.section("", "")
		s.para(fmt.Sprintf("The ledger has %s on planes and stations, of %s: %s.", wake.Plural(len(s.notes.list), "note"), wake.Plural(len(kinds), "kind"), strings.Join(kinds, ", ")), 0)
	}
	return s.print(w)
}

// verdicts prints what a reader looks for first; full has tables over all stations in place of the moves and of where
// in the wake the change is.
func (s *sheet) verdicts(o *study.Outcome, full bool) {
	s.section(titleOf(o), "=")
	s.para(leadWords(o), 0)
	if w := forceWords(o); w != "" {
		s.para(w, 0)
	}
	if m := s.notes.marks(o.Warnings); m != "" && full {
		s.para("On the study: "+m, 0)
	}
	for _, w := range o.Warnings {
		if text := w.Text; !full && slices.Contains(leftOut, w.Code) {
			if !strings.Contains(text, w.Where) {
				text = w.Where + ": " + text
			}
			s.hang(typeset(text), 0, 4)
		}
	}
	for _, f := range studyFindings(o, &s.notes) {
		if !full {
			f.Rows, f.More, f.Marks = &Table{}, nil, nil
			if w := wakeStory(o, f.Name); w != "" {
				f.More = append(f.More, finding{Text: w})
			}
		}
		s.configuration(f)
	}
	s.settling(false, comparisons(o)...)
}

// leftOut are the warnings of planes that the study does without: a summary, which has no notes, tells them.
var leftOut = []string{"missing-station", "no-station", "same-file", "repeat-copied"}

func titleOf(o *study.Outcome) string { return cmp.Or(clean(o.Title), "Wake study") }

// stationsInOrder puts the quoted station first and leaves the others as they
// are.
func stationsInOrder(o *study.Outcome) []study.StationOutcome {
	out := slices.Clone(o.Stations)
	if i := slices.IndexFunc(out, func(st study.StationOutcome) bool { return st.Name == o.Headline }); i > 0 {
		out = slices.Insert(slices.Delete(out, i, i+1), 0, o.Stations[i])
	}
	return out
}

// stationNames names the baseline and the variants of a station's comparison.
func stationNames(o *study.Outcome, st study.StationOutcome) []string {
	return cleaned(append([]string{o.Baseline}, st.Variants...))
}

func stationTitle(st study.StationOutcome) string {
	return clean(st.Name) + ", " + Place(st.Normal, st.Position)
}

// stationView is what text and page say of a station; details are the page's alone.
type stationView struct {
	Title, Missing string
	Surveys        []surveyView
	Frames         []frameView
	Profile        *Chart
	Tables         []*Table
}

// surveyView is a verdict on planes, with the names of all configurations that it is on.
type surveyView struct{ Name, Verdict string }

func newStation(o *study.Outcome, st study.StationOutcome) stationView {
	v := stationView{Title: stationTitle(st), Missing: joinNames(st.Missing), Profile: profileFigure(o, st), Tables: runTables(st)}
	c := st.Comparison
	if c != nil {
		names := stationNames(o, st)
		v.Tables = append(v.Tables, ledgerTable(c, names))
		v.Tables = append(v.Tables, changeTables(c, names)...)
	}
	for _, sv := range st.Surveys {
		r := planeRow(o, st, sv)
		name := clean(r.configuration)
		of := ", " + name
		text := verdictOf(r.result, 0)
		if i := slices.IndexFunc(v.Surveys, func(s surveyView) bool { return s.Verdict == text }); i >= 0 {
			v.Surveys[i].Name += of
		} else {
			v.Surveys = append(v.Surveys, surveyView{name, text})
		}
		if c == nil {
			v.Tables = append(v.Tables, regionTable(r.result).titled("Regions"+of, ""))
		}
		v.Tables = append(v.Tables, partTable(r.result, of), dragTable(r.result, true).titled("Drag by method"+of+", m² of drag area", "").detailed())
		if c == nil || r.result == c.Baseline {
			v.Tables = append(v.Tables, basisTable(r.result).detailed())
		}
	}
	return v
}

// fold is a section that the page folds.
type fold struct {
	ID, Title string
	Tables    []*Table
	Words     []string
}

// folds are those of a study that have something to show.
func folds(o *study.Outcome) []fold {
	all := []fold{
		{"parts", "Parts of the wake through the stations", []*Table{pathTable(o)}, nil},
		{"force-parts", "Force by part of the vehicle", forcePartTables(o), nil},
		{"force", "Wake against force", []*Table{forceTable(o)}, nil},
		{"rakes", "Rake logs", rakeTables(o), nil},
		{"method", "Method and cautions", []*Table{methodTable(o)}, cautions},
		{"inputs", "Inputs", []*Table{inputTable(o)}, nil},
	}
	for i := range all {
		all[i].Tables = shownOf(all[i].Tables)
	}
	return slices.DeleteFunc(all, func(f fold) bool { return f.Tables == nil && f.Words == nil })
}

func cleaned(names []string) []string {
	return grid.Fill(len(names), func(i int) string { return clean(names[i]) })
}

func joinNames(names []string) string { return strings.Join(cleaned(names), ", ") }

func forceTable(o *study.Outcome) *Table {
	g := NewTable("station", "configuration", ">wake", ">force", ">wake − force", ">±", "verdict")
	for _, f := range o.Forces {
		addClosure(g, []string{clean(f.Station), clean(f.Configuration)}, f.Wake, f.Force, f.Closure, fixed)
		if c := f.Delta; c != nil {
			addClosure(g, []string{"", "  change from " + clean(o.Baseline)}, c.Wake, c.Force, c.Closure, signed)
		}
	}
	return g.titled("Wake against force, m² of drag area", "")
}

func addClosure(g *Table, first []string, wake, force float64, c compare.Closure, write func(float64, int) string) {
	d := decimalsFor(c.Expanded, areaDecimals)
	g.Add(slices.Concat(first, []string{write(wake, d), write(force, d)}, areaCells(c.Difference, c.Expanded, uncertainty.Judgement{Verdict: c.Verdict}))...)
}

func inputTable(o *study.Outcome) *Table {
	g := NewTable("role", "configuration", "file", ">bytes", "SHA-256")
	for _, in := range o.Inputs {
		g.Add(clean(in.Role), clean(in.Configuration), clean(in.File), thousands(int(in.Bytes)), clean(in.SHA256))
	}
	return g.titled("Inputs", "")
}

// cautions say what a wake survey is not.
var cautions = []string{
	"A wake survey supports a decision; it does not certify one.",
	"Coefficients from a simplified model, a coarse grid or a single tunnel are not values for the road.",
	"A difference within its stated uncertainty shows neither a change nor its absence.",
	"Changes to a vehicle's body, wheels or cooling have to respect the vehicle-construction rules of the place and be signed off by the engineer responsible.",
	"Work in a tunnel follows the safety rules of that facility.",
}
