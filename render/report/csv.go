package report

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"strings"

	"wakeledger/grid"
	"wakeledger/wake/shift"
	"wakeledger/wake/study"
	"wakeledger/wake/uncertainty"
)

// csvOf writes a table of numbers; rows calls add once a row, whose cells are strings,
// float64, *float64 or nil.
//
// The form is RFC 4180: a heading with units in square brackets, commas, CRLF, quotes
// where needed. Numbers have all their digits and a point. A cell is empty where there is
// no such number. A name that begins with = + - or @, a tab or a carriage return is
// written with an apostrophe before it, since a spreadsheet would run it as a formula.
// Numbers that are not finite are refused by the JSON of the same results, which is made first.
func csvOf(head []string, rows func(o *study.Outcome, add func(cells ...any))) func(io.Writer, *study.Outcome) error {
	return func(w io.Writer, o *study.Outcome) error {
		c := csv.NewWriter(w)
		c.UseCRLF = true
		c.Write(head)
		rows(o, func(cells ...any) {
			line := make([]string, len(head)) // cells that are missing at the end are empty
			for i, x := range cells {
				line[i] = csvCell(x)
			}
			c.Write(line)
		})
		c.Flush()
		return c.Error()
	}
}

func csvCell(x any) string {
	switch x := x.(type) {
	case string:
		if x != "" && strings.ContainsRune("=+-@\t\r", rune(x[0])) {
			return "'" + x
		}
		return x
	case float64:
		return number(x)
	case *float64:
		if x != nil {
			return number(*x)
		}
	}
	return ""
}

// number is the shortest decimal that reads back as x.
func number(x float64) string {
	if x == 0 {
		x = 0 // no minus on a zero
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// PathsCSV writes the parts of the wake along x: a row for each configuration, path and
// station.
var PathsCSV = csvOf([]string{
	"configuration", "path", "part", "position [m]", "centroid y [m]", "centroid z [m]", "left edge y [m]", "right edge y [m]",
	"spread y [m]", "spread z [m]", "area [m2]", "drag area [m2]",
}, func(o *study.Outcome, add func(...any)) {
	for _, c := range o.Paths {
		for _, p := range c.Paths {
			for _, q := range p.Points {
				add(c.Configuration, p.Name, q.Structure, q.Position, q.Centroid[0], q.Centroid[1], q.LeftEdge, q.RightEdge, q.Spread[0], q.Spread[1], q.Area, q.DragArea)
			}
		}
	}
})

// MovesCSV writes the moves of the matched parts of the wake: a row for each station,
// variant, part and measure. Moves are toward the centre plane, or to the right for
// parts on it ("sense" says which); "drag" belongs to the part.
var MovesCSV = csvOf([]string{"station", "configuration", "baseline's part", "variant's part", "measure", "sense", "verdict", "position [m]", "move [m]", "expanded uncertainty [m]", "change of drag area [m2]"}, func(o *study.Outcome, add func(...any)) {
	for _, st := range o.Stations {
		for name, v := range variants(&st) {
			if v.Structures == nil {
				continue
			}
			for _, m := range v.Structures.Shifts {
				list := slices.Clip(m.Moves)
				if m.Headline != nil && !slices.ContainsFunc(list, func(v shift.Move) bool { return v.Measure == m.Headline.Measure }) {
					list = append(list, *m.Headline)
				}
				for _, q := range list {
					x, sense := q.Toward()
					add(st.Name, name, m.A, m.B, q.Measure, sense, m.Verdict, m.Position, x, q.Expanded, m.DragArea)
				}
			}
		}
	}
})

// ExchangeCSV writes where the drag difference sits: a row for each station, variant,
// breakdown and entry, the rests among them.
var ExchangeCSV = csvOf([]string{"station", "configuration", "by", "entry", "baseline [m2]", "variant [m2]", "difference [m2]", "up to [m]", "cumulative [m2]"}, func(o *study.Outcome, add func(...any)) {
	for _, st := range o.Stations {
		for name, v := range variants(&st) {
			if v.Exchange == nil {
				continue
			}
			for _, b := range v.Exchange.Breakdowns {
				for _, e := range withRest(&b) {
					add(st.Name, name, b.By, e.Name, e.A, e.B, e.Delta, e.To, e.Cumulative)
				}
			}
			add(st.Name, name, "total", "total", v.Exchange.A, v.Exchange.B, v.Exchange.Delta)
		}
	}
})

// TopViewsCSV writes the wake's edges in planes normal to z: a row for each station,
// configuration and column, with the moves against the baseline.
var TopViewsCSV = csvOf([]string{"station", "configuration", "height [m]", "x [m]", "left edge y [m]", "right edge y [m]", "width [m]", "left inboard [m]", "right inboard [m]"}, func(o *study.Outcome, add func(...any)) {
	for _, r := range ledgerRows(o) {
		t := r.result.TopView
		if t == nil || r.region != nil {
			continue
		}
		moves := map[float64]shift.TopShiftPoint{}
		if r.variant != nil && r.variant.TopView != nil {
			for _, c := range r.variant.TopView.Columns {
				moves[c.X] = c
			}
		}
		for _, c := range t.Columns {
			add(r.station.Name, r.configuration, t.Height, c.X, c.Left, c.Right, c.Width, moves[c.X].Left, moves[c.X].Right)
		}
	}
})

// PairsCSV writes the changes of drag between any two configurations: a row for each station and
// pair, and for each pair that is pooled over the stations, "pooled" being the station.
var PairsCSV = csvOf([]string{
	"station", "configuration", "minus", "verdict", "lacks", "change of drag area [m2]", "standard uncertainty [m2]", "expanded uncertainty [m2]", "coverage factor [1]",
	"lower limit [m2]", "upper limit [m2]", "margin [m2]", "chi square [1]",
}, func(o *study.Outcome, add func(...any)) {
	row := func(station, of, minus string, d float64, b uncertainty.Budget, j uncertainty.Judgement, chi *float64) {
		in := b.Interval(d)
		add(station, of, minus, j.Verdict, b.Lacking(), d, b.Standard, b.Expanded, b.Coverage, in[0], in[1], j.Margin, chi)
	}
	for _, st := range o.Stations {
		if st.Comparison == nil {
			continue
		}
		for _, p := range st.Comparison.Pairs {
			row(st.Name, p.Of, p.Minus, p.Delta.DragArea, p.Delta.Budget, p.Delta.Judgement, nil)
		}
	}
	for _, p := range o.Pooled {
		row("pooled", p.Of, p.Minus, p.Difference, uncertainty.Budget(p.AreaBudget), p.Judgement, p.ChiSquare)
	}
})

// ForcesCSV writes the ledger by part of the vehicle: a row for each variant and part, the total,
// and what one of the two has alone beside the rest.
var ForcesCSV = csvOf([]string{
	"configuration", "part", "verdict", "record", "baseline [m2]", "variant [m2]", "difference [m2]", "difference [% of total]", "change of drag coefficient [1]", "change [counts]", "standard uncertainty [m2]", "expanded uncertainty [m2]",
	"uncertainty is at least", "margin [m2]", "record needed [s]",
}, func(o *study.Outcome, add func(...any)) {
	for _, l := range o.ByPart {
		for _, r := range ledgerLines(l.Ledger) {
			least, needed := "", &r.Needed
			if r.AtLeast {
				least = "at least"
			}
			if !(r.Needed > 0) {
				needed = nil
			}
			add(l.Configuration, strings.TrimSpace(r.name), r.Verdict, r.Doubt, r.Baseline, r.Variant, r.Delta, r.Percent, r.Cd, r.Counts, r.Standard, r.AreaBudget.Expanded, least, r.Margin, needed)
		}
	}
})

// LedgerCSV writes the ledger of a study: one row for each station, configuration
// and region, "total" being the whole plane.
//
// "ground" says whether the numbers of the row were taken in the window and on the grid
// that all configurations share ("common", to which the changes belong) or in the plane's
// own ("own"). The axes of windows and centroids are the two named under "axes".
var LedgerCSV = csvOf(grid.Fill(len(ledgerColumns), func(c int) string { return ledgerColumns[c].head }), func(o *study.Outcome, add func(...any)) {
	for _, r := range ledgerRows(o) {
		add(grid.Fill(len(ledgerColumns), func(c int) any { return ledgerColumns[c].value(r) })...)
	}
})
