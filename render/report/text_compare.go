package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"wakeledger/wake"
	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// CompareText writes a comparison as text: verdicts first, then the ledger,
// regions, areas, the uncertainty of each difference, the common ground of the
// planes and the notes. names holds the baseline's name and then one for each
// variant; where it is short or empty the names of the files are used.
//
// Unless it is to be full, the change of drag of each variant in words, a table of
// regions and parts, and a line for each kind of note.
func CompareText(w io.Writer, c *compare.Comparison, names []string, full bool) error {
	var s sheet
	n := comparisonNames(c, names)
	title := "Against " + n[0]
	if c.Baseline != nil {
		title += ", plane " + Place(c.Baseline.Station.Normal, c.Baseline.Station.Position)
	}
	s.Section(DoubleRule, title)
	if w := twoRuns(c); w != "" {
		s.Para(w, 0)
	}
	if !full {
		for i, v := range c.Variants {
			s.briefVariant(n[i+1], v)
		}
		s.settling(flagWays, c)
		s.notes.addComparison(c)
		s.briefNotes()
		return s.Text(w)
	}
	s.findings(c, n)
	s.comparisonTables(c, n)
	if c.Baseline != nil {
		s.basis(c.Baseline)
	}
	s.notes.addComparison(c)
	s.printNotes()
	return s.Text(w)
}

// comparisonNames are names for the baseline and each variant, for which those of their files serve.
func comparisonNames(c *compare.Comparison, names []string) []string {
	results := []*measure.Result{c.Baseline}
	for _, v := range c.Variants {
		results = append(results, v.Survey)
	}
	out := make([]string, len(results))
	for i, r := range results {
		if i < len(names) {
			out[i] = clean(names[i])
		}
		if out[i] == "" && r != nil {
			out[i] = clean(r.File)
		}
	}
	return out
}

// comparisonTables prints what the findings rest on.
func (s *sheet) comparisonTables(c *compare.Comparison, n []string) {
	s.Table(ledgerTitle("Ledger", c), ledgerTable(c, n))
	if len(c.Variants) > 1 {
		s.Table("Any two, m² of drag area", pairTable(c.Pairs, nil))
	}
	for i, v := range c.Variants {
		s.Table(forcePartsTitle(n[i+1], n[0]), forceParts(v.Force))
	}
	s.tables(6, changeTables(c, n)...)
	s.tables(2, changeBudgets(c, n)...)
	s.Section(Head, "Common ground")
	s.Hang(commonWords(c), 2, 6)
}

// findings prints the sentences that a reader came for.
func (s *sheet) findings(c *compare.Comparison, n []string) {
	warnings := c.Warnings
	if c.Baseline != nil {
		warnings = concerning(c.Baseline, warnings...)
	}
	if marks := s.notes.marks(warnings); marks != "" {
		s.Para("On all of it: "+marks, 0)
	}
	for i, v := range c.Variants {
		f := configurationFindings{name: n[i+1], list: variantFindings(v)}
		if v.Survey != nil {
			f.warnings = concerning(v.Survey)
		}
		s.configuration(f)
	}
	s.settling(flagWays, c)
}

func (s *sheet) configuration(f configurationFindings) {
	line := f.name
	if m := s.notes.marks(f.warnings); m != "" {
		line += " " + m
	}
	s.Section(Head, line)
	for _, x := range f.list {
		s.Hang(x.Where+x.Text, 2, 6)
	}
	if f.rows != nil && len(f.rows.Rows) > 0 {
		s.Table("", f.rows)
	} else if len(f.list) == 0 {
		s.Para("no difference can be stated; the notes say why", 2)
	}
}

// finding is a verdict in words and what it is about.
type finding struct{ Where, Verdict, Text string }

// Firm tells a verdict that stands from one that is open.
func (f finding) Firm() bool { return firm(f.Verdict) }

// Words are those beside the verdict.
func (f finding) Words() string { return f.Where + strings.Replace(f.Text, ": "+f.Verdict, "", 1) }

// configurationFindings are the verdicts on one configuration of a study: in words
// for the whole plane at the quoted station, and a table for all stations and
// regions.
type configurationFindings struct {
	name     string
	warnings []wake.Warning
	list     []finding
	// brief is how many of the list say it in short.
	brief int
	rows  *Table
}

// studyFindings collects the verdicts by configuration, in the order of the
// study. Configurations that take part in no comparison are left out.
func studyFindings(o *study.Outcome) []configurationFindings {
	var out []configurationFindings
	for _, c := range o.Configurations {
		f := configurationFindings{name: clean(c.Name), rows: NewTable("station and region", ">Δ m²", ">± m²", "verdict", ">inboard mm", ">± mm", "verdict")}
		compared := false
		for _, st := range stationsInOrder(o) {
			v := variantOf(&st, c.Name)
			if v == nil {
				continue
			}
			compared = true
			if st.Name == o.Headline {
				f.quoted(o, c.Name, *v)
			}
			before := len(f.rows.Rows)
			f.rows.Add(clean(st.Name))
			f.addRow("  whole plane", v.Delta, v.Shift)
			for _, r := range v.Regions {
				f.addRow("  "+boxName(r.Name), r.Delta, r.Shift)
			}
			if len(f.rows.Rows) == before+1 { // a station without a number
				f.rows.Rows = f.rows.Rows[:before]
			}
		}
		if compared {
			out = append(out, f)
		}
	}
	return out
}

// quoted takes the findings at the quoted station: the table has the regions, and the parts of the
// wake are told station by station, together.
func (f *configurationFindings) quoted(o *study.Outcome, configuration string, v compare.Variant) {
	if v.Survey != nil {
		f.warnings = concerning(v.Survey)
	}
	v.Regions = nil
	if len(pathSentences(o, configuration)) > 0 {
		v.Structures = nil
	}
	f.list, f.brief = variantFindings(v), 1
	if w, better := pooledWords(o, configuration, v.Delta); w != "" {
		f.list = slices.Insert(f.list, 1, finding{Text: w})
		if better {
			f.brief = 2
		}
	}
}

// addRow lists a change and a shift; a shift without a side is not listed, since
// inboard has no sense for it.
func (f *configurationFindings) addRow(region string, d *compare.Delta, s *compare.Shift) {
	if d == nil && (s == nil || s.Inboard == nil) {
		return
	}
	f.rows.Add(slices.Concat([]string{region}, changed(d), shifted(s))...)
}

// variantFindings collects the verdicts of a variant: the whole plane first, then
// what became of the parts of the wake, then its regions in order.
func variantFindings(v compare.Variant) []finding {
	var out []finding
	add := func(where string, d *compare.Delta, s *compare.Shift) {
		if d != nil {
			out = append(out, finding{where, clean(d.Verdict), clean(d.Text)})
		}
		if s != nil {
			out = append(out, finding{where, clean(s.Verdict), clean(s.Text)})
		}
	}
	add("", v.Delta, v.Shift)
	out = append(out, structureFindings(v.Structures)...)
	for _, r := range v.Regions {
		where := boxName(r.Name) + ": "
		add(where, r.Delta, r.Shift)
		if r.Shift != nil && r.Shift.FourWays != nil {
			// Not the weight of the centroid above: the part that lies over the threshold.
			f := r.Shift.FourWays
			out = append(out, finding{"in the box, by the weight's excess over " + short(f.Threshold) + ": ", clean(f.Verdict), movedWords(f)})
		}
	}
	return out
}

// ledgerTitle heads a ledger and gives the size of its counts.
func ledgerTitle(title string, c *compare.Comparison) string {
	for _, v := range c.Variants {
		if v.Delta != nil && v.Delta.Counts != nil && v.Delta.CountSize > 0 {
			return title + " (1 count = " + short(v.Delta.CountSize) + " C_D)"
		}
	}
	return title
}

// ledgerTable lists drag and change for the baseline and each variant.
func ledgerTable(c *compare.Comparison, n []string) *Table {
	rows := []ledgerRow{{configuration: n[0], result: c.Baseline}}
	for i, v := range c.Variants {
		rows = append(rows, ledgerRow{configuration: n[i+1], result: v.Survey, delta: v.Delta})
	}
	return shortLedger(rows, false)
}

// atLeast marks the ± of what is not judged: a category is missing from its budget.
func atLeast(verdict, s string) string {
	if verdict == uncertainty.NotJudged && s != "" {
		return "≥ " + s
	}
	return s
}

// changed has the cells of a change of drag: area, expanded uncertainty, verdict.
func changed(d *compare.Delta) []string {
	if d == nil {
		return make([]string, 3)
	}
	return []string{signed(d.DragArea, digits(1, d.Expanded, d.Judgement, areaDecimals)), atLeast(d.Verdict, expandedText(d.Expanded, areaDecimals)), clean(d.Verdict)}
}

// moved has those of a move toward the centre plane: mm, with the span of its measures where they
// do not agree, expanded uncertainty, verdict.
func moved(x, expanded float64, j uncertainty.Judgement, span ...float64) []string {
	cell := signed(1000*x, digits(1000, expanded, j, 1))
	if span != nil {
		cell += " (" + spanWords(1, span) + ")"
	}
	return []string{cell, atLeast(j.Verdict, expandedText(1000*expanded, 1)), clean(j.Verdict)}
}

// spanWords are the least and the largest of moves, mm, along a way (1) or against it (−1).
func spanWords(way float64, span []float64) string {
	lo, hi := slices.Min(span), slices.Max(span)
	if way < 0 {
		lo, hi = -hi, -lo
	}
	return fixed(1000*lo, 0) + " to " + fixed(1000*hi, 0)
}

// shifted has the cells of a box's move; the one over the samples that both have is the other measure.
func shifted(s *compare.Shift) []string {
	if s == nil || s.Inboard == nil {
		return make([]string, 3)
	}
	if s.CommonInboard != nil && 2*math.Abs(*s.CommonInboard-*s.Inboard) > s.Expanded {
		return moved(*s.Inboard, s.Expanded, s.Judgement, *s.Inboard, *s.CommonInboard)
	}
	return moved(*s.Inboard, s.Expanded, s.Judgement)
}

// regionDeltaTable lists changes by region.
func regionDeltaTable(rs []compare.RegionDelta) *Table {
	g := NewTable("region", "side", ">Δ m²", ">± m²", "verdict", ">inboard mm", ">± mm", "verdict")
	for _, r := range rs {
		g.Add(slices.Concat([]string{boxName(r.Name), clean(r.Side)}, changed(r.Delta), shifted(r.Shift))...)
	}
	return g
}

func areaDeltaTable(as []compare.AreaDelta) *Table {
	g := NewTable(">threshold", ">Δ m²", ">± m²", "verdict")
	for _, a := range as {
		g.Add(short(a.Threshold), signed(a.Delta, digits(1, a.Expanded, a.Judgement, areaDecimals)), atLeast(a.Verdict, expandedText(a.Expanded, areaDecimals)), clean(a.Verdict))
	}
	return g
}

// settlingWays are what settles a change that is not judged, the cheapest first, with the
// flag or the setting that takes it.
type settlingWays struct{ repeat, force, snapshots, solution, reference string }

var (
	flagWays = settlingWays{"--repeat", "--force", "through wakeledger average", "--solution-band", "--u-speed, --u-pressure"}
	fileWays = settlingWays{"repeats = […]", "force = { record = … }", "as snapshots = …", `solution = "0.5 %"`, "speed and pressure in [uncertainty]"}
)

// settling prints what would settle the changes of comparisons that are not judged.
func (s *sheet) settling(by settlingWays, cs ...*compare.Comparison) {
	missing := map[uncertainty.Category]bool{}
	drag := false
	for _, c := range cs {
		if c == nil {
			continue
		}
		for _, v := range c.Variants {
			drag = drag || v.Delta != nil && slices.Contains(v.Delta.Missing, uncertainty.TimeAverage)
			for _, j := range judgements(v) {
				if j.Verdict == uncertainty.NotJudged {
					for _, m := range j.Missing {
						missing[m] = true
					}
				}
			}
		}
	}
	var ways []string
	for _, way := range []struct {
		is   bool
		text string
	}{
		{missing[uncertainty.RunToRun], "a second run of any configuration (" + by.repeat + "; includes time averaging)"},
		{drag, "for the drag, a record of the force for each (" + by.force + ")"},
		{missing[uncertainty.TimeAverage], "snapshots " + by.snapshots},
		{missing[uncertainty.RunToRun], by.solution + ", if you know what another run changes"},
		{missing[uncertainty.Reference], "the uncertainty of the reference (" + by.reference + ")"},
		{missing[uncertainty.Sampling], "thresholds above the scatter of the samples"},
	} {
		if way.is {
			ways = append(ways, way.text)
		}
	}
	if ways != nil {
		s.Section(Head, "")
		s.Para("To settle what is not judged: "+strings.Join(ways[:min(len(ways), mostWays)], "; ")+".", 0)
	}
}

// mostWays: the cheapest ways to settle are told, not all.
const mostWays = 3

// judgements are those on the numbers of a variant.
func judgements(v compare.Variant) []uncertainty.Judgement {
	var out []uncertainty.Judgement
	for _, r := range append(slices.Clip(v.Regions), compare.RegionDelta{Delta: v.Delta, Shift: v.Shift, Areas: v.Areas}) {
		if r.Delta != nil {
			out = append(out, r.Delta.Judgement)
		}
		if r.Shift != nil {
			out = append(out, r.Shift.Judgement)
		}
		for _, a := range r.Areas {
			out = append(out, a.Judgement)
		}
	}
	if v.Structures != nil {
		for _, s := range v.Structures.Shifts {
			out = append(out, s.Judgement)
		}
	}
	return out
}

// commonWords says on what grid and window the differences were taken.
func commonWords(c *compare.Comparison) string {
	a, b := "y", "z"
	if c.Baseline != nil {
		a, b = planeAxes(c.Baseline.Station.Normal)
	}
	s := fmt.Sprintf("grid: %s; window %s %s, %s %s; %s m² shared by all", clean(c.Common.Grid), a, limits(c.Common.Window.Y), b, limits(c.Common.Window.Z), fixed(c.Common.Area, 3))
	if c.Common.Resampling > 0 {
		s += "; putting the planes on it changed a drag area by up to " + fixed(c.Common.Resampling, areaDecimals+1) + " m²"
	}
	return s
}
