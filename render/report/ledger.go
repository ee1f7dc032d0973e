package report

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"wakeledger/wake/compare"
	"wakeledger/wake/measure"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// ledgerRow is one line of the ledger: a station, a configuration, and the whole
// plane or one region.
type ledgerRow struct {
	station       study.StationOutcome
	configuration string
	// result is the survey that the row is about; where "common" its numbers were
	// taken in the window and on the grid that all configurations share, else in
	// its own.
	result *measure.Result
	common bool
	region *measure.Region // nil for the whole plane
	delta  *compare.Delta
	shift  *compare.Shift
}

// ledgerRows lists the ledger in the order of the study. A configuration that
// takes part in the comparison is given as compared, so that the differences are
// those of the numbers beside them.
func ledgerRows(o *study.Outcome) []ledgerRow {
	var out []ledgerRow
	for _, st := range o.Stations {
		for _, sv := range st.Surveys {
			row := ledgerRow{station: st, configuration: sv.Configuration, result: sv.Result}
			var v *compare.Variant
			if c := st.Comparison; c != nil {
				if sv.Configuration == o.Baseline && c.Baseline != nil {
					row.result, row.common = c.Baseline, true
				}
				for i, name := range st.Variants {
					if name == sv.Configuration && i < len(c.Variants) && c.Variants[i].Survey != nil {
						v = &c.Variants[i]
						row.result, row.common = v.Survey, true
					}
				}
			}
			if row.result == nil {
				continue
			}
			if v != nil {
				row.delta, row.shift = v.Delta, v.Shift
			}
			out = append(out, row)
			for i := range row.result.Regions {
				r := row
				r.region, r.delta, r.shift = &row.result.Regions[i], nil, nil
				if v != nil {
					for _, d := range v.Regions {
						if d.Name == r.region.Name {
							r.delta, r.shift = d.Delta, d.Shift
						}
					}
				}
				out = append(out, r)
			}
		}
	}
	return out
}

// column is one column of ledger.csv.
type column struct {
	head string
	text bool
	of   func(ledgerRow) string
}

func number(x float64) string {
	if x == 0 {
		x = 0 // no minus on a zero
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

func maybe(x *float64) string {
	if x == nil {
		return ""
	}
	return number(*x)
}

// drag returns the drag area, coefficient and budget of the row's plane or
// region; ok is false where it has none.
func (r ledgerRow) drag() (area float64, cd *float64, u *uncertainty.Budget, ok bool) {
	if r.region != nil {
		if r.region.DragArea == nil {
			return 0, nil, nil, false
		}
		return *r.region.DragArea, r.region.Cd, r.region.Uncertainty.DragArea, true
	}
	area, cd, ok = headline(r.result)
	return area, cd, r.result.Uncertainty.DragArea, ok
}

func (r ledgerRow) method() string {
	if r.result.Drag == nil {
		return ""
	}
	return r.result.Drag.Headline
}

func (r ledgerRow) window() measure.Window {
	if r.region != nil {
		return r.region.Box
	}
	return r.result.Window
}

func (r ledgerRow) centroid() *[2]float64 {
	if r.region != nil {
		return r.region.Centroid
	}
	if r.result.Wake == nil {
		return nil
	}
	return r.result.Wake.Centroid
}

func (r ledgerRow) regionName() string {
	if r.region == nil {
		return "total"
	}
	return r.region.Name
}

func ofBudget(f func(*uncertainty.Budget) string) func(ledgerRow) string {
	return func(r ledgerRow) string {
		if _, _, u, ok := r.drag(); ok && u != nil {
			return f(u)
		}
		return ""
	}
}

func ofDelta(f func(*compare.Delta) string) func(ledgerRow) string {
	return func(r ledgerRow) string {
		if r.delta == nil {
			return ""
		}
		return f(r.delta)
	}
}

func ofShift(f func(*compare.Shift) string) func(ledgerRow) string {
	return func(r ledgerRow) string {
		if r.shift == nil {
			return ""
		}
		return f(r.shift)
	}
}

var ledgerColumns = []column{
	{"station", true, func(r ledgerRow) string { return r.station.Name }},
	{"normal", true, func(r ledgerRow) string { return r.result.Station.Normal }},
	{"position [m]", false, func(r ledgerRow) string { return number(r.result.Station.Position) }},
	{"configuration", true, func(r ledgerRow) string { return r.configuration }},
	{"region", true, ledgerRow.regionName},
	{"side", true, func(r ledgerRow) string {
		if r.region == nil {
			return ""
		}
		return r.region.Side
	}},
	{"file", true, func(r ledgerRow) string { return r.result.File }},
	{"ground", true, func(r ledgerRow) string {
		if r.common {
			return "common"
		}
		return "own"
	}},
	{"method", true, ledgerRow.method},
	{"drag area [m2]", false, func(r ledgerRow) string {
		if a, _, _, ok := r.drag(); ok {
			return number(a)
		}
		return ""
	}},
	{"standard uncertainty [m2]", false, ofBudget(func(u *uncertainty.Budget) string { return number(u.Standard) })},
	{"expanded uncertainty [m2]", false, ofBudget(func(u *uncertainty.Budget) string { return number(u.Expanded) })},
	{"drag coefficient [1]", false, func(r ledgerRow) string { _, cd, _, _ := r.drag(); return maybe(cd) }},
	{"change of drag area [m2]", false, ofDelta(func(d *compare.Delta) string { return number(d.DragArea) })},
	{"change standard uncertainty [m2]", false, ofDelta(func(d *compare.Delta) string { return number(d.Standard) })},
	{"change expanded uncertainty [m2]", false, ofDelta(func(d *compare.Delta) string { return number(d.Expanded) })},
	{"change coverage factor [1]", false, ofDelta(func(d *compare.Delta) string { return number(d.Coverage) })},
	{"change lower limit [m2]", false, ofDelta(func(d *compare.Delta) string { return number(d.Interval[0]) })},
	{"change upper limit [m2]", false, ofDelta(func(d *compare.Delta) string { return number(d.Interval[1]) })},
	{"change [%]", false, ofDelta(func(d *compare.Delta) string { return maybe(d.Percent) })},
	{"change of drag coefficient [1]", false, ofDelta(func(d *compare.Delta) string { return maybe(d.Cd) })},
	{"change [counts]", false, ofDelta(func(d *compare.Delta) string { return maybe(d.Counts) })},
	{"count size [1]", false, ofDelta(func(d *compare.Delta) string {
		if d.Counts == nil {
			return ""
		}
		return number(d.CountSize)
	})},
	{"change verdict", true, ofDelta(func(d *compare.Delta) string { return d.Verdict })},
	{"change margin [m2]", false, ofDelta(func(d *compare.Delta) string { return maybe(d.Margin) })},
	{"change lacks", true, ofDelta(func(d *compare.Delta) string { return uncertainty.Words(d.Missing) })},
	{"axes", true, func(r ledgerRow) string { a, b := planeAxes(r.result.Station.Normal); return a + " " + b }},
	{"first axis low [m]", false, func(r ledgerRow) string { return number(r.window().Y[0]) }},
	{"first axis high [m]", false, func(r ledgerRow) string { return number(r.window().Y[1]) }},
	{"second axis low [m]", false, func(r ledgerRow) string { return number(r.window().Z[0]) }},
	{"second axis high [m]", false, func(r ledgerRow) string { return number(r.window().Z[1]) }},
	{"weight", true, func(r ledgerRow) string {
		if r.result.Wake == nil {
			return ""
		}
		return r.result.Wake.Weight
	}},
	{"centroid first axis [m]", false, func(r ledgerRow) string {
		if c := r.centroid(); c != nil {
			return number(c[0])
		}
		return ""
	}},
	{"centroid second axis [m]", false, func(r ledgerRow) string {
		if c := r.centroid(); c != nil {
			return number(c[1])
		}
		return ""
	}},
	{"inboard shift [m]", false, ofShift(func(s *compare.Shift) string { return maybe(s.Inboard) })},
	{"shift expanded uncertainty [m]", false, ofShift(func(s *compare.Shift) string { return number(s.Expanded) })},
	{"shift verdict", true, ofShift(func(s *compare.Shift) string { return s.Verdict })},
	{"shift margin [m]", false, ofShift(func(s *compare.Shift) string { return maybe(s.Margin) })},
}

// safeCell keeps a spreadsheet from taking a text for a formula: a text that
// begins with = + - @, a tab or a carriage return gets an apostrophe before it.
func safeCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// LedgerCSV writes the ledger of a study: one row for each station, configuration
// and region, "total" being the whole plane.
//
// The form is RFC 4180: a heading with units in square brackets, commas, CRLF,
// quotes where needed. Numbers have all their digits and a point. A cell is empty
// where there is no such number. "ground" says whether the numbers of the row
// were taken in the window and on the grid that all configurations share
// ("common", to which the changes belong) or in the plane's own ("own"). The axes
// of windows and centroids are the two named under "axes". A name that begins
// with = + - or @, a tab or a carriage return is written with an apostrophe
// before it, since a spreadsheet would run it as a formula. A number that is not
// finite is an error, and nothing is written.
func LedgerCSV(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	c := csv.NewWriter(w)
	c.UseCRLF = true
	cells := make([]string, len(ledgerColumns))
	for i, col := range ledgerColumns {
		cells[i] = col.head
	}
	if err := c.Write(cells); err != nil {
		return err
	}
	for _, r := range ledgerRows(o) {
		for i, col := range ledgerColumns {
			if cells[i] = col.of(r); col.text {
				cells[i] = safeCell(cells[i])
			}
		}
		if err := c.Write(cells); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// LedgerMarkdown writes the ledger as a Markdown table with the digits that the
// uncertainties allow. The marks of Markdown and HTML in names are escaped.
func LedgerMarkdown(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	t := NewTable("station", "configuration", "region", ">drag area m²", ">C_D", ">Δ m²", ">interval", ">counts", "verdict", ">inboard mm")
	for _, r := range ledgerRows(o) {
		cells := [10]string{clean(r.station.Name), clean(r.configuration), clean(r.regionName())}
		if area, cd, u, ok := r.drag(); ok {
			e := 0.0
			if u != nil {
				e = u.Expanded
			}
			cells[3] = strings.TrimSuffix(plusMinus(area, e, areaDecimals, ""), " ")
			cells[4] = optional(cd, coeffDecimals)
		}
		if d := r.delta; d != nil {
			dc := deltaCells(d)
			cells[5], cells[6], cells[7], cells[8] = dc[0], strings.TrimSuffix(interval(d.Interval, d.Expanded), " m²"), dc[4], clean(d.Verdict)
		}
		if s := r.shift; s != nil && s.Inboard != nil {
			cells[9] = strings.TrimSuffix(signedPlusMinus(1000**s.Inboard, 1000*s.Expanded, 1, ""), " ")
		}
		t.Add(cells[:]...)
	}
	return Document{{Blocks: []Block{t}}}.Markdown(w)
}

// markdownMarks are the characters with a meaning in Markdown or in HTML.
const markdownMarks = "\\`*_{}[]()<>#+!|~&$^="

func escapeMarkdown(s string) string {
	var b strings.Builder
	for _, r := range clean(s) {
		if strings.ContainsRune(markdownMarks, r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
