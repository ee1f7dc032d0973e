package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"wakeledger/wake/study"
)

// StudyText writes a whole study as text: the verdicts at the quoted station, the
// ledger of all stations, the wake beside the force, then each station, the files
// that were read, the cautions and the notes.
func StudyText(w io.Writer, o *study.Outcome) error {
	var s sheet
	s.verdicts(o, true)
	s.tables(2, studyPairs(o))
	s.paths(o)
	s.tables(2, forcePartTables(o)...)
	s.Table("Wake against force, m² of drag area", forceTable(o))
	for _, st := range stationsInOrder(o) {
		s.station(o, st)
	}
	for _, k := range o.Rakes {
		s.Section(Head, "Rake "+clean(k.Survey)+", "+clean(k.Configuration)+", by "+clean(k.Result.Layout))
		s.rake(rakeTable(k.Result))
	}
	s.Section(Head, "Read")
	for _, in := range o.Inputs {
		s.Hang(inputWords(in), 2, 6)
	}
	s.Section(Head, "Cautions")
	for _, c := range cautions {
		s.Hang(c, 2, 2)
	}
	s.putNotes("Notes, one of each kind; ledger.json has them all", s.notes.byCode())
	return s.Text(w)
}

// StudySummary writes what fits a terminal: the verdicts, how far the parts of the wake moved, where
// the change is, and the force by part or beside the wake.
func StudySummary(w io.Writer, o *study.Outcome) error {
	var s sheet
	s.verdicts(o, false)
	title := "Wake against force, m² of drag area"
	if len(o.ByPart) > 0 {
		title = "Force by part, m² of drag area: " + clean(o.Baseline) + ", and the changes"
	}
	t, foot := forceSummary(o)
	s.Table(title, t)
	if foot != "" {
		s.Para(foot, 2)
	}
	s.notes.addOutcome(o)
	var kinds []string
	for _, g := range s.notes.byCode() {
		kinds = append(kinds, clean(g.first.Code))
	}
	if kinds != nil {
		s.Section(Head, "")
		s.Para(fmt.Sprintf("The ledger has %d notes on planes and stations, of %d kinds: %s.", len(s.notes.list), len(kinds), strings.Join(kinds, ", ")), 0)
	}
	return s.Text(w)
}

// verdicts prints what a reader looks for first.
func (s *sheet) verdicts(o *study.Outcome, stations bool) {
	s.Section(DoubleRule, titleOf(o))
	s.Para(leadWords(o), 0)
	if w := forceWords(o); w != "" {
		s.Para(w, 0)
	}
	if marks := s.notes.marks(o.Warnings); marks != "" {
		s.Para("On the study: "+marks, 0)
	}
	for _, w := range o.Warnings {
		if w.Code == "missing-station" && !stations {
			s.Para(clean(w.Text), 0)
		}
	}
	for _, f := range studyFindings(o) {
		if !stations {
			f.rows, f.list = nil, slices.Clip(f.list[:min(len(f.list), f.brief)])
			for _, m := range briefMoveWords(o, f.name) {
				f.list = append(f.list, finding{m.Where, m.Verdict, m.Text + ": " + m.Verdict})
			}
			if w := wakeStory(o, f.name); w != "" {
				f.list = append(f.list, finding{Text: w})
			}
		}
		s.configuration(f)
	}
	s.settling(fileWays, comparisons(o)...)
}

func titleOf(o *study.Outcome) string {
	if o.Title == "" {
		return "Wake study"
	}
	return clean(o.Title)
}

func headlineWords(o *study.Outcome) string {
	if o.Headline == "" {
		return "No station has a total drag; regions and shifts are given."
	}
	return "The drag is quoted at the station “" + clean(o.Headline) + "”."
}

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
	return comparisonNames(st.Comparison, append([]string{o.Baseline}, st.Variants...))
}

func stationTitle(st study.StationOutcome) string {
	return clean(st.Name) + ", " + Place(st.Normal, st.Position)
}

func (s *sheet) station(o *study.Outcome, st study.StationOutcome) {
	s.Section(Rule, stationTitle(st))
	if len(st.Missing) > 0 {
		s.Para("No plane here: "+joinNames(st.Missing), 0)
	}
	var said []string
	who := map[string][]string{}
	for _, sv := range st.Surveys {
		if sv.Result == nil {
			continue
		}
		text := verdictOf(sv.Result)
		s.notes.addResult(sv.Result)
		if who[text] == nil {
			said = append(said, text)
		}
		who[text] = append(who[text], sv.Configuration)
	}
	for _, text := range said {
		s.Hang(joinNames(who[text])+": "+text, 0, 4)
	}
	s.tables(2, runTables(st)...)
	if st.Comparison != nil {
		names := stationNames(o, st)
		s.Table(ledgerTitle("Ledger", st.Comparison), ledgerTable(st.Comparison, names))
		s.notes.addComparison(st.Comparison)
		s.Para(commonWords(st.Comparison), 2)
		return
	}
	for _, sv := range st.Surveys {
		if sv.Result == nil {
			continue
		}
		s.Table("Regions, "+clean(sv.Configuration), regionTable(sv.Result))
	}
}

func joinNames(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = clean(n)
	}
	return strings.Join(out, ", ")
}

func forceTable(o *study.Outcome) *Table {
	g := NewTable("station", "configuration", ">wake", ">force", ">wake − force", ">±", "verdict")
	for _, f := range o.Forces {
		d := decimalsFor(f.Expanded, areaDecimals)
		g.Add(clean(f.Station), clean(f.Configuration), fixed(f.Wake, d), fixed(f.Force, d), signed(f.Difference, d), atLeast(f.Verdict, expandedText(f.Expanded, areaDecimals)), clean(f.Verdict))
		if f.Delta != nil {
			d := decimalsFor(f.Delta.Expanded, areaDecimals)
			g.Add("", "  change from "+clean(o.Baseline), signed(f.Delta.Wake, d), signed(f.Delta.Force, d), signed(f.Delta.Difference, d), atLeast(f.Delta.Verdict, expandedText(f.Delta.Expanded, areaDecimals)), clean(f.Delta.Verdict))
		}
	}
	return g
}

func inputWords(in study.Input) string {
	s := clean(in.Role)
	if in.Configuration != "" {
		s += " of " + clean(in.Configuration)
	}
	return fmt.Sprintf("%s: %s, %s bytes, SHA-256 %s", s, clean(in.File), thousands(int(in.Bytes)), clean(in.SHA256))
}

// cautions say what a wake survey is not.
var cautions = []string{
	"A wake survey supports a decision; it does not certify one.",
	"Coefficients from a simplified model, a coarse grid or a single tunnel are not values for the road.",
	"A difference within its stated uncertainty shows neither a change nor its absence.",
	"Changes to a vehicle's body, wheels or cooling have to respect the vehicle-construction rules of the place and be signed off by the engineer responsible.",
	"Work in a tunnel follows the safety rules of that facility.",
}
