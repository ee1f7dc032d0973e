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

// column is one column of the ledger. In ledger.csv it has a head with its unit and all
// digits; text is what a spreadsheet must not take for a formula. With short, ">" for numbers,
// it is in the tables of text, Markdown and page as well, with what cell says in the digits
// that the uncertainty allows, or with the text; those of one station leave out what has
// study. A cell is empty where the row has no such number: columns without any are left out.
type column struct {
	head  string
	text  bool
	of    func(ledgerRow) string
	short string
	cell  func(ledgerRow) string
	study bool
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

func dragCell(f func(area float64, cd *float64, u float64) string) func(ledgerRow) string {
	return func(r ledgerRow) string {
		area, cd, b, ok := r.drag()
		if !ok {
			return ""
		}
		u := 0.0
		if b != nil {
			u = b.Expanded
		}
		return f(area, cd, u)
	}
}

// signedCell is an optional number of a change.
func signedCell(x func(*compare.Delta) *float64, decimals int) func(ledgerRow) string {
	return ofDelta(func(d *compare.Delta) string {
		if v := x(d); v != nil {
			return signed(*v, decimals)
		}
		return ""
	})
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
	{head: "station", text: true, of: func(r ledgerRow) string { return r.station.Name }, short: "station", study: true},
	{head: "normal", text: true, of: func(r ledgerRow) string { return r.result.Station.Normal }},
	{head: "position [m]", of: func(r ledgerRow) string { return number(r.result.Station.Position) }},
	{head: "configuration", text: true, of: func(r ledgerRow) string { return r.configuration }, short: "configuration"},
	{head: "region", text: true, of: ledgerRow.regionName, short: "region", study: true},
	{head: "side", text: true, of: func(r ledgerRow) string {
		if r.region == nil {
			return ""
		}
		return r.region.Side
	}},
	{head: "file", text: true, of: func(r ledgerRow) string { return r.result.File }},
	{head: "ground", text: true, of: func(r ledgerRow) string {
		if r.common {
			return "common"
		}
		return "own"
	}},
	{head: "method", text: true, of: ledgerRow.method},
	{head: "drag area [m2]", of: func(r ledgerRow) string {
		if a, _, _, ok := r.drag(); ok {
			return number(a)
		}
		return ""
	}, short: ">drag area m²", cell: dragCell(func(area float64, _ *float64, u float64) string { return fixed(area, decimalsFor(u, areaDecimals)) })},
	{head: "standard uncertainty [m2]", of: ofBudget(func(u *uncertainty.Budget) string { return number(u.Standard) })},
	{head: "expanded uncertainty [m2]", of: ofBudget(func(u *uncertainty.Budget) string { return number(u.Expanded) }), short: ">± m²", cell: dragCell(func(_ float64, _ *float64, u float64) string { return expandedText(u, areaDecimals) })},
	{head: "drag coefficient [1]", of: func(r ledgerRow) string { _, cd, _, _ := r.drag(); return maybe(cd) }, short: ">C_D", cell: dragCell(func(_ float64, cd *float64, _ float64) string { return optional(cd, coeffDecimals) })},
	{head: "change of drag area [m2]", of: ofDelta(func(d *compare.Delta) string { return number(d.DragArea) }), short: ">Δ m²", cell: ofDelta(func(d *compare.Delta) string { return signed(d.DragArea, decimalsFor(d.Expanded, areaDecimals)) })},
	{head: "change standard uncertainty [m2]", of: ofDelta(func(d *compare.Delta) string { return number(d.Standard) })},
	{head: "change expanded uncertainty [m2]", of: ofDelta(func(d *compare.Delta) string { return number(d.Expanded) }), short: ">± m²", cell: ofDelta(func(d *compare.Delta) string { return expandedText(d.Expanded, areaDecimals) })},
	{head: "change coverage factor [1]", of: ofDelta(func(d *compare.Delta) string { return number(d.Coverage) })},
	{head: "change lower limit [m2]", of: ofDelta(func(d *compare.Delta) string { return number(d.Interval[0]) })},
	{head: "change upper limit [m2]", of: ofDelta(func(d *compare.Delta) string { return number(d.Interval[1]) })},
	{head: "change [%]", of: ofDelta(func(d *compare.Delta) string { return maybe(d.Percent) }), short: ">Δ %", cell: signedCell(func(d *compare.Delta) *float64 { return d.Percent }, 1)},
	{head: "change of drag coefficient [1]", of: ofDelta(func(d *compare.Delta) string { return maybe(d.Cd) }), short: ">ΔC_D", cell: signedCell(func(d *compare.Delta) *float64 { return d.Cd }, coeffDecimals)},
	{head: "change [counts]", of: ofDelta(func(d *compare.Delta) string { return maybe(d.Counts) }), short: ">counts", cell: signedCell(func(d *compare.Delta) *float64 { return d.Counts }, countDecimals)},
	{head: "count size [1]", of: ofDelta(func(d *compare.Delta) string {
		if d.Counts == nil {
			return ""
		}
		return number(d.CountSize)
	})},
	{head: "change verdict", text: true, of: ofDelta(func(d *compare.Delta) string { return d.Verdict }), short: "verdict"},
	{head: "change margin [m2]", of: ofDelta(func(d *compare.Delta) string { return maybe(d.Margin) })},
	{head: "change lacks", text: true, of: ofDelta(func(d *compare.Delta) string { return uncertainty.Words(d.Missing) })},
	{head: "axes", text: true, of: func(r ledgerRow) string { a, b := planeAxes(r.result.Station.Normal); return a + " " + b }},
	{head: "first axis low [m]", of: func(r ledgerRow) string { return number(r.window().Y[0]) }},
	{head: "first axis high [m]", of: func(r ledgerRow) string { return number(r.window().Y[1]) }},
	{head: "second axis low [m]", of: func(r ledgerRow) string { return number(r.window().Z[0]) }},
	{head: "second axis high [m]", of: func(r ledgerRow) string { return number(r.window().Z[1]) }},
	{head: "weight", text: true, of: func(r ledgerRow) string {
		if r.result.Wake == nil {
			return ""
		}
		return r.result.Wake.Weight
	}},
	{head: "centroid first axis [m]", of: func(r ledgerRow) string {
		if c := r.centroid(); c != nil {
			return number(c[0])
		}
		return ""
	}},
	{head: "centroid second axis [m]", of: func(r ledgerRow) string {
		if c := r.centroid(); c != nil {
			return number(c[1])
		}
		return ""
	}},
	{head: "inboard shift [m]", of: ofShift(func(s *compare.Shift) string { return maybe(s.Inboard) }), short: ">inboard mm", study: true, cell: ofShift(func(s *compare.Shift) string {
		if s.Inboard == nil {
			return ""
		}
		return strings.TrimSuffix(signedPlusMinus(1000**s.Inboard, 1000*s.Expanded, 1, ""), " ")
	})},
	{head: "shift expanded uncertainty [m]", of: ofShift(func(s *compare.Shift) string { return number(s.Expanded) })},
	{head: "shift verdict", text: true, of: ofShift(func(s *compare.Shift) string { return s.Verdict })},
	{head: "shift margin [m]", of: ofShift(func(s *compare.Shift) string { return maybe(s.Margin) })},
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

// shortLedger is the ledger's table for reading, of a study or of one station.
func shortLedger(rows []ledgerRow, study bool) *Table {
	var heads []string
	var of []func(ledgerRow) string
	for _, c := range ledgerColumns {
		if c.short == "" || c.study && !study {
			continue
		}
		cell := c.cell
		if cell == nil {
			cell = func(r ledgerRow) string { return clean(c.of(r)) }
		}
		heads, of = append(heads, c.short), append(of, cell)
	}
	t := NewTable(heads...)
	for _, r := range rows {
		cells := make([]string, len(of))
		for i, cell := range of {
			cells[i] = cell(r)
		}
		t.Add(cells...)
	}
	return t
}

// LedgerMarkdown writes the ledger as a Markdown table with the digits that the
// uncertainties allow. The marks of Markdown and HTML in names are escaped.
func LedgerMarkdown(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	t := shortLedger(ledgerRows(o), true)
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
