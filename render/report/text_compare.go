package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/uncertainty"
)

// CompareText writes a comparison as text: verdicts first, then the ledger,
// parts of the wake, areas, the uncertainty of each difference, the common ground of the
// planes and the notes. names holds the baseline's name and then one for each
// variant.
//
// Unless it is to be full, the change of drag of each variant in words, a table of
// regions and parts, and a line for each kind of note.
func CompareText(w io.Writer, c *compare.Comparison, names []string, full bool) error {
	var s sheet
	n := cleaned(names)
	s.section("Against "+n[0]+", plane "+Place(c.Baseline.Station.Normal, c.Baseline.Station.Position), "=")
	if w := twoRuns(c); w != "" {
		s.para(w, 0)
	}
	for i := range c.Variants {
		v := &c.Variants[i]
		f := variantFindings(n[i+1], v, &s.notes)
		if !full {
			f.More, f.Marks = nil, nil
		}
		s.configuration(f)
		s.table("Change in wake and force, m²: "+n[i+1], besideForce(v.BesideForce))
		if !full {
			s.table("Force by part, m²: "+n[i+1], forceParts(v.Force))
		}
	}
	s.settling(true, c)
	if full {
		s.tables(2, ledgerTable(c, n))
		if len(c.Variants) > 1 {
			s.table("Any two, m² of drag area", pairTable(c.Pairs, nil))
		}
		for i, v := range c.Variants {
			s.table(forcePartsTitle(n[i+1], n[0]), forceParts(v.Force))
		}
		s.tables(6, changeTables(c, n)...)
		basis := basisTable(c.Baseline)
		for i, v := range c.Variants {
			for _, m := range v.Survey.Method {
				if m.Name == "turbulence" && !slices.Contains(c.Baseline.Method, m) {
					basis.Add(m.Name+", "+n[i+1], clean(m.Value))
				}
			}
		}
		s.tables(6, basis)
	}
	s.notes.addComparison(c)
	s.putNotes(full)
	return s.print(w)
}

// besideForce is the row of a change in wake and force; empty for none.
func besideForce(c *compare.ForceDelta) *Table {
	g := NewTable(">wake", ">force", ">wake − force", ">±", "verdict")
	if c != nil {
		addClosure(g, nil, c.Wake, c.Force, c.Closure, signed)
	}
	return g
}

// configuration prints the verdicts on one.
func (s *sheet) configuration(f findings) {
	s.section(strings.TrimSpace(f.Name+" "+marks(f.Marks)), "")
	for _, x := range slices.Concat(f.Brief, f.More) {
		s.hang(x.Where+x.Text, 2, 6)
	}
	if len(f.Rows.Rows) > 0 {
		s.table("", f.Rows)
	} else if f.Brief == nil && f.More == nil {
		s.para("no difference can be stated; the notes say why", 2)
	}
}

// ledgerTable lists drag and change for the baseline and each variant, with the size of a count, and below on what
// ground the differences were taken.
func ledgerTable(c *compare.Comparison, n []string) *Table {
	title := "Ledger"
	rows := []ledgerRow{ledgerRow{configuration: n[0], result: c.Baseline}.of(nil)}
	for i, v := range c.Variants {
		rows = append(rows, ledgerRow{configuration: n[i+1], result: v.Survey, delta: v.Delta}.of(nil))
		if v.Delta != nil && v.Delta.Counts != nil && v.Delta.CountSize > 0 {
			title = "Ledger (1 count = " + short(v.Delta.CountSize) + " C_D)"
		}
	}
	return shortLedger(rows, false).titled(title, commonWords(c))
}

// settling prints what would settle the changes of comparisons that are not judged, the cheapest first, with the flag that
// takes it, or the setting of a study.
func (s *sheet) settling(flags bool, cs ...*compare.Comparison) {
	missing := map[uncertainty.Category]bool{}
	drag, stress := false, false
	for _, c := range cs {
		for _, v := range c.Variants {
			if d := v.Delta; d != nil && d.Verdict == uncertainty.NotJudged {
				drag = drag || slices.Contains(d.Missing, uncertainty.TimeAverage)
				stress = stress || slices.Contains(d.Missing, uncertainty.Sampling)
			}
			for _, r := range append(slices.Clip(v.Regions), compare.RegionDelta{Delta: v.Delta, Shift: v.Shift}) {
				for _, j := range judgements(r) {
					for _, m := range j.Missing {
						missing[m] = missing[m] || j.Verdict == uncertainty.NotJudged
					}
				}
			}
		}
	}
	var ways []string
	for _, way := range []struct {
		is                  bool
		words, flag, within string
	}{
		{stress, "the normal stress <u'u'> in all files%s", "", ""},
		{missing[uncertainty.RunToRun], "a second run of any configuration (%s; includes time averaging)", "--repeat", "repeats = […]"},
		{drag, "for the drag, a record of the force for each (%s)", "--force", "force = { record = … }"},
		{missing[uncertainty.TimeAverage], "snapshots of the flow (%s)", "through wakeledger average", "snapshots = …"},
		{missing[uncertainty.RunToRun], "%s, if you know what another run changes", "--solution-band", `solution = "0.5 %"`},
		{missing[uncertainty.Reference], "the uncertainty of the reference (%s)", "--u-speed, --u-pressure", "speed and pressure in [uncertainty]"},
		{missing[uncertainty.Sampling] && !stress, "thresholds above the scatter of the samples%s", "", ""},
	} {
		by := way.within
		if flags {
			by = way.flag
		}
		if way.is {
			ways = append(ways, fmt.Sprintf(way.words, by))
		}
	}
	if ways != nil {
		s.section("", "")
		s.para("To settle what is not judged: "+strings.Join(ways[:min(len(ways), mostWays)], "; ")+".", 0)
	}
}

// mostWays: the cheapest ways to settle are told, not all.
const mostWays = 3

// commonWords says on what grid and window the differences were taken.
func commonWords(c *compare.Comparison) string {
	a, b := planeAxes(c.Baseline.Station.Normal)
	s := fmt.Sprintf("grid: %s; window %s %s, %s %s; %s m² shared by all", clean(c.Common.Grid), a, limits(c.Common.Window.Y), b, limits(c.Common.Window.Z), fixed(c.Common.Area, 3))
	if c.Common.Resampling > 0 {
		s += "; putting the planes on it changed a drag area by up to " + fixed(c.Common.Resampling, areaDecimals+1) + " m²"
	}
	return s
}
