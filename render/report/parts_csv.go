package report

import (
	"encoding/csv"
	"io"

	"wakeledger/wake/compare"
	"wakeledger/wake/parts"
	"wakeledger/wake/shift"
	"wakeledger/wake/study"
)

// writeTable writes rows in the form of LedgerCSV. text says which columns are names.
func writeTable(w io.Writer, head []string, text int, rows [][]string) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write(head); err != nil {
		return err
	}
	for _, r := range rows {
		for k := range min(text, len(r)) {
			r[k] = safeCell(r[k])
		}
		if err := c.Write(r); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// PathsCSV writes the parts of the wake along x: a row for each configuration, path
// and station, with the variant's moves against the baseline, toward the centre
// plane, and their expanded uncertainties. The form is that of LedgerCSV.
func PathsCSV(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	head := []string{
		"configuration", "path", "part", "position [m]", "centroid y [m]", "centroid z [m]", "left edge y [m]", "right edge y [m]",
		"spread y [m]", "spread z [m]", "area [m2]", "drag area [m2]",
	}
	var rows [][]string
	for _, c := range o.Paths {
		for _, p := range c.Paths {
			for _, q := range p.Points {
				rows = append(rows, []string{
					c.Configuration, p.Name, q.Structure, number(q.Position), number(q.Centroid[0]), number(q.Centroid[1]), maybe(q.LeftEdge), maybe(q.RightEdge),
					number(q.Spread[0]), number(q.Spread[1]), number(q.Area), maybe(q.DragArea),
				})
			}
		}
	}
	return writeTable(w, head, 3, rows)
}

// MovesCSV writes the moves of the matched parts of the wake: a row for each station,
// variant, part and measure. Moves are toward the centre plane, or to the right for
// parts on it ("sense" says which); "drag" belongs to the part. The form is that of
// LedgerCSV.
func MovesCSV(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	head := []string{"station", "configuration", "baseline's part", "variant's part", "measure", "sense", "verdict", "position [m]", "move [m]", "expanded uncertainty [m]", "change of drag area [m2]"}
	var rows [][]string
	eachVariant(o, func(st study.StationOutcome, name string, v compare.Variant) {
		if v.Structures == nil {
			return
		}
		for _, m := range v.Structures.Shifts {
			list := m.Moves
			if m.Headline != nil {
				list = append(list[:len(list):len(list)], *m.Headline)
			}
			for _, q := range list {
				x, sense := q.Lateral, "right"
				if q.Inboard != nil {
					x, sense = *q.Inboard, "inboard"
				}
				rows = append(rows, []string{st.Name, name, m.A, m.B, q.Measure, sense, m.Verdict, number(m.Position), number(x), number(q.Expanded), maybe(m.DragArea)})
			}
		}
	})
	return writeTable(w, head, 7, rows)
}

// ExchangeCSV writes where the drag difference sits: a row for each station, variant,
// breakdown and entry, the rests among them. The form is that of LedgerCSV.
func ExchangeCSV(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	head := []string{"station", "configuration", "by", "entry", "baseline [m2]", "variant [m2]", "difference [m2]", "up to [m]", "cumulative [m2]"}
	var rows [][]string
	eachVariant(o, func(st study.StationOutcome, name string, v compare.Variant) {
		if v.Exchange == nil {
			return
		}
		row := func(by string, e parts.Entry) {
			rows = append(rows, []string{st.Name, name, by, e.Name, number(e.A), number(e.B), number(e.Delta), maybe(e.To), maybe(e.Cumulative)})
		}
		for _, b := range v.Exchange.Breakdowns {
			for _, e := range b.Entries {
				row(b.By, e)
			}
			if b.Rest != nil {
				row(b.By, *b.Rest)
			}
		}
		row("total", parts.Entry{Name: "total", A: v.Exchange.A, B: v.Exchange.B, Delta: v.Exchange.Delta})
	})
	return writeTable(w, head, 4, rows)
}

// TopViewsCSV writes the wake's edges in planes normal to z: a row for each station,
// configuration and column, with the moves against the baseline. The form is that of
// LedgerCSV.
func TopViewsCSV(w io.Writer, o *study.Outcome) error {
	if err := finite(o); err != nil {
		return err
	}
	head := []string{"station", "configuration", "height [m]", "x [m]", "left edge y [m]", "right edge y [m]", "width [m]", "left inboard [m]", "right inboard [m]"}
	var rows [][]string
	for _, r := range ledgerRows(o) {
		t := r.result.TopView
		if t == nil || r.region != nil {
			continue
		}
		moves := map[float64]shift.TopShiftPoint{}
		eachVariant(o, func(st study.StationOutcome, name string, v compare.Variant) {
			if st.Name == r.station.Name && name == r.configuration && v.TopView != nil {
				for _, c := range v.TopView.Columns {
					moves[c.X] = c
				}
			}
		})
		for _, c := range t.Columns {
			m := moves[c.X]
			rows = append(rows, []string{r.station.Name, r.configuration, number(t.Height), number(c.X), maybe(c.Left), maybe(c.Right), maybe(c.Width), maybe(m.Left), maybe(m.Right)})
		}
	}
	return writeTable(w, head, 2, rows)
}

// eachVariant visits the variants of all comparisons in the order of the study.
func eachVariant(o *study.Outcome, do func(st study.StationOutcome, name string, v compare.Variant)) {
	for _, st := range o.Stations {
		if st.Comparison == nil {
			continue
		}
		for k, v := range st.Comparison.Variants {
			if k < len(st.Variants) {
				do(st, st.Variants[k], v)
			}
		}
	}
}
