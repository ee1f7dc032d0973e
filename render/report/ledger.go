package report

import (
	"io"
	"iter"
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
	// variant is what the row's plane is of in the comparison; nil for the baseline.
	variant *compare.Variant
	region  *measure.Region // nil for the whole plane
	delta   *compare.Delta
	shift   *compare.Shift
}

// variants are those of a station's comparison by the names of their configurations.
func variants(st *study.StationOutcome) iter.Seq2[string, *compare.Variant] {
	return func(yield func(string, *compare.Variant) bool) {
		if st.Comparison == nil {
			return
		}
		for i := range min(len(st.Variants), len(st.Comparison.Variants)) {
			if !yield(st.Variants[i], &st.Comparison.Variants[i]) {
				return
			}
		}
	}
}

// variantOf is that of one configuration; nil for none.
func variantOf(st *study.StationOutcome, configuration string) *compare.Variant {
	for name, v := range variants(st) {
		if name == configuration {
			return v
		}
	}
	return nil
}

// ledgerRows lists the ledger in the order of the study. A configuration that
// takes part in the comparison is given as compared, so that the differences are
// those of the numbers beside them.
func ledgerRows(o *study.Outcome) []ledgerRow {
	var out []ledgerRow
	for _, st := range o.Stations {
		for _, sv := range st.Surveys {
			row := ledgerRow{station: st, configuration: sv.Configuration, result: sv.Result}
			if c := st.Comparison; c != nil && sv.Configuration == o.Baseline && c.Baseline != nil {
				row.result, row.common = c.Baseline, true
			}
			if v := variantOf(&st, sv.Configuration); v != nil && v.Survey != nil {
				row.variant, row.result, row.common, row.delta, row.shift = v, v.Survey, true, v.Delta, v.Shift
			}
			if row.result == nil {
				continue
			}
			out = append(out, row)
			for i := range row.result.Regions {
				r := row
				r.region, r.delta, r.shift = &row.result.Regions[i], nil, nil
				if r.variant != nil {
					for _, d := range r.variant.Regions {
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

// column is one column of the ledger. In ledger.csv it has a head with its unit and what
// of says. With short, ">" for numbers, it is in the tables of text, Markdown and page as
// well, with what cell says in the digits that the uncertainty allows, or with the text;
// those of one station leave out what has study. A cell is empty where the row has no
// such number: columns without any are left out.
type column struct {
	head  string
	of    func(ledgerRow) any
	short string
	cell  func(ledgerRow) string
	study bool
}

// drag returns the drag area, coefficient and budget of the row's plane or region; nil
// where it has none.
func (r ledgerRow) drag() (area, cd *float64, u *uncertainty.Budget) {
	if r.region == nil {
		a, c, ok := headline(r.result)
		if !ok {
			return nil, nil, nil
		}
		return &a, c, r.result.Uncertainty.DragArea
	}
	if r.region.DragArea == nil {
		return nil, nil, nil
	}
	return r.region.DragArea, r.region.Cd, r.region.Uncertainty.DragArea
}

func (r ledgerRow) dragText() string {
	area, _, u := r.drag()
	if u == nil {
		u = &uncertainty.Budget{}
	}
	return optional(area, decimalsFor(u.Expanded, areaDecimals))
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

// ofBudget, ofDelta and ofShift are columns of what a row may not have.
func ofBudget[T any](f func(*uncertainty.Budget) T) func(ledgerRow) T {
	return func(r ledgerRow) (cell T) {
		if _, _, u := r.drag(); u != nil {
			cell = f(u)
		}
		return cell
	}
}

func ofDelta[T any](f func(*compare.Delta) T) func(ledgerRow) T {
	return func(r ledgerRow) (cell T) {
		if r.delta != nil {
			cell = f(r.delta)
		}
		return cell
	}
}

func ofShift[T any](f func(*compare.Shift) T) func(ledgerRow) T {
	return func(r ledgerRow) (cell T) {
		if r.shift != nil {
			cell = f(r.shift)
		}
		return cell
	}
}

// ofCentroid is one of its two numbers.
func ofCentroid(k int) func(ledgerRow) any {
	return func(r ledgerRow) any {
		if c := r.centroid(); c != nil {
			return c[k]
		}
		return nil
	}
}

var ledgerColumns = []column{
	{head: "station", of: func(r ledgerRow) any { return r.station.Name }, short: "station", study: true},
	{head: "normal", of: func(r ledgerRow) any { return r.result.Station.Normal }},
	{head: "position [m]", of: func(r ledgerRow) any { return r.result.Station.Position }},
	{head: "configuration", of: func(r ledgerRow) any { return r.configuration }, short: "configuration"},
	{head: "region", of: func(r ledgerRow) any { return r.regionName() }, short: "region", study: true},
	{head: "side", of: func(r ledgerRow) any {
		if r.region == nil {
			return nil
		}
		return r.region.Side
	}},
	{head: "file", of: func(r ledgerRow) any { return r.result.File }},
	{head: "ground", of: func(r ledgerRow) any { return map[bool]string{true: "common", false: "own"}[r.common] }},
	{head: "method", of: func(r ledgerRow) any { return r.method() }},
	{head: "drag area [m2]", of: func(r ledgerRow) any { area, _, _ := r.drag(); return area }, short: ">drag area m²", cell: ledgerRow.dragText},
	{head: "standard uncertainty [m2]", of: ofBudget(func(u *uncertainty.Budget) any { return u.Standard })},
	{head: "expanded uncertainty [m2]", of: ofBudget(func(u *uncertainty.Budget) any { return u.Expanded }), short: ">± m²", cell: ofBudget(func(u *uncertainty.Budget) string { return expandedText(u.Expanded, areaDecimals) })},
	{head: "drag coefficient [1]", of: func(r ledgerRow) any { _, cd, _ := r.drag(); return cd }, short: ">C_D", cell: func(r ledgerRow) string { _, cd, _ := r.drag(); return optional(cd, coeffDecimals) }},
	{head: "change of drag area [m2]", of: ofDelta(func(d *compare.Delta) any { return d.DragArea }), short: ">Δ m²", cell: ofDelta(func(d *compare.Delta) string { return changed(d)[0] })},
	{head: "change standard uncertainty [m2]", of: ofDelta(func(d *compare.Delta) any { return d.Standard })},
	{head: "change expanded uncertainty [m2]", of: ofDelta(func(d *compare.Delta) any { return d.Expanded }), short: ">± m²", cell: ofDelta(func(d *compare.Delta) string { return changed(d)[1] })},
	{head: "change coverage factor [1]", of: ofDelta(func(d *compare.Delta) any { return d.Coverage })},
	{head: "change lower limit [m2]", of: ofDelta(func(d *compare.Delta) any { return d.Interval[0] })},
	{head: "change upper limit [m2]", of: ofDelta(func(d *compare.Delta) any { return d.Interval[1] })},
	{head: "change [%]", of: ofDelta(func(d *compare.Delta) any { return d.Percent }), short: ">Δ %", cell: ofDelta(func(d *compare.Delta) string { return known(d.Percent, 1, signed, 1) })},
	{head: "change of drag coefficient [1]", of: ofDelta(func(d *compare.Delta) any { return d.Cd }), short: ">ΔC_D", cell: ofDelta(func(d *compare.Delta) string { return known(d.Cd, 1, signed, coeffDecimals) })},
	{head: "change [counts]", of: ofDelta(func(d *compare.Delta) any { return d.Counts }), short: ">counts", cell: ofDelta(func(d *compare.Delta) string { return known(d.Counts, 1, signed, countDecimals) })},
	{head: "count size [1]", of: ofDelta(func(d *compare.Delta) any {
		if d.Counts == nil {
			return nil
		}
		return d.CountSize
	})},
	{head: "change verdict", of: ofDelta(func(d *compare.Delta) any { return d.Verdict }), short: "verdict"},
	{head: "change margin [m2]", of: ofDelta(func(d *compare.Delta) any { return d.Margin })},
	{head: "change lacks", of: ofDelta(func(d *compare.Delta) any { return uncertainty.Words(d.Missing) })},
	{head: "axes", of: func(r ledgerRow) any { a, b := planeAxes(r.result.Station.Normal); return a + " " + b }},
	{head: "first axis low [m]", of: func(r ledgerRow) any { return r.window().Y[0] }},
	{head: "first axis high [m]", of: func(r ledgerRow) any { return r.window().Y[1] }},
	{head: "second axis low [m]", of: func(r ledgerRow) any { return r.window().Z[0] }},
	{head: "second axis high [m]", of: func(r ledgerRow) any { return r.window().Z[1] }},
	{head: "weight", of: func(r ledgerRow) any {
		if r.result.Wake == nil {
			return nil
		}
		return r.result.Wake.Weight
	}},
	{head: "centroid first axis [m]", of: ofCentroid(0)},
	{head: "centroid second axis [m]", of: ofCentroid(1)},
	{head: "inboard shift [m]", of: ofShift(func(s *compare.Shift) any { return s.Inboard }), short: ">inboard mm", study: true, cell: ofShift(func(s *compare.Shift) string {
		if s.Inboard == nil {
			return ""
		}
		c := shifted(s)
		return c[0] + " ± " + c[1]
	})},
	{head: "shift expanded uncertainty [m]", of: ofShift(func(s *compare.Shift) any { return s.Expanded })},
	{head: "shift verdict", of: ofShift(func(s *compare.Shift) any { return s.Verdict })},
	{head: "shift margin [m]", of: ofShift(func(s *compare.Shift) any { return s.Margin })},
}

// shortLedger is the ledger's table for reading, of a study or of one station.
func shortLedger(rows []ledgerRow, study bool) *Table {
	t := &Table{Rows: make([][]string, len(rows))}
	for _, c := range ledgerColumns {
		if c.short == "" || c.study && !study {
			continue
		}
		t.heads(c.short)
		for i, r := range rows {
			cell := ""
			if c.cell != nil {
				cell = c.cell(r)
			} else if words, ok := c.of(r).(string); ok {
				cell = clean(words)
			}
			t.Rows[i] = append(t.Rows[i], cell)
		}
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
