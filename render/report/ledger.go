package report

import (
	"io"
	"iter"
	"regexp"

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
	// What there is of the plane or the region.
	area, cd *float64
	budget   *uncertainty.Budget
	window   measure.Window
	centroid *[2]float64
}

// of is the row with what there is of its plane, or of a region of it.
func (r ledgerRow) of(region *measure.Region) ledgerRow {
	if r.region = region; region != nil {
		r.area, r.cd, r.budget, r.window, r.centroid = region.DragArea, region.Cd, region.Uncertainty.DragArea, region.Box, region.Centroid
		return r
	}
	if area, cd, ok := r.result.Drag.Quoted(); ok {
		r.area, r.cd, r.budget = &area, cd, r.result.Uncertainty.DragArea
	}
	r.window = r.result.Window
	if w := r.result.Wake; w != nil {
		r.centroid = w.Centroid
	}
	return r
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

// planeRow is the row of a whole plane. A configuration that takes part in the
// comparison is given as compared, so that the differences are those of the
// numbers beside them.
func planeRow(o *study.Outcome, st study.StationOutcome, sv study.StationSurvey) ledgerRow {
	row := ledgerRow{station: st, configuration: sv.Configuration, result: sv.Result}
	if c := st.Comparison; c != nil && sv.Configuration == o.Baseline {
		row.result, row.common = c.Baseline, true
	}
	if v := variantOf(&st, sv.Configuration); v != nil {
		row.variant, row.result, row.common, row.delta, row.shift = v, v.Survey, true, v.Delta, v.Shift
	}
	return row.of(nil)
}

// ledgerRows lists the ledger in the order of the study.
func ledgerRows(o *study.Outcome) []ledgerRow {
	var out []ledgerRow
	for _, st := range o.Stations {
		for _, sv := range st.Surveys {
			row := planeRow(o, st, sv)
			out = append(out, row)
			for i := range row.result.Regions {
				r := row.of(&row.result.Regions[i])
				r.delta, r.shift = nil, nil
				if r.variant != nil {
					r.delta, r.shift = r.variant.Regions[i].Delta, r.variant.Regions[i].Shift
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
	kind  kind
	of    func(ledgerRow) any
	short string
	cell  func(ledgerRow) string
	study bool
}

func (r ledgerRow) method() string {
	if r.result.Drag == nil {
		return ""
	}
	return r.result.Drag.Headline
}

func (r ledgerRow) regionName() string {
	if r.region == nil {
		return "total"
	}
	return r.region.Name
}

// kind is what a row must have for a column to say something.
type kind int

const (
	always kind = iota
	ofBudget
	ofDelta
	ofShift
	ofRegion
	ofWake
	ofCentroid
)

func (r ledgerRow) has(k kind) bool {
	return [...]bool{true, r.budget != nil, r.delta != nil, r.shift != nil, r.region != nil, r.result.Wake != nil, r.centroid != nil}[k]
}

// value is what a column says of a row in ledger.csv.
func (c column) value(r ledgerRow) any {
	if !r.has(c.kind) {
		return nil
	}
	return c.of(r)
}

var ledgerColumns = []column{
	{head: "station", of: func(r ledgerRow) any { return r.station.Name }, short: "station", study: true},
	{head: "normal", of: func(r ledgerRow) any { return r.result.Station.Normal }},
	{head: "position [m]", of: func(r ledgerRow) any { return r.result.Station.Position }},
	{head: "configuration", of: func(r ledgerRow) any { return r.configuration }, short: "configuration"},
	{head: "region", of: func(r ledgerRow) any { return r.regionName() }, short: "region", study: true},
	{head: "side", kind: ofRegion, of: func(r ledgerRow) any { return r.region.Side }},
	{head: "file", of: func(r ledgerRow) any { return r.result.File }},
	{head: "ground", of: func(r ledgerRow) any { return map[bool]string{true: "common", false: "own"}[r.common] }},
	{head: "method", of: func(r ledgerRow) any { return r.method() }},
	{head: "drag area [m2]", of: func(r ledgerRow) any { return r.area }, short: ">drag area m²", cell: func(r ledgerRow) string { return optional(r.area, decimalsFor(expandedOf(r.budget), areaDecimals)) }},
	{head: "standard uncertainty [m2]", kind: ofBudget, of: func(r ledgerRow) any { return r.budget.Standard }},
	{head: "expanded uncertainty [m2]", kind: ofBudget, of: func(r ledgerRow) any { return r.budget.Expanded }, short: ">± m²", cell: func(r ledgerRow) string { return expandedText(r.budget.Expanded, areaDecimals) }},
	{head: "drag coefficient [1]", of: func(r ledgerRow) any { return r.cd }, short: ">C_D", cell: func(r ledgerRow) string { return coefficient(r.cd, r.area, expandedOf(r.budget), fixed, coeffDecimals) }},
	{head: "change of drag area [m2]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.DragArea }, short: ">Δ m²", cell: func(r ledgerRow) string { return changed(r.delta)[0] }},
	{head: "change standard uncertainty [m2]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Standard }},
	{head: "change expanded uncertainty [m2]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Expanded }, short: ">± m²", cell: func(r ledgerRow) string { return changed(r.delta)[1] }},
	{head: "change coverage factor [1]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Coverage }},
	{head: "change lower limit [m2]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Interval[0] }},
	{head: "change upper limit [m2]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Interval[1] }},
	{head: "change [%]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Percent }, short: ">Δ %", cell: func(r ledgerRow) string { return known(r.delta.Percent, 1, signed, 1) }},
	{head: "change of drag coefficient [1]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Cd }, short: ">ΔC_D", cell: func(r ledgerRow) string {
		return coefficient(r.delta.Cd, &r.delta.DragArea, r.delta.Expanded, signed, coeffDecimals)
	}},
	{head: "change [counts]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Counts }, short: ">counts", cell: func(r ledgerRow) string {
		return coefficient(r.delta.Counts, &r.delta.DragArea, r.delta.Expanded, signed, countDecimals)
	}},
	{head: "count size [1]", kind: ofDelta, of: func(r ledgerRow) any {
		if r.delta.Counts == nil {
			return nil
		}
		return r.delta.CountSize
	}},
	{head: "change verdict", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Verdict }, short: "verdict"},
	{head: "change margin [m2]", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Margin }},
	{head: "change lacks", kind: ofDelta, of: func(r ledgerRow) any { return r.delta.Lacking() }},
	{head: "axes", of: func(r ledgerRow) any { a, b := planeAxes(r.result.Station.Normal); return a + " " + b }},
	{head: "first axis low [m]", of: func(r ledgerRow) any { return r.window.Y[0] }},
	{head: "first axis high [m]", of: func(r ledgerRow) any { return r.window.Y[1] }},
	{head: "second axis low [m]", of: func(r ledgerRow) any { return r.window.Z[0] }},
	{head: "second axis high [m]", of: func(r ledgerRow) any { return r.window.Z[1] }},
	{head: "weight", kind: ofWake, of: func(r ledgerRow) any { return r.result.Wake.Weight }},
	{head: "centroid first axis [m]", kind: ofCentroid, of: func(r ledgerRow) any { return r.centroid[0] }},
	{head: "centroid second axis [m]", kind: ofCentroid, of: func(r ledgerRow) any { return r.centroid[1] }},
	{head: "inboard shift [m]", kind: ofShift, of: func(r ledgerRow) any { return r.shift.Inboard }, short: ">inboard mm", study: true, cell: func(r ledgerRow) string { return oneCell(shifted(r.shift)) }},
	{head: "shift expanded uncertainty [m]", kind: ofShift, of: func(r ledgerRow) any { return r.shift.Expanded }},
	{head: "shift verdict", kind: ofShift, of: func(r ledgerRow) any { return r.shift.Verdict }},
	{head: "shift margin [m]", kind: ofShift, of: func(r ledgerRow) any { return r.shift.Margin }},
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
			cell, _ := c.value(r).(string)
			if cell = clean(cell); c.cell != nil && r.has(c.kind) {
				cell = c.cell(r)
			}
			t.Rows[i] = append(t.Rows[i], cell)
		}
	}
	return t
}

// LedgerMarkdown writes the ledger as a Markdown table with the digits that the
// uncertainties allow. The marks of Markdown and HTML in names are escaped.
func LedgerMarkdown(w io.Writer, o *study.Outcome) error {
	_, err := io.WriteString(w, shortLedger(ledgerRows(o), true).markdown())
	return err
}

// markdownMarks are the characters with a meaning in Markdown or in HTML.
var markdownMarks = regexp.MustCompile("[\\\\`*_{}\\[\\]()<>#+!|~&$^=]")
